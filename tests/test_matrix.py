"""The matrix drive: its outputs, its circuit, and that its schedules drive no coil by accident."""

from __future__ import annotations

import itertools
import shutil
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import pytest
from boards import CELL, GRID, ROW, board, glyph, grid_of
from click.testing import CliRunner
from examples_on_disk import machine_file

import seqc
from seqc.cli.main import main
from seqc.machine.electrics import DriveKind
from seqc.machine.findings import Findings
from seqc.machine.glyphs import Frame, Programme
from seqc.machine.model import Machine
from seqc.machine.steptable import TablesFor
from seqc.simulator.lines import FORWARD, OFF, REVERSE, way_of

DRIVE = "drive pick, drop, swap { changeover pair  relay card  from bus }"
QUICK = ("--prefer", "pulses")
ON_MATRIX = """outputs wires { bits 24  shift register }
drive drop { matrix  columns 4  dead time 1 ms  from wires }
drive pick, swap { changeover pair  relay card  from bus }"""


def cell_gates(folder: Path, drives: str = ON_MATRIX) -> Path:
    """The berth board with a gate for each cell."""
    path = machine_file("berth_board", folder)
    text = path.read_text("utf-8")
    assert DRIVE in text
    text = text.replace(DRIVE, drives).replace("drop { per column", "drop { per cell")
    path.write_text(text, "utf-8")
    return path


def read(path: Path) -> Machine:
    findings = Findings()
    machine = seqc.read(path, findings)
    assert not findings.has_errors
    return machine


def test_its_outputs_are_two_for_each_row_and_two_for_each_column(tmp_path: Path) -> None:
    machine = read(cell_gates(tmp_path))
    drops = [a for a in machine.actuators if a.part.name == "drop"]
    assert len(drops) == 24
    first = machine.buses[1].first
    used = {output for actuator in drops for output in actuator.outputs}
    assert used == set(range(first, first + 2 * (6 + 4)))
    by_name = {actuator.name: actuator.outputs for actuator in drops}
    # Row 1 has the first two outputs, high and low; column 1 those after the six rows.
    assert by_name["drop.r1c1"] == (first, first + 13, first + 1, first + 12)
    assert by_name["drop.r2c1"] == (first + 2, first + 13, first + 3, first + 12)
    assert by_name["drop.r1c2"] == (first, first + 15, first + 1, first + 14)


@pytest.mark.parametrize(
    ("drive", "message"),
    [
        ("matrix dead time 1 ms pulse switch from wires", "a matrix has no use for `pulse switch`"),
        ("matrix from wires", "a matrix has no `dead time`"),
        ("matrix relay card from wires", "a matrix has no use for `relay`"),
        ("bridge dead time 1 ms columns 4 from wires", "a bridge has no use for `columns`"),
        ("matrix dead time 1 ms columns 1 from wires", "`wires` has 24 outputs, but 50 are needed"),
    ],
)
def test_what_does_not_fit_is_told(drive: str, message: str, tmp_path: Path) -> None:
    drives = ON_MATRIX.replace("matrix  columns 4  dead time 1 ms  from wires", drive)
    result = CliRunner().invoke(main, ["check", str(cell_gates(tmp_path, drives))])
    assert result.exit_code == 2
    assert message in result.stderr


def test_without_columns_it_is_about_square(tmp_path: Path) -> None:
    machine = read(cell_gates(tmp_path, ON_MATRIX.replace("columns 4", "")))
    drops = [a for a in machine.actuators if a.part.name == "drop"]
    assert len({output for actuator in drops for output in actuator.outputs}) == 2 * (5 + 5)


Edges = Mapping[str, set[str]]


def circuit(rows: int, columns: int, state: Mapping[str, int]) -> Edges:
    """Which way current can go: a diode lets it pass one way, a coil and a closed switch both.

    `state` has for each row and column 1 where its high switch is closed, -1 for the low one.
    """
    edges: dict[str, set[str]] = {}

    def join(start: str, end: str) -> None:
        edges.setdefault(start, set()).add(end)

    for row, column in itertools.product(range(rows), range(columns)):
        coil = f"a{row}{column}"
        join(f"high{row}", coil)
        join(coil, f"low{row}")
        join(coil, f"c{column}")
        join(f"c{column}", coil)
    for row in range(rows):
        if state[f"r{row}"] == 1:
            join("plus", f"high{row}")
        if state[f"r{row}"] == -1:
            join(f"low{row}", "minus")
    for column in range(columns):
        if state[f"c{column}"] == 1:
            join("plus", f"c{column}")
        if state[f"c{column}"] == -1:
            join(f"c{column}", "minus")
    return edges


