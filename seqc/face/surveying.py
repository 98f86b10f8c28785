"""All that a page tells of a machine."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from seqc.face.foreseeing import foresee
from seqc.face.planning import LOAD_TIME, NORMAL, Planned, hot_coils, overloads, plan_all
from seqc.face.reaching import out_of_reach
from seqc.face.replaying import every_tick, fault_findings, replay, replay_bounds
from seqc.face.tabling import laid_out
from seqc.machine import progress
from seqc.machine.findings import (
    Findings,
    Severity,
)

if TYPE_CHECKING:
    from seqc.machine.glyphs import Font, Glyph, Programme
    from seqc.machine.model import Machine
    from seqc.machine.steptable import TableSet
    from seqc.report.survey import FontShown, ProgrammeShown, Survey
    from seqc.simulator.trace import Trace


def survey(
    machine: Machine,
    programmes: Sequence[Programme],
    findings: Findings,
    duration_us: int,
    ambient_c: float,
    prefer: str = LOAD_TIME,
    effort: str = NORMAL,
) -> Survey:
    """Everything that a page tells of a machine: verdict, programmes, glyphs in time, forecast.

    What falls short goes to the findings, as `check`, `simulate` and `forecast` tell it.
    """
    from seqc.machine.doubts import doubts
    from seqc.machine.hot import hot_findings
    from seqc.report.survey import Survey

    findings.extend(doubts(machine))
    lost = out_of_reach(machine)
    findings.extend(found for grid in lost for found in grid.findings)
    planned = plan_all(machine, programmes, lost, findings, prefer, effort)
    hot = hot_coils(machine, planned)
    findings.extend((*hot_findings(hot), *overloads(machine, planned)))
    shown = tuple(_in_time(machine, one, duration_us, ambient_c) for one in planned)
    findings.extend(found for one in shown for found in one.forecast.findings)
    findings.extend(found for one in shown for found in fault_findings(machine, one.faults))
    beyond = frozenset(glyph for grid in lost for glyph in grid.reach.beyond)
    weak = any(found.severity is Severity.ERROR for found in doubts(machine))
    fonts = () if weak else fonts_in_time(machine, beyond, prefer)
    return Survey(machine, findings, shown, fonts, hot)


def traced(machine: Machine, table_set: TableSet) -> Trace:
    """What every table of a build does, home first, each different thing once.

    A programme that repeats goes on until it finds the machine as it did before.
    """
    from seqc.simulator.trace import trace

    repeat_from = table_set.repeat_from
    again = () if repeat_from is None else table_set.tables[repeat_from:]
    return trace(machine, progress.counted("tracing tables", list(table_set)), again)


def _in_time(
    machine: Machine, planned: Planned, duration_us: int, ambient_c: float
) -> ProgrammeShown:
    """A programme laid out, traced and foreseen."""
    from seqc.report.survey import ProgrammeShown

    built = laid_out(machine, planned)
    programme, table_set = planned.programme, every_tick(built)
    faults = replay(machine, built, programme).faults
    return ProgrammeShown(
        programme,
        planned.timing,
        table_set,
        traced(machine, table_set),
        faults or replay_bounds(machine, built, programme).faults,
        foresee(machine, planned, duration_us, ambient_c),
    )


def fonts_in_time(
    machine: Machine, beyond: frozenset[Glyph], prefer: str = LOAD_TIME
) -> tuple[FontShown, ...]:
    """Every font that isn't like another one, its glyphs planned each by itself and traced.

    Those `beyond` reach are only drawn.
    """
    alike: dict[object, list[Font]] = {}
    for font in machine.fonts:
        pictures = tuple((glyph.name, glyph.kinds) for glyph in font.glyphs)
        alike.setdefault((font.grid.cells, pictures), []).append(font)
    return tuple(_font_in_time(machine, fonts, beyond, prefer) for fonts in alike.values())


def _font_in_time(
    machine: Machine, alike: Sequence[Font], beyond: frozenset[Glyph], prefer: str
) -> FontShown:
    """The first of some fonts that draw the same, each of its glyphs as a table of its own."""
    from seqc.report.survey import MOST_GLYPHS, FontShown, GlyphShown
    from seqc.schedule.clock import ScheduleClock
    from seqc.schedule.frame import time_on
    from seqc.schedule.tables import timed_glyph_tables
    from seqc.schedule.topology import playable
    from seqc.solver.fonts import LoadTimeOptions, plan_font

    font, *others = alike
    chosen = font.glyphs[:MOST_GLYPHS]
    reached = [glyph for glyph in chosen if glyph not in beyond]
    times = LoadTimeOptions(ScheduleClock) if prefer == LOAD_TIME else None
    plans = [result.plan for result in plan_font(machine, reached, times=times)]
    topology = playable(machine)
    timed = {plan.frame.glyphs[0]: (plan, time_on(topology, plan)) for plan in plans if plan}
    table_set = timed_glyph_tables(machine, timed.values())
    before = len(list(table_set)) - len(timed)
    runs = {glyph: before + rank for rank, glyph in enumerate(timed)}
    shown = tuple(
        GlyphShown(glyph, *timed[glyph], runs[glyph]) if glyph in timed else GlyphShown(glyph)
        for glyph in chosen
    )
    names = tuple(other.name for other in others)
    left_out = len(font.glyphs) - len(chosen)
    return FontShown(font, names, shown, table_set, traced(machine, table_set), left_out)
