"""The simulator against a slow reference that looks at the machine in every millisecond."""

from __future__ import annotations

import random
from collections.abc import Iterable

import pytest
from boards import CELL, COLUMN, GRID, ROW, board, grid_of, letters
from handwritten import Patient, Span, from_edges, spans_of
from slow_machine import SlowMachine, Told
from test_simulator_pictures import BOARDS

from seqc.machine.electrics import DriveKind
from seqc.machine.model import Machine
from seqc.machine.steptable import Step, StepTable
from seqc.simulator import Fault, Simulator

SMALL = grid_of(2, 2)
MACHINES = {
    **{name: machine for name, (machine, _) in BOARDS.items()},
    "bridge": board([SMALL], kind=DriveKind.BRIDGE, limit_ua=5_000_000),
    "shared reverser": board([SMALL], kind=DriveKind.SHARED_REVERSER, limit_ua=5_000_000),
    "pulse switch": board([SMALL], pulse_switch=True, gates={"drop": ROW, "swap": COLUMN}),
    "switched reverser": board([SMALL], kind=DriveKind.SHARED_REVERSER, pulse_switch=True),
    "switched bridge": board([SMALL], kind=DriveKind.BRIDGE, pulse_switch=True),
    "quick fall": board(
        [SMALL],
        selectors=(letters("ab", "ba"),),
        gates={"drop": CELL, "hold": GRID, "dump": ROW},
        dumps=1,
        fall_us=40_000,
    ),
}
LENGTHS_MS = ("", "", "", "39", "59", "80", "81", "121")
CASES = 2


def wild_edges(
    machine: Machine, dice: random.Random, length_ms: int
) -> list[tuple[int, int, bool]]:
    """Edges of a careful home, then of pulses thrown in at random, some of them ill formed."""
    patient = Patient(machine)
    if dice.random() < 0.8:
        patient.home()
    home = patient.table()
    edges = edges_of(machine, home)
    spans: list[Span] = []
    now = home.length_us // 1000
    while now < length_ms:
        actuator = dice.choice(machine.actuators)
        for thrown in (True, False) if dice.random() < 0.7 else (dice.random() < 0.5,):
            start = 1000 * now
            spans += spans_of(machine, actuator.name, start, thrown, dice.choice(LENGTHS_MS))
            now += dice.choice((20, 60, 100, 101, 150, 160, 200))
        now += dice.choice((-100, -40, 0, 0, 30, 300))
    for output, start, end in spans:
        edges += [(start, output, True), (end, output, False)]
    for _ in range(dice.randrange(4)):
        output, start = dice.randrange(machine.width), dice.randrange(length_ms)
        edges += [
            (1000 * start, output, True),
            (1000 * (start + dice.randrange(90)), output, False),
        ]
    return sorted(edges)


def edges_of(machine: Machine, table: StepTable) -> list[tuple[int, int, bool]]:
    edges = []
    active = 0
    for step in table.steps:
        now = step.word ^ machine.idle_word
        for output in range(machine.width):
            if (now ^ active) >> output & 1:
                edges.append((step.at_us, output, bool(now >> output & 1)))
        active = now
    return edges


def cut(steps: Iterable[Step], ends: Iterable[int]) -> Iterable[StepTable]:
    """The same steps as several tables, one after the other."""
    start = 0
    for rank, end in enumerate(ends):
        mine = [Step(s.at_us - start, s.word) for s in steps if start <= s.at_us < end]
        yield StepTable(str(rank), tuple(mine), end - start)
        start = end


def told(fault: Fault) -> Told:
    """The kind, the millisecond, and the actuator or (of a loaded contact) the output."""
    name = fault.actuator
    if fault.kind.value.endswith("under-load"):
        name = fault.what.split("output ")[1].split()[0]
    return fault.kind.value, fault.at_us // 1000, name


@pytest.mark.quick(4, 14)
@pytest.mark.parametrize("seed", range(CASES))
@pytest.mark.parametrize("name", MACHINES)
def test_faults_and_pictures_agree_with_the_slow_reference(name: str, seed: int) -> None:
    machine = MACHINES[name]
    dice = random.Random(f"{name} {seed}")
    length_ms = 7000 + 2000 * dice.randrange(3)
    table = from_edges(machine, wild_edges(machine, dice, length_ms), 1000 * (length_ms + 1000))
    ends = sorted(1000 * dice.randrange(1, length_ms) for _ in range(dice.randrange(5)))
    simulator, slow = Simulator(machine, stock=False), SlowMachine(machine)
    faults: set[Told] = set()
    for piece in cut(table.steps, [*ends, table.length_us]):
        faults |= {told(fault) for fault in simulator.run(piece).faults}
    words = {step.at_us // 1000: step.word for step in table.steps}
    word = machine.idle_word
    for now in range(table.length_us // 1000):
        word = words.get(now, word)
        slow.step(now, word)
    assert faults == slow.faults
    assert simulator.pictures == {grid.name: slow.picture(grid.name) for grid in machine.grids}