def currents(edges: Edges) -> Iterator[tuple[str, str]]:
    """The edges on some way from plus to minus that meets no node twice, nor the supply between."""
    waiting: list[tuple[str, ...]] = [("plus", node) for node in sorted(edges.get("plus", ()))]
    while waiting:
        way = waiting.pop()
        for node in sorted(edges.get(way[-1], ())):
            if node == "minus":
                yield from itertools.pairwise((*way, node))
            elif node not in way and node not in edges["plus"]:
                waiting.append((*way, node))


def closed_of(machine: Machine, state: Mapping[str, int], columns: int) -> int:
    closed = 0
    for number, actuator in enumerate(machine.actuators):
        row, column = divmod(number, columns)
        row_high, low, row_low, high = actuator.outputs
        for output, where, side in (
            (row_high, f"r{row}", 1),
            (row_low, f"r{row}", -1),
            (high, f"c{column}", 1),
            (low, f"c{column}", -1),
        ):
            closed |= (state[where] == side) << output
    return closed


def test_no_coil_has_current_by_any_other_path() -> None:
    rows, columns = 2, 3
    machine = board(
        [grid_of(2, 2)],
        selectors=(ROW,),
        gates={"drop": ROW, "swap": ROW},
        kind=DriveKind.MATRIX,
    )
    assert len(machine.actuators) == rows * columns
    names = [*(f"r{n}" for n in range(rows)), *(f"c{n}" for n in range(columns))]
    ways = [way_of(actuator, machine) for actuator in machine.actuators]
    powered = shorted = 0
    for sides in itertools.product((-1, 0, 1), repeat=len(names)):
        state = dict(zip(names, sides, strict=True))
        flows = set(currents(circuit(rows, columns, state)))
        closed = closed_of(machine, state, columns)
        if any(way.asks_both(closed) for way in ways):
            shorted += 1
            continue
        for number, way in enumerate(ways):
            row, column = divmod(number, columns)
            forward = (f"a{row}{column}", f"c{column}") in flows
            reverse = (f"c{column}", f"a{row}{column}") in flows
            expected = FORWARD if forward else REVERSE if reverse else OFF
            assert not (forward and reverse)
            assert way.polarity(closed) == expected, state
            powered += expected != OFF
    # Of the 9 states of both rows the 2 with one high and one low let current pass by a column.
    assert shorted == 2 * 3**columns
    assert powered > 0


VOLTS, COIL_OHMS = 12.0, 8.2
CLOSED_OHMS, OPEN_OHMS = 0.01, 1e9


def deck_of(states: Sequence[Mapping[str, int]], rows: int, columns: int) -> str:
    """The board in each of these states, one circuit beside the other, with silicon diodes."""
    lines = ["a matrix of coils", f"Vplus plus 0 {VOLTS}", ".model d d(is=1e-14 rs=0.05)"]
    for number, state in enumerate(states):
        for name, side in state.items():
            high, low = (f"h{name}_{number}", f"l{name}_{number}")
            if name.startswith("c"):
                high = low = f"{name}_{number}"
            for what, wire, rail, is_on in (
                ("h", high, "plus", side == 1),
                ("l", low, "0", side == -1),
            ):
                ohms = CLOSED_OHMS if is_on else OPEN_OHMS
                lines.append(f"Rs{what}{name}_{number} {rail} {wire} {ohms}")
        for row, column in itertools.product(range(rows), range(columns)):
            coil = f"{row}{column}_{number}"
            lines += [
                f"Dh{coil} hr{row}_{number} a{coil} d",
                f"Dl{coil} a{coil} lr{row}_{number} d",
                f"Rcoil{coil} a{coil} c{column}_{number} {COIL_OHMS}",
            ]
    coils = [
        f"{row}{column}_{number}"
        for number, row, column in itertools.product(
            range(len(states)), range(rows), range(columns)
        )
    ]
    return "\n".join([*lines, ".control", "op", *(f"print @rcoil{c}[i]" for c in coils), ".endc"])


