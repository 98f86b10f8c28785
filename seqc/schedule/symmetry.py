"""Which loads take the same time, since they differ only in which of equal actuators they pulse.

Selectors are alike whose coils and drives act alike, which are pulsed in the same passes, and which
lie above the same of the gates that are loaded; gates are alike that are cycled in the same pass
below the same of the selectors that are pulsed. What is alike counts by number, not by name.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, field

from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.durations import Times
from seqc.schedule.topology import Topology
from seqc.solver.plan import GridPlan, Pass
from seqc.solver.positions import bits

MOST_KNOWN = 10_000

Uses = tuple[tuple[int, int], ...]
"""In which passes an actuator is pulsed, and the mode of the drive for each."""


@dataclass
class Symmetry:
    """Tells the loads of one machine apart."""

    topology: Topology
    _acts: dict[int, int] = field(default_factory=dict)
    _masks: dict[int, int] = field(default_factory=dict)
    _numbers: dict[Hashable, int] = field(default_factory=dict)
    _known: dict[Hashable, Hashable] = field(default_factory=dict)

    def of(self, plan: GridPlan) -> Hashable:
        """Equal for plans whose passes take the same time, with what follows them."""
        key = _by_index(plan)
        if key not in self._known:
            if len(self._known) == MOST_KNOWN:
                self._known.clear()
            self._known[key] = self._of_plan(plan)
        return self._known[key]

    def _of_plan(self, plan: GridPlan) -> Hashable:
        selectors = _uses(plan.passes)
        gates = {one.index: n for n, step in enumerate(plan.passes) for one in step.operate}
        pulsed = sum(1 << index for index in selectors)
        above = {index: pulsed & self._above(index) for index in gates}
        below = dict.fromkeys(selectors, 0)
        for gate, mask in above.items():
            for index in bits(mask):
                below[index] |= 1 << gate
        lower = self._following(plan)
        gate_kinds = _kinds(
            (self._of_gate(gate, lower), ((number, 0),), above[gate], gate)
            for gate, number in gates.items()
        )
        selector_kinds = _kinds(
            (self._of(index), uses, below[index], index) for index, uses in selectors.items()
        )
        return (
            plan.glyph.grid,
            tuple((kind.acts, kind.uses, kind.count) for kind in gate_kinds),
            tuple(
                (kind.acts, kind.uses, kind.count, _met(kind, gate_kinds))
                for kind in selector_kinds
            ),
            tuple(gate.index for gate in lower),
        )

    def of_gate(self, gate: int) -> Hashable:
        """Equal for metering gates that act alike, between the same gates and selectors."""
        lane = self.topology.lane_of(self.topology.machine.actuators[gate])
        parts = lane.transfers[:-1] if lane.transfers else lane.dumps
        lower = [
            one for part in parts for one in self.topology.machine.actuators_of(part, lane.grid)
        ]
        return self._of_gate(gate, lower), self._above(gate)

    def _following(self, plan: GridPlan) -> list[Actuator]:
        """The gates that are cycled with the passes besides those that meter."""
        loads = self.topology.lane_of_grid(plan.glyph.grid).transfers
        stages = plan.transfers if loads else plan.dumps
        gates = [gate for stage in stages for gate in stage]
        return [gate for gate in gates if not (loads and self.topology.feeds_shown(gate))]

    def _above(self, gate: int) -> int:
        """The bit set of the selectors above a gate."""
        if gate not in self._masks:
            self._masks[gate] = sum(1 << one for one in self.topology.selectors_above[gate])
        return self._masks[gate]

    def _of(self, index: int) -> int:
        """A number, equal for actuators whose pulses act alike."""
        if index not in self._acts:
            actuator = self.topology.machine.actuators[index]
            self._acts[index] = self._number(_act(actuator, self.topology.times(actuator)))
        return self._acts[index]

    def _of_gate(self, index: int, lower: Sequence[Actuator]) -> int:
        """The same for gates that feed the same of those that move below them."""
        cells = self.topology.machine.actuators[index].cell_set
        fed = tuple(one.index for one in lower if not one.cell_set.isdisjoint(cells))
        return self._number((self._of(index), fed))

    def _number(self, facts: Hashable) -> int:
        return self._numbers.setdefault(facts, len(self._numbers))


@dataclass(slots=True)
class _Kind:
    """Some actuators that are alike: how they act, what they do, which and how many they are."""

    acts: int
    uses: Uses
    meets: int
    count: int = 0
    members: int = 0


def _by_index(plan: GridPlan) -> Hashable:
    """Equal for plans that pulse the same actuators: most plans that are asked about come again."""
    passes = [
        (
            *((one.index, position is Position.THROWN) for one, position in step.set),
            *(gate.index for gate in step.operate),
        )
        for step in plan.passes
    ]
    stages = [tuple(gate.index for gate in stage) for stage in (*plan.dumps, *plan.transfers)]
    return plan.glyph.grid, tuple(passes), len(plan.dumps), tuple(stages)


def _uses(passes: Sequence[Pass]) -> dict[int, Uses]:
    found: dict[int, Uses] = {}
    for number, step in enumerate(passes):
        for selector, position in step.set:
            use = (number, rules_of(selector.drive).mode(position))
            found[selector.index] = (*found.get(selector.index, ()), use)
    return found


def _kinds(several: Iterable[tuple[int, Uses, int, int]]) -> list[_Kind]:
    """The kinds in an order by what they are, as far as that tells them apart."""
    kinds: dict[tuple[int, Uses, int], _Kind] = {}
    for acts, uses, meets, index in several:
        kind = kinds.setdefault((acts, uses, meets), _Kind(acts, uses, meets))
        kind.count += 1
        kind.members |= 1 << index
    return sorted(kinds.values(), key=lambda kind: (kind.acts, kind.uses, kind.count))


def _met(kind: _Kind, others: Sequence[_Kind]) -> tuple[bool, ...]:
    return tuple(bool(kind.meets & other.members) for other in others)


def _act(actuator: Actuator, times: Times) -> Hashable:
    """All that a pulse of an actuator bounds, but for the parts that it meets."""
    drive = actuator.drive
    rules = rules_of(drive)
    return (
        drive.supply.name,
        actuator.peak_ua,
        times,
        drive.parts if rules.channel(drive) else (),
        rules.batch(actuator),
        actuator.is_gate,
    )
