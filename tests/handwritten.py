"""Step tables written by hand, one pulse a line, and encoded here without the scheduler.

A line is `TIME ACTUATOR thrown|rest [LENGTH]` for a pulse (when its current starts, and its length
where it isn't the coil's own), or `TIME output NUMBER on|off` for an edge as it is; all times are
in milliseconds.
"""

from __future__ import annotations

from collections.abc import Iterable

from feeds import declared, inputs

from seqc.machine.electrics import DriveKind
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Cell, Feed, Lane, Selector
from seqc.machine.steptable import Step, StepTable
from seqc.machine.wiring import Actuator

Span = tuple[int, int, int]
"""An output, and from when until when it is active."""


def us(milliseconds: str | float) -> int:
    """Microseconds."""
    return round(float(milliseconds) * 1000)


def written(
    machine: Machine,
    script: str,
    length_ms: float,
    name: str = "table",
    shows: tuple[tuple[str, str], ...] = (),
) -> StepTable:
    """The step table of a script."""
    spans: list[Span] = []
    edges: list[tuple[int, int, bool]] = []
    for words in (line.split() for line in script.splitlines() if line.strip()):
        if words[1] == "output":
            edges.append((us(words[0]), int(words[2]), words[3] == "on"))
        else:
            spans += spans_of(machine, words[1], us(words[0]), words[2] == "thrown", *words[3:])
    return from_edges(machine, [*edges, *_merged(spans)], us(length_ms), name, shows)


def spans_of(
    machine: Machine, name: str, start: int, thrown: bool, length: str = ""
) -> Iterable[Span]:
    """When the outputs of one pulse are active."""
    actuator = next(actuator for actuator in machine.actuators if actuator.name == name)
    drive = actuator.drive
    end = start + (us(length) if length else actuator.coil.pulse_us)
    begin = start - drive.lead_us
    if drive.switch is not None:
        yield drive.switch, start, end
        stop = end
    else:
        stop = end - drive.lag_us
    for output in _own_outputs(actuator, thrown):
        yield output, begin, stop
    if drive.reverser is not None and not thrown:
        yield drive.reverser, begin, end


def _own_outputs(actuator: Actuator, thrown: bool) -> tuple[int, ...]:
    if actuator.drive.kind is DriveKind.SHARED_REVERSER:
        return actuator.outputs
    half = len(actuator.outputs) // 2
    return actuator.outputs[:half] if thrown else actuator.outputs[half:]


def _merged(spans: Iterable[Span]) -> Iterable[tuple[int, int, bool]]:
    """The edges of spans, those of one output joined where they overlap."""
    joined: list[list[int]] = []
    for output, start, end in sorted(spans):
        if joined and joined[-1][0] == output and joined[-1][2] >= start:
            joined[-1][2] = max(joined[-1][2], end)
        else:
            joined.append([output, start, end])
    for output, start, end in joined:
        yield start, output, True
        yield end, output, False


def from_edges(
    machine: Machine,
    edges: Iterable[tuple[int, int, bool]],
    length_us: int,
    name: str = "table",
    shows: tuple[tuple[str, str], ...] = (),
) -> StepTable:
    """The step table of edges (time, output, on)."""
    word = machine.idle_word
    words = {0: word}
    for at, output, on in sorted(edges):
        bit = 1 << output
        word = word & ~bit | ((machine.idle_word ^ (bit if on else 0)) & bit)
        words[at] = word
    steps = tuple(Step(at, word) for at, word in sorted(words.items()))
    return StepTable(name, steps, length_us, shows)


WAIT_MS = 200
FALL_MS = 400


class Patient:
    """Writes scripts that do one thing at a time and wait for long after each.

    It knows nothing of passes: each metering gate is loaded by itself, each selector set for it.
    """

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.lines: list[str] = []
        self.now_ms = 50

    def pulse(self, name: str, position: str, length: str = "") -> None:
        """One pulse, and a wait."""
        self.lines.append(f"{self.now_ms} {name} {position} {length}")
        self.now_ms += WAIT_MS

    def cycle(self, name: str) -> None:
        """A gate thrown and back at rest."""
        self.pulse(name, "thrown")
        self.pulse(name, "rest")

    def home(self) -> None:
        """Gates to rest, then selectors."""
        for actuator in sorted(self.machine.actuators, key=lambda a: not a.is_gate):
            self.pulse(actuator.name, "rest")

    def load(self, picture: Glyph, metering: Iterable[Actuator] | None = None) -> None:
        """Set the selectors of each metering gate and cycle it."""
        lane = self.machine.lane_of(picture.grid)
        kinds = dict(zip(lane.grid.cells, picture.kinds, strict=True))
        if metering is None:
            metering = self.machine.actuators_of(lane.metering, lane.grid)
        for gate in metering:
            needs: dict[str, str] = {}
            for cell in gate.cells:
                for selector, position in way_to(lane, cell, kinds[cell]):
                    name = self.machine.actuator_of(selector, lane.grid, cell).name
                    assert needs.setdefault(name, position) == position, "not reachable"
            for name, position in needs.items():
                self.pulse(name, position)
            self.cycle(gate.name)
        self.now_ms += FALL_MS

    def change(self, grid: str) -> None:
        """Cycle the gates below the place that is seen, then the transfer gates, top to bottom."""
        lane = self.machine.lane_of(grid)
        for gate in (*lane.dumps, *lane.transfers):
            for actuator in self.machine.actuators_of(gate, lane.grid):
                self.cycle(actuator.name)
            self.now_ms += FALL_MS

    def table(self, name: str = "table", shows: tuple[tuple[str, str], ...] = ()) -> StepTable:
        """All that has been written, as a table; the next one starts afresh."""
        table = written(self.machine, "\n".join(self.lines), self.now_ms, name, shows)
        self.lines, self.now_ms = [], 50
        return table


def way_to(lane: Lane, cell: Cell, kind: str) -> list[tuple[Selector, str]]:
    """The selectors and positions through which a cell is offered a kind, by the shortest way."""
    ways: list[tuple[Feed, list[tuple[Selector, str]]]] = [(declared(lane, cell), [])]
    while ways:
        node, way = ways.pop(0)
        if isinstance(node, Branch):
            for input_, position in zip(inputs(node, cell), ("rest", "thrown"), strict=True):
                ways.append((input_, [*way, (node.selector, position)]))
        elif node.name == kind:
            return way
    raise LookupError(kind)


def patient_tables(machine: Machine, glyphs: Iterable[Glyph]) -> list[StepTable]:
    """Home, then a table for each glyph."""
    patient = Patient(machine)
    patient.home()
    tables = [patient.table("home")]
    for picture in glyphs:
        patient.load(picture)
        patient.change(picture.grid)
        tables.append(patient.table(picture.name, ((picture.grid, picture.name),)))
    return tables
