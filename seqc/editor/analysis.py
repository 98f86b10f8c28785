"""What is known of the text of a machine file while it is being written."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import seqc
from seqc.editor.names import Names, names_of
from seqc.fonts import dress
from seqc.language.declared import Declared, ProgrammeSource
from seqc.language.files import collect
from seqc.language.reading import read_source
from seqc.language.source import Source, Statement
from seqc.machine.doubts import doubts
from seqc.machine.findings import Finding, Findings
from seqc.machine.model import Machine

MOST_CELLS = 1_024
MOST_GLYPHS = 512


@dataclass(frozen=True)
class Analysis:
    """A text with its statements, its findings, its names and, if it is sound, its machine."""

    file: str
    text: str
    source: Source
    findings: tuple[Finding, ...]
    names: Names
    machine: Machine | None

    @property
    def lines(self) -> Sequence[str]:
        """The lines of the text."""
        return self.text.split("\n")

    @property
    def statements(self) -> Iterator[Statement]:
        """The statements of the file itself."""
        return (one for one in self.source.statements if one.place.file == self.file)


def analyse(text: str, file: Path) -> Analysis:
    """Read a text that would stand in a file, and all that it includes."""
    findings = Findings()
    source = collect(text, str(file), findings)
    declared = read_source(source, findings)
    machine = None
    if declared is not None:
        dressed = dress(_shortened(declared), findings)
        machine = None if findings.has_errors else dressed
    return Analysis(str(file), text, source, tuple(findings), names_of(source), machine)


def _shortened(declared: Declared) -> Declared:
    """With rounds of grids that change by themselves cut short, which tell as much here."""
    return replace(declared, programmes=tuple(map(_short, declared.programmes)))


def _short(programme: ProgrammeSource) -> ProgrammeSource:
    if not programme.rotates:
        return programme
    return programme._replace(shows=tuple(show._replace(every=1) for show in programme.shows))


def deeper(analysis: Analysis) -> tuple[tuple[Finding, ...], tuple[seqc.Beyond, ...]]:
    """What only a sound machine shows: doubts about it, and glyphs of small fonts out of reach."""
    machine = analysis.machine
    if machine is None:
        return (), ()
    cells = max(len(grid.cells) for grid in machine.grids)
    glyphs = sum(len(font.glyphs) for font in machine.fonts)
    small = cells <= MOST_CELLS and glyphs <= MOST_GLYPHS
    lost = seqc.out_of_reach(machine) if small else ()
    return (*doubts(machine), *(one for grid in lost for one in grid.findings)), lost
