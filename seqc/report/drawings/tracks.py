"""What every part does in a stretch of a trace, as spans of time: what a timing chart draws."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.steptable import StepTable
from seqc.simulator.electric import ElectricState
from seqc.simulator.faults import Event
from seqc.simulator.grid_state import GridState
from seqc.simulator.trace import Run, Trace

POLARITY = {"forward": 1, "reverse": -1, "off": 0}


class Span(NamedTuple):
    """From when to when something lasts, in microseconds from the start of the stretch.

    `value` is 1 for an active output; the polarity of a coil; where a part moves to, 1 for thrown;
    the number of items on their way.
    """

    start_us: int
    end_us: int
    value: int


class Flight(NamedTuple):
    """Items of one grid that set out together for a place."""

    start_us: int
    end_us: int
    grid: int
    place: int
    items: int


@dataclass
class Tracks:
    """The spans of a stretch, `length_us` long: by output, by actuator (its coil, its part).

    `thrown` says whether each part is thrown when the stretch begins, None where that isn't known.
    """

    length_us: int
    outputs: dict[int, list[Span]] = field(default_factory=dict)
    coils: dict[int, list[Span]] = field(default_factory=dict)
    motions: dict[int, list[Span]] = field(default_factory=dict)
    thrown: dict[int, bool | None] = field(default_factory=dict)
    flights: list[Flight] = field(default_factory=list)


def output_edges(
    machine: Machine, start: ElectricState, table: StepTable
) -> Iterator[tuple[int, int, int]]:
    """When the outputs of a table change: the time, the output, and whether it is then active."""
    active = start.active
    words = [(0, word) for word in start.words]
    words += [(step.at_us, step.word) for step in table.steps if step.at_us <= table.length_us]
    for at_us, word in words:
        now = word ^ machine.idle_word
        changed = now ^ active
        for output in range(changed.bit_length()):
            if changed >> output & 1:
                yield at_us, output, now >> output & 1
        active = now


def tracks_of(machine: Machine, trace: Trace, runs: Sequence[Run]) -> Tracks:
    """The tracks of runs that follow one another."""
    made = _Making(machine, trace)
    for run in runs:
        made.add(run)
    return made.finish()


class _Making:
    """Spans that are open, and those that are done."""

    def __init__(self, machine: Machine, trace: Trace) -> None:
        self.machine, self.trace = machine, trace
        self.now_us = 0
        self.tracks = Tracks(0)
        self.open: dict[tuple[str, int], tuple[int, int]] = {}
        self.begun = False

    def add(self, run: Run) -> None:
        electric = self.trace.electric[run.electric]
        grids = [kept[n] for kept, n in zip(self.trace.grids, run.grids, strict=True)]
        if not self.begun:
            self._begin(electric.start, [segment.start for segment in grids])
            self.begun = True
        for at_us, output, on in output_edges(self.machine, electric.start, run.table):
            self._turn("output", output, self.now_us + at_us, on)
        for event in electric.events:
            if event.what == "coil":
                self._turn("coil", event.number, self.now_us + event.at_us, POLARITY[event.state])
        for number, segment in enumerate(grids):
            self._move(number, segment.events)
        self.now_us += run.table.length_us

    def _begin(self, electric: ElectricState, grids: Iterable[GridState]) -> None:
        for output in range(electric.active.bit_length()):
            if electric.active >> output & 1:
                self.open["output", output] = 0, 1
        for index, polarity, _ in electric.powered:
            self.open["coil", index] = 0, polarity
        for grid, state in zip(self.machine.grids, grids, strict=True):
            own = [a for a in self.machine.actuators if a.grid.name == grid.name]
            for actuator, at, settled in zip(own, state.positions, state.settled, strict=True):
                thrown = None if at is None else at is Position.THROWN
                self.tracks.thrown[actuator.index] = thrown
                if settled > 0 and thrown is not None:
                    self.tracks.thrown[actuator.index] = not thrown
                    self.open["part", actuator.index] = 0, int(thrown)

    def _turn(self, what: str, number: int, at_us: int, value: int) -> None:
        began = self.open.pop((what, number), None)
        kept = self.tracks.outputs if what == "output" else self.tracks.coils
        if began and at_us > began[0]:
            kept.setdefault(number, []).append(Span(began[0], at_us, began[1]))
        if value:
            self.open[what, number] = at_us, value

    def _move(self, grid: int, events: Iterable[Event]) -> None:
        setting_out: dict[tuple[int, int], int] = {}
        for event in events:
            at_us = self.now_us + event.at_us
            if event.what == "position":
                self._part(event.number, at_us, event.state)
            elif event.what == "flight":
                key = at_us, event.place
                setting_out[key] = setting_out.get(key, 0) + 1
        paths = self.machine.lanes[grid].paths
        for (at_us, place), items in setting_out.items():
            fall_us = paths[place - 1].fall_us if place <= len(paths) else 0
            self.tracks.flights.append(Flight(at_us, at_us + fall_us, grid, place, items))

    def _part(self, number: int, at_us: int, state: str) -> None:
        began = self.open.pop(("part", number), None)
        if began:
            self.tracks.motions.setdefault(number, []).append(Span(began[0], at_us, began[1]))
        if state.startswith("to "):
            self.open["part", number] = at_us, int(state == "to thrown")

    def finish(self) -> Tracks:
        """The tracks, with what still lasts ended where the stretch ends."""
        for (what, number), (start_us, value) in self.open.items():
            kept = {
                "output": self.tracks.outputs,
                "coil": self.tracks.coils,
                "part": self.tracks.motions,
            }[what]
            kept.setdefault(number, []).append(Span(start_us, self.now_us, value))
        self.tracks.length_us = self.now_us
        return self.tracks


def supply_steps(machine: Machine, tracks: Tracks, supply: str) -> list[tuple[int, int]]:
    """What is drawn from a supply from each instant on, in microamperes.

    Each coil counts with the most that it draws, each relay while its output is active.
    """
    changes: dict[int, int] = {0: 0}
    for index, spans in tracks.coils.items():
        actuator = machine.actuators[index]
        if actuator.drive.supply.name == supply:
            _add(changes, spans, actuator.peak_ua)
    for output, drawn_ua in relay_draws(machine, supply).items():
        _add(changes, tracks.outputs.get(output, []), drawn_ua)
    always = next(one.always_ua for one in machine.supplies if one.name == supply)
    drawn, steps = always, []
    for at_us in sorted(changes):
        drawn += changes[at_us]
        steps.append((at_us, drawn))
    return steps


def _add(changes: dict[int, int], spans: Iterable[Span], drawn_ua: int) -> None:
    for span in spans:
        changes[span.start_us] = changes.get(span.start_us, 0) + drawn_ua
        changes[span.end_us] = changes.get(span.end_us, 0) - drawn_ua


def shared_outputs(machine: Machine) -> dict[int, str]:
    """The outputs that all actuators of a drive share, and what each does."""
    found: dict[int, str] = {}
    for actuator in machine.actuators:
        drive = actuator.drive
        for output, role in ((drive.reverser, "reverser"), (drive.switch, "pulse switch")):
            if output is not None:
                found[output] = f"{role}, output {output}"
    return dict(sorted(found.items()))


def relay_draws(machine: Machine, supply: str) -> dict[int, int]:
    """What the relay on each output draws from a supply while its output is active."""
    found: dict[int, int] = {}
    for actuator in machine.actuators:
        relay = actuator.drive.relay
        if relay is None or relay.coil_supply is None or relay.coil_supply.name != supply:
            continue
        for output in (*actuator.outputs, actuator.drive.reverser):
            if output is not None:
                found[output] = relay.coil_ua
    return found
