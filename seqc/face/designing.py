"""Linkages for a font, before a part is made."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from seqc.machine.findings import (
    Findings,
)

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from seqc.linkages.finding import Linkages

LINKAGE_SHAPES = ("any cells", "connected", "in a line", "straight runs")
MOST_PASSES = 24


def find_linkages(
    path: Path,
    findings: Findings,
    *,
    show: str | None = None,
    reserve: str = "",
    font: str | None = None,
    shape: str = "any cells",
    every_picture: bool = False,
    built: Sequence[str] = (),
    most_passes: int = MOST_PASSES,
    executor: Executor | None = None,
) -> Linkages:
    """The designs of linkages worth showing for a font, from a machine file or a font file.

    What the file lacks is filled in with typical parts. The glyphs of `show`, or all of the font,
    are to be shown; those of `reserve` are to be within reach. `shape` is one of LINKAGE_SHAPES,
    `built` names what is there already. Raises InputError when the file can't be understood.
    """
    from seqc.linkages.finding import Asked, find
    from seqc.linkages.question import Shape

    asked = Asked(show, reserve, font, Shape(shape), every_picture, tuple(built), most_passes)
    return find(path, asked, findings, executor)
