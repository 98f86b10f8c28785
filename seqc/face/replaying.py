"""Step tables through the simulator: nominal, between all bounds, and drawn."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from seqc.face.small_tables import commissioning
from seqc.machine import progress
from seqc.machine.findings import (
    Finding,
    Severity,
)

if TYPE_CHECKING:
    from seqc.machine.glyphs import Programme
    from seqc.machine.model import Machine
    from seqc.machine.steptable import TableSet
    from seqc.machine.tracks import Tables
    from seqc.schedule.commissioning import Commissioning
    from seqc.simulator import Fault, Replay, Samples


def replay(
    machine: Machine, table_set: Tables, wanted: Programme | None = None, stock: bool = False
) -> Replay:
    """Run every table of a build in the simulator, from power-on.

    Of tracks that is all that differs: every two different ticks that follow each other, every
    first load of each; `every_tick` gives the tables of a whole round.

    What is seen is held against the glyphs of the programme `wanted`, or else against those of the
    machine's fonts. Items come back to their magazines unless `stock` is to be counted. Tables of
    commissioning each run on the machine that they are for.
    """
    from seqc import simulator
    from seqc.simulator.trial import misfits, trial

    if (small := _small(machine, table_set)) is not None:
        from seqc.commission import proof

        return proof.replayed(*small, stock)
    glyphs, endless = _glyphs(wanted), _is_endless(table_set)
    trials = progress.counted("replaying tables", list(trial(table_set)))
    result = simulator.check(machine, trials, glyphs, stock=stock, endless=endless)
    return replace(result, faults=(*misfits(machine, table_set), *result.faults))


def replay_bounds(machine: Machine, table_set: Tables, wanted: Programme | None = None) -> Replay:
    """Run every table of a build with each event between its earliest and its latest time.

    What any machine within the tolerances of its parts could break is a fault.
    """
    from seqc import simulator
    from seqc.simulator.trial import trial

    if (small := _small(machine, table_set)) is not None:
        from seqc.commission import proof

        return proof.replayed_bounds(*small)
    endless = _is_endless(table_set)
    return simulator.check_bounds(machine, trial(table_set), _glyphs(wanted), endless=endless)


def sample(
    machine: Machine,
    table_set: Tables,
    wanted: Programme | None = None,
    *,
    count: int,
    seed: int = 0,
    anew: bool = False,
) -> Samples:
    """Run every table of a build on `count` machines with parts drawn within their tolerances.

    Of tables of commissioning those for tuning are left out.
    """
    from seqc import simulator
    from seqc.simulator.trial import trial

    if (small := _small(machine, table_set)) is not None:
        from seqc.commission import proof

        wanted = small[0].wanted
        _, table_set = next(proof.each_machine(*small))
    return simulator.sample(
        machine,
        trial(table_set),
        _glyphs(wanted),
        count=count,
        seed=seed,
        anew=anew,
        endless=_is_endless(table_set),
    )


def _small(machine: Machine, table_set: Tables) -> tuple[Commissioning, TableSet] | None:
    """The tables of commissioning that a set was made of, by their names; None if it is none."""
    from seqc.machine.steptable import TablesFor
    from seqc.machine.tracks import TrackSet

    if isinstance(table_set, TrackSet) or table_set.tables_for is not TablesFor.COMMISSIONING:
        return None
    names = {table.name for table in table_set.tables}
    tested = any(name.startswith("test ") for name in names)
    made = commissioning(machine, with_test_frames=tested)
    return made.part(one for one in made.named if one.name in names), table_set


def _is_endless(table_set: Tables) -> bool:
    """Whether the tables go on for ever."""
    from seqc.machine.tracks import TrackSet

    return isinstance(table_set, TrackSet) or table_set.repeat_from is not None


def every_tick(table_set: Tables) -> TableSet:
    """The tables as they are run: those of tracks merged tick by tick through a whole round."""
    from seqc.machine.tracks import TrackSet, merged

    return merged(table_set) if isinstance(table_set, TrackSet) else table_set


def _glyphs(wanted: Programme | None) -> dict[tuple[str, str], tuple[str, ...]]:
    """The pictures of a programme by grid and name."""
    glyphs = wanted.glyphs if wanted else ()
    return {(glyph.grid, glyph.name): glyph.kinds for glyph in glyphs}


def build_faults(machine: Machine, wanted: Programme, table_set: Tables) -> tuple[Finding, ...]:
    """What the simulator finds wrong with a build, a picture that it can't judge included.

    It runs the nominal machine, and all that could be built of parts within their tolerances.
    """
    return replay_findings(machine, replay(machine, table_set, wanted)) or varying_findings(
        machine, replay_bounds(machine, table_set, wanted)
    )


def replay_findings(machine: Machine, result: Replay) -> tuple[Finding, ...]:
    """The faults of a replay, and the pictures that it couldn't judge."""
    unknown = [
        ("unknown-picture", f"finds: what {table} shows is not known") for table in result.unchecked
    ]
    return (*fault_findings(machine, result.faults), *_simulated(machine, unknown))


def varying_findings(machine: Machine, result: Replay) -> tuple[Finding, ...]:
    """The faults of a replay between all bounds."""
    return fault_findings(machine, result.faults, "finds with parts that vary as declared")


def fault_findings(
    machine: Machine, faults: Iterable[Fault], finds: str = "finds"
) -> tuple[Finding, ...]:
    """What the simulator finds wrong, as findings."""
    return _simulated(machine, ((str(fault.kind), f"{finds}: {fault}") for fault in faults))


def _simulated(machine: Machine, found: Iterable[tuple[str, str]]) -> tuple[Finding, ...]:
    return tuple(
        Finding(Severity.ERROR, code, f"the simulator {what}", machine.place)
        for code, what in found
    )
