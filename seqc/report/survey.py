"""All that is known of a machine in one value: what the page, the pictures and the sheets show."""

from __future__ import annotations

from typing import NamedTuple

from seqc.forecast.result import Forecast
from seqc.machine.findings import Finding, Findings, Severity
from seqc.machine.glyphs import Font, Glyph, Programme
from seqc.machine.hot import HotCoil
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet
from seqc.schedule.frame import FrameTiming
from seqc.schedule.timing import ProgrammeTiming
from seqc.simulator.faults import Fault
from seqc.simulator.trace import Trace
from seqc.solver.plan import FramePlan

FORESEEN = ("empty-magazine", "worn-out", "over-budget")
"""The findings that tell of a time, and not of the machine."""

MOST_GLYPHS = 512
"""No more glyphs of one font are planned for a page; what is left out is said."""


class ProgrammeShown(NamedTuple):
    """A programme in time: its tables, what they do, and what that does to the machine.

    `faults` are those that the simulator finds with nominal parts, or else with any within their
    tolerances.
    """

    programme: Programme
    timing: ProgrammeTiming
    tables: TableSet
    trace: Trace
    faults: tuple[Fault, ...]
    forecast: Forecast


class GlyphShown(NamedTuple):
    """A glyph by itself, loaded from any position; without plan and run where it is out of reach.

    `run` is its number among the runs of its font's trace.
    """

    glyph: Glyph
    plan: FramePlan | None = None
    timing: FrameTiming | None = None
    run: int | None = None


class FontShown(NamedTuple):
    """The glyphs of a font, those in reach run one after the other in a trace.

    `alike` names the fonts that draw the same on other grids; `left_out` counts the glyphs that are
    too many.
    """

    font: Font
    alike: tuple[str, ...]
    glyphs: tuple[GlyphShown, ...]
    tables: TableSet
    trace: Trace
    left_out: int = 0


class Survey(NamedTuple):
    """A machine with everything that was worked out of it; `findings` tell what falls short."""

    machine: Machine
    findings: Findings
    programmes: tuple[ProgrammeShown, ...]
    fonts: tuple[FontShown, ...]
    hot: tuple[HotCoil, ...]

    @property
    def foreseen(self) -> tuple[Finding, ...]:
        """What falls short only in the time that is forecast."""
        found = {each for shown in self.programmes for each in shown.forecast.findings}
        return tuple(each for each in self._errors if each in found and each.code in FORESEEN)

    @property
    def errors(self) -> tuple[Finding, ...]:
        """What falls short of being built, as `check` has it, in order of place."""
        later = set(self.foreseen)
        return tuple(each for each in self._errors if each not in later)

    @property
    def _errors(self) -> tuple[Finding, ...]:
        return tuple(each for each in self.findings if each.severity is Severity.ERROR)
