"""A machine whose parts vary by more or less than it tells."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from seqc.machine.electrics import Coil, Drive, Relay
from seqc.machine.model import Machine
from seqc.machine.parts import Gate, Lane, Part, Path, Selector
from seqc.machine.span import PPM, Span, Tolerance

Change = Callable[[int, Tolerance], Tolerance]
"""From a nominal time and its tolerance to another tolerance."""


def with_tolerance(machine: Machine, ppm: int, clock_ppm: int = 0) -> Machine:
    """The machine with one tolerance for every time of a part, and one for its clock."""
    changed = _Changed(lambda nominal, _: Tolerance.share(nominal, ppm), lambda _: ppm)
    controller = replace(machine.controller, clock_ppm=clock_ppm)
    return replace(changed.machine(machine), controller=controller)


def with_scaled_tolerances(machine: Machine, factor: float) -> Machine:
    """The machine with every tolerance, also that of its clock, so many times as large."""

    def scaled(_: int, tolerance: Tolerance) -> Tolerance:
        return Tolerance(round(tolerance.under_us * factor), round(tolerance.over_us * factor))

    changed = _Changed(scaled, lambda ppm: min(PPM, round(ppm * factor)))
    controller = machine.controller
    clock = replace(controller, clock_ppm=round(controller.clock_ppm * factor))
    return replace(changed.machine(machine), controller=clock)


def varies(machine: Machine) -> bool:
    """Whether any time of a part, or the clock, has a tolerance."""
    return with_scaled_tolerances(machine, 0) != machine


def with_round_starts(machine: Machine, grid_us: int) -> Machine:
    """The machine whose drives may be so much quicker that their least start is a multiple."""

    def quicker(span: Span, tolerance: Tolerance) -> Tolerance:
        return Tolerance(tolerance.under_us + span.least_us % grid_us, tolerance.over_us)

    def rounded(drive: Drive) -> Drive:
        turn_on = quicker(drive.turn_on, drive.turn_on_tolerance)
        if drive.relay is None:
            return replace(drive, turn_on_tolerance=turn_on)
        operate = quicker(drive.relay.operate, drive.relay.operate_tolerance)
        relay = replace(drive.relay, operate_tolerance=operate)
        return replace(drive, relay=relay, turn_on_tolerance=turn_on)

    actuators = tuple(replace(each, drive=rounded(each.drive)) for each in machine.actuators)
    return replace(machine, actuators=actuators)


class _Changed:
    """Rebuilds a machine with other tolerances, equal parts as equal parts."""

    def __init__(self, change: Change, share: Callable[[int], int]) -> None:
        self.change = change
        self.share = share

    def machine(self, machine: Machine) -> Machine:
        return replace(
            machine,
            selectors=tuple(self.selector(each) for each in machine.selectors),
            gates=tuple(self.gate(each) for each in machine.gates),
            lanes=tuple(self.lane(lane) for lane in machine.lanes),
            actuators=tuple(
                replace(each, part=self.part(each.part), drive=self.drive(each.drive))
                for each in machine.actuators
            ),
        )

    def part(self, part: Part) -> Part:
        return self.gate(part) if isinstance(part, Gate) else self.selector(part)

    def selector(self, part: Selector) -> Selector:
        settle = self.change(part.settle_us, part.settle_tolerance)
        return replace(part, coil=self.coil_of(part), settle_tolerance=settle)

    def gate(self, part: Gate) -> Gate:
        settle = self.change(part.settle_us, part.settle_tolerance)
        return replace(part, coil=self.coil_of(part), settle_tolerance=settle)

    def coil_of(self, part: Part) -> Coil:
        coil = part.coil
        travel = self.change(coil.travel_us, coil.travel_tolerance)
        share = self.share(coil.tolerance_ppm)
        return replace(coil, travel_tolerance=travel, tolerance_ppm=share)

    def drive(self, drive: Drive) -> Drive:
        return replace(
            drive,
            relay=self.relay(drive.relay) if drive.relay else None,
            turn_on_tolerance=self.change(drive.turn_on_us, drive.turn_on_tolerance),
            turn_off_tolerance=self.change(drive.turn_off_us, drive.turn_off_tolerance),
        )

    def relay(self, relay: Relay) -> Relay:
        return replace(
            relay,
            operate_tolerance=self.change(relay.operate_us, relay.operate_tolerance),
            release_tolerance=self.change(relay.release_us, relay.release_tolerance),
            bounce_tolerance=self.change(relay.bounce_us, relay.bounce_tolerance),
        )

    def lane(self, lane: Lane) -> Lane:
        return replace(
            lane.with_selectors(self.selector),
            gates=tuple(self.gate(gate) for gate in lane.gates),
            paths=tuple(self.path(path) for path in lane.paths),
        )

    def path(self, path: Path) -> Path:
        return replace(
            path,
            fall_tolerance=self.change(path.fall_us, path.fall_tolerance),
            settle_tolerance=self.change(path.settle_us, path.settle_tolerance),
        )
