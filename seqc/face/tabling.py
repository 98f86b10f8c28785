"""Plans to step tables, and the tables that a build wrote back again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from seqc.face.planning import LOAD_TIME, NORMAL, Planned, cadence_findings, plan, refuse, unfit
from seqc.face.replaying import every_tick
from seqc.machine.effort import EFFORTS

if TYPE_CHECKING:
    from seqc.machine.glyphs import Programme
    from seqc.machine.model import Machine
    from seqc.machine.steptable import TableSet, TablesFor
    from seqc.machine.tracks import Tables


def tables(
    machine: Machine,
    programme: Programme,
    tables_for: TablesFor,
    slower: bool = False,
    prefer: str = LOAD_TIME,
    effort: str = NORMAL,
    tight: bool = False,
) -> TableSet:
    """The tables of a build as they are run; those of tracks are merged tick by tick.

    Arguments and errors are those of `built_tables`.
    """
    return every_tick(built_tables(machine, programme, tables_for, slower, prefer, effort, tight))


def built_tables(
    machine: Machine,
    programme: Programme,
    tables_for: TablesFor,
    slower: bool = False,
    prefer: str = LOAD_TIME,
    effort: str = NORMAL,
    tight: bool = False,
) -> Tables:
    """Lay a programme out as step tables, or the different frames of it as tables of their own.

    Tables of commissioning are made by `commissioning`. A programme uses the rest of its cadence
    for wider distances, unless it is to be `tight`. Raises ShortfallError as `plan` does, or when a
    programme doesn't keep its cadence unless it may be `slower`.
    """
    from seqc.machine.steptable import TablesFor
    from seqc.schedule.clock import ScheduleClock
    from seqc.schedule.tables import glyph_tables, transition_tables
    from seqc.solver.objective import Objective
    from seqc.solver.separate import Separate

    if tables_for is TablesFor.PROGRAMME:
        planned = plan(machine, programme, prefer, effort)
        if not slower:
            refuse(cadence_findings(planned))
        return laid_out(machine, planned, tight)
    frames = tuple(dict.fromkeys(programme.frames))
    refuse(unfit(machine, programme.glyphs))
    separate = Separate(machine, ScheduleClock(machine), Objective(prefer), EFFORTS[effort])
    if tables_for is TablesFor.GLYPH:
        return glyph_tables(machine, separate.plan_each(frames))
    if tables_for is TablesFor.TRANSITION:
        return transition_tables(machine, separate.plan_transitions(frames))
    raise ValueError("tables of commissioning aren't made of a programme")


def laid_out(machine: Machine, planned: Planned, tight: bool = False) -> Tables:
    """A programme as tables at its cadence, or at the shortest that is kept.

    The rest of the cadence is used for wider distances, unless they are to be `tight`.
    """
    from seqc.schedule.tables import programme_tables
    from seqc.schedule.tracks.tables import track_set

    tracks = planned.tracks if tight else planned.built_tracks
    if tracks is not None:
        return track_set(machine, tracks)
    easing = None if tight else planned.easing
    if easing is None:
        return programme_tables(machine, planned.timing)
    return programme_tables(machine, easing.timing, easing.relaxed)


def read_tables(path: Path, extra: Path | None = None) -> Tables:
    """Read step tables back from a folder that a build has written for one target.

    Raises InputError when no target reads what is there.
    """
    from seqc import codegen
    from seqc.codegen.folder import read_folder

    return read_folder(path, codegen.targets(extra))
