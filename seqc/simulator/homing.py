"""What keeps a machine from being quiet, or at home, at the end of a table.

Where pieces have bounds, what is still to come counts with the latest time at which it may.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seqc.machine.parts import Position
from seqc.simulator.electric import ElectricState
from seqc.simulator.faults import Fault, FaultKind
from seqc.simulator.grid_state import GridState
from seqc.simulator.lanes import Lanes
from seqc.simulator.lines import Harness, bits

Grids = Sequence[tuple[Lanes, GridState]]


def left_over(harness: Harness, electric: ElectricState, grids: Grids) -> list[Fault]:
    """What is left on after the last table, or else the gates that are left open."""
    return [*_active(harness, electric)] or [*_thrown(grids)]


def not_at_home(harness: Harness, electric: ElectricState, grids: Grids) -> list[Fault]:
    """What keeps just any table from following at once, now that one has ended.

    Nothing may be powered or moving, every coil is to have recovered and every part to be at rest,
    and no item may wait anywhere but in the place that is seen.
    """
    return [
        *_active(harness, electric),
        *_thrown(grids, selectors=True),
        *_recovering(harness, electric),
        *_moving(electric, grids),
        *_waiting(grids),
    ]


def _active(harness: Harness, electric: ElectricState) -> Iterator[Fault]:
    for output in bits(electric.active & harness.wired):
        what = f"{harness.lines[output].name} is still active after the last table"
        yield Fault(FaultKind.LEFT_ACTIVE, 0, "", what)


def _thrown(grids: Grids, selectors: bool = False) -> Iterator[Fault]:
    for lanes, state in grids:
        for tie, position in zip(lanes.ties, state.positions, strict=True):
            if (selectors or tie.level is not None) and position is Position.THROWN:
                what = f"{tie.name} is still thrown after the last table"
                yield Fault(FaultKind.LEFT_THROWN, 0, "", what, tie.name, lanes.grid.name)


def _recovering(harness: Harness, electric: ElectricState) -> Iterator[Fault]:
    """Coils whose next pulse could start too soon if the next table began with it."""
    for index, _, until in electric.released:
        soonest = harness.switching[index].closing.draw()
        if until + harness.gaps[index].draw() + harness.slack_us(index) > soonest:
            name = harness.actuators[index].name
            what = f"the coil of {name} still recovers when the table is over"
            yield Fault(FaultKind.LEFT_MOVING, 0, "", what, name)


def _moving(electric: ElectricState, grids: Grids) -> Iterator[Fault]:
    switching = electric.pending_us > 0 or any(stretch.end > 0 for stretch in electric.tails)
    for lanes, state in grids:
        if switching or _at_rest_us(lanes, state) > 0:
            name = lanes.grid.name
            what = f"{name} isn't at rest when the table is over"
            yield Fault(FaultKind.LEFT_MOVING, 0, "", what, grid=name)


def _at_rest_us(lanes: Lanes, state: GridState) -> int:
    """When the last of what moves by itself is sure to be at rest."""
    late = [move.settled_late_us for move in lanes.moves]
    dues = [due + late[n] for times in (state.settled, state.ready) for n, due in enumerate(times)]
    dues += [due + lanes.arrival(place).late_us for due, place, _, _ in state.flights]
    dues += [due + lanes.still_late_us(place) for place, _, due in state.unsteady]
    return max(dues, default=0)


def _waiting(grids: Grids) -> Iterator[Fault]:
    for lanes, state in grids:
        for place, kinds in enumerate(state.places):
            if place != lanes.shown and any(kinds):
                what = f"an item is left in {lanes.place_name(place)}"
                yield Fault(FaultKind.LEFT_WAITING, 0, "", what, grid=lanes.grid.name)
