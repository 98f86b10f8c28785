"""A machine file to a machine, whole or in parts, and what it is asked to show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from seqc.machine.findings import (
    Findings,
    InputError,
    Place,
)

if TYPE_CHECKING:
    from seqc.language.sketch import Lack
    from seqc.machine.glyphs import Programme
    from seqc.machine.model import Machine


@dataclass(frozen=True, slots=True)
class Sketch:
    """A machine with stand-ins for what its file lacks, what that is, and what else is found."""

    machine: Machine
    lacks: tuple[Lack, ...]
    findings: Findings

    @property
    def lacks_electrics(self) -> bool:
        """Whether its electrics are those of stand-ins."""
        from seqc.language.sketch import Stage

        return any(lack.stage is Stage.ELECTRICS for lack in self.lacks)


@dataclass(frozen=True, slots=True)
class Formatted:
    """A machine file as it is and as `format` lays it out; the same where nothing is to be done."""

    path: Path
    before: str
    after: str

    @property
    def is_changed(self) -> bool:
        """Whether anything is laid out in another way."""
        return self.before != self.after


def read(
    path: Path,
    findings: Findings,
    show: str = "",
    whole_fonts: bool = False,
    allowed: Sequence[Path] = (),
) -> Machine:
    """Read a machine file and draw its fonts, the characters of the text `show` among them.

    Of a large font only what is shown is drawn, unless `whole_fonts` are wanted. Files that the
    machine file names lie in its folder, or in one that is `allowed`.
    Whatever is found goes to `findings`; raises InputError when any of it is an error.
    """
    from seqc import fonts, language

    declared = language.read(path, findings, allowed)
    machine = fonts.dress(declared, findings, wanted=show, whole=whole_fonts) if declared else None
    if machine is None or findings.has_errors:
        raise InputError(findings)
    return machine


def sketch(path: Path, allowed: Sequence[Path] = ()) -> Sketch | None:
    """A machine that isn't whole yet; None where it is, or where something else is wrong with it.

    Its reach and its passes are those of the machine; its times and its electrics aren't.
    """
    from seqc import fonts, language

    findings = Findings()
    read = language.read_sketch(path, findings, allowed)
    if read is None or findings.has_errors:
        return None
    machine = fonts.dress(read.declared, findings)
    return None if findings.has_errors else Sketch(machine, read.lacks, findings)


def formatted(path: Path, findings: Findings) -> Formatted:
    """Lay a machine file out anew, its comments kept and its meaning the same; writes nothing.

    Raises InputError when the file can't be read or has a syntax error.
    """
    from seqc.language import files, formatting

    before = files.read_file(path, Place(str(path), 1, 1), findings)
    after = None if before is None else formatting.formatted(before, str(path), findings)
    if before is None or after is None:
        raise InputError(findings)
    return Formatted(path, before, after)


def asked(
    machine: Machine,
    show: str | None = None,
    grid: str | None = None,
    font: str | None = None,
    programme: str | None = None,
    only: str | None = None,
) -> Programme:
    """What to show: a text, `only` one kind, or a programme by name; else the first one, or a font.

    Raises InputError when the machine has no such thing.
    """
    from seqc.fonts import showing

    if show is not None:
        return showing.show_text(machine, show, grid, font)
    if only is not None:
        return showing.all_of(machine, only, grid)
    return showing.named_programme(machine, programme)