@pytest.mark.skipif(shutil.which("ngspice") is None, reason="needs Debian's ngspice")
def test_a_circuit_simulator_finds_no_sneak_path_either(tmp_path: Path) -> None:
    """Two rows by three columns in every state of the switches that a table may ask for.

    A coil has the current of the supply less two silicon diodes at most, or less than a thousandth.
    """
    rows, columns = 2, 3
    names = [*(f"r{n}" for n in range(rows)), *(f"c{n}" for n in range(columns))]
    every = (
        dict(zip(names, sides, strict=True)) for sides in itertools.product((-1, 0, 1), repeat=5)
    )
    states = [state for state in every if {state["r0"], state["r1"]} != {-1, 1}]
    assert len(states) == 7 * 27
    path = tmp_path / "matrix.cir"
    path.write_text(deck_of(states, rows, columns) + "\n.end\n", "utf-8")
    run = subprocess.run(
        ["ngspice", "-b", str(path)], capture_output=True, text=True, timeout=60, check=False
    )
    found = [
        float(line.split()[2]) for line in run.stdout.splitlines() if line.startswith("@rcoil")
    ]
    assert len(found) == len(states) * rows * columns
    full_a = VOLTS / COIL_OHMS
    for at, amperes in enumerate(found):
        number, coil = divmod(at, rows * columns)
        row, column = divmod(coil, columns)
        state = states[number]
        sides = state[f"r{row}"], state[f"c{column}"]
        if 0 in sides or sides[0] == sides[1]:
            assert abs(amperes) < full_a / 1_000, state
        else:
            assert 0.85 * full_a < amperes * sides[0] < full_a, state


def test_what_is_planned_shows_its_pictures() -> None:
    numeral = grid_of(2, 3)
    machine = board([numeral], selectors=(ROW,), gates={"drop": CELL}, kind=DriveKind.MATRIX)
    pictures = glyph(numeral, "010", "101"), glyph(numeral, "110", "001", name="y")
    programme = Programme("asked", tuple(Frame((each,)) for each in pictures), 10_000_000)
    tables = seqc.tables(machine, programme, TablesFor.PROGRAMME, prefer=seqc.PULSES)
    replay = seqc.replay(machine, tables, programme)
    assert not replay.faults
    assert not replay.unchecked


@pytest.mark.thorough
def test_a_gate_for_each_cell_is_planned_built_and_replayed(tmp_path: Path) -> None:
    path = cell_gates(tmp_path)
    machine = read(path)
    programme = seqc.asked(machine, "012")
    tables = seqc.tables(machine, programme, TablesFor.PROGRAMME, slower=True, prefer=seqc.PULSES)
    assert not seqc.replay(machine, tables, programme).faults
    planned = seqc.plan(machine, programme, seqc.PULSES)
    pulses = [pulse for tick in planned.timing.ticks for pulse in tick.pulses]
    drops = [pulse for pulse in pulses if pulse.actuator.part.name == "drop"]
    assert drops
    result = CliRunner().invoke(
        main,
        ["build", str(path), "--out", str(tmp_path / "out"), "--show", "01", "--slower", *QUICK],
    )
    assert result.exit_code == 0, result.output


def test_pulses_of_one_row_coincide_and_others_do_not_overlap() -> None:
    numeral = grid_of(3, 3)
    machine = board([numeral], selectors=(GRID,), gates={"drop": CELL}, kind=DriveKind.MATRIX)
    shown = glyph(numeral, "010", "101", "011")
    programme = Programme("asked", (Frame((shown,)),), 10_000_000)
    planned = seqc.plan(machine, programme, seqc.PULSES)
    (first, *_) = planned.timing.frames
    coincided = 0
    for one, other in itertools.combinations(first.pulses, 2):
        if one.start_us < other.end_us and other.start_us < one.end_us:
            assert one.actuator.outputs[0] == other.actuator.outputs[0]
            assert (one.start_us, one.position) == (other.start_us, other.position)
            coincided += 1
    assert coincided
