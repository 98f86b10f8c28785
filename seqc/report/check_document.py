"""What a check found, as one JSON document."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from seqc.machine.glyphs import Programme
from seqc.machine.lane_graph import lane_edges
from seqc.machine.model import Machine
from seqc.machine.parts import Lane
from seqc.report.check_text import slowest_frame
from seqc.schedule.scaling import ONE
from seqc.schedule.timing import ProgrammeTiming

if TYPE_CHECKING:
    from seqc.schedule.advice import Advice
    from seqc.schedule.easing import Easing


def check_document(
    machine: Machine, planned: Iterable[tuple[Programme, ProgrammeTiming, Sequence[Advice]]]
) -> dict[str, Any]:
    """The machine and its programmes for JSON."""
    return {
        "machine": machine.name,
        "grids": [_grid_document(lane) for lane in machine.lanes],
        "actuators": [actuator.name for actuator in machine.actuators],
        "outputs": machine.width,
        "fonts": {font.name: len(font.glyphs) for font in machine.fonts},
        "programmes": [_programme_document(*one) for one in planned],
    }


def easing_document(easing: Easing | None) -> dict[str, Any] | None:
    """Up to how many times the declared tolerances a cadence is kept, and what breaks first."""
    if easing is None:
        return None
    return {"times": easing.factor / ONE, "first_to_break": easing.weakest or None}


def _grid_document(lane: Lane) -> dict[str, Any]:
    grid = lane.grid
    cells = len(grid.cells)
    size = {"columns": grid.columns, "rows": grid.rows, "cells": cells}
    feeds = [
        {"cells": [[cell.row, cell.column] for cell in own], "lane": lane_edges(lane, feed)}
        for feed, own in lane.different_feeds
    ]
    return {"name": grid.name, **size, "lanes": feeds}


def _programme_document(
    programme: Programme, timing: ProgrammeTiming, advice: Sequence[Advice]
) -> dict[str, Any]:
    names: Sequence[str] = [frame.name for frame in programme.frames]
    return {
        "name": programme.name,
        "frames": names,
        "period_us": timing.period_us,
        "lower_bound_period_us": timing.bound_us,
        "cadence_us": timing.cadence_us,
        "cadence_kept": timing.kept,
        "critical_path": timing.limits,
        "slowest_frame": slowest_frame(programme, timing) + 1,
        "critical_chain": [str(link) for link in timing.critical_chain],
        "advice": [{"change": each.change, "period_us": each.period_us} for each in advice],
    }
