"""Tolerances as they are written, and what the machine makes of them."""

from __future__ import annotations

import pathlib

import pytest
from malformed import BOARD

from seqc.language import read, read_text
from seqc.machine.doubts import doubts
from seqc.machine.findings import Findings
from seqc.machine.model import Machine
from seqc.machine.span import Span


def machine_of(*edits: str, end: str = "") -> Machine:
    """The board with some words changed and more at its end, which must be faultless."""
    text = BOARD.replace("release 6 ms", "release 6 ms with diode") + end
    for old, new in zip(edits[::2], edits[1::2], strict=True):
        assert old in text
        text = text.replace(old, new, 1)
    findings = Findings()
    declared = read_text(text, "board.lanes", findings)
    assert not findings.reported, list(map(str, findings))
    assert declared is not None
    return declared.machine


@pytest.mark.parametrize(
    ("written", "span"),
    [
        ("18 ms +- 2 ms", Span(16_000, 18_000, 20_000)),
        ("18 ms +-2 ms", Span(16_000, 18_000, 20_000)),
        ("18 ms ± 500 us", Span(17_500, 18_000, 18_500)),
        ("18 ms +- 10 %", Span(16_200, 18_000, 19_800)),
        ("16 ms to 20 ms", Span(16_000, 18_000, 20_000)),
        ("0.01701 s +- 10 %", Span(15_309, 17_010, 18_711)),
        ("17001 us +- 10 %", Span(15_300, 17_001, 18_702)),
        ("5 us to 8 us", Span(5, 7, 8)),
        ("18 ms +- 0 ms", Span(18_000, 18_000, 18_000)),
        ("18 ms +- 100 %", Span(0, 18_000, 36_000)),
    ],
)
def test_a_time_of_a_part(written: str, span: Span) -> None:
    """The least is rounded down, the most up."""
    assert machine_of("18 ms", written).gates[0].coil.travel == span


def test_every_time_of_a_part_takes_one() -> None:
    machine = machine_of(
        "coil small open",
        "coil small settle 10 ms +- 1 ms open",
        "operate 10 ms release 6 ms with diode",
        "operate 8 ms to 10 ms release 6 ms +- 50 % bounce 1 ms +- 1 ms",
        "falls in 300 ms",
        "falls in 300 ms +- 30 ms settle 50 ms +- 5 ms",
        "from bus }",
        "from bus pulse switch turn on 100 us +- 50 us turn off 1 ms +- 20 % }",
        "bits 10",
        "bits 11",
        "per row coil small",
        "per row coil small settle 8 ms to 9 ms",
    )
    drive = machine.actuators[0].drive
    assert drive.relay is not None
    assert drive.lead == Span(8_000, 9_000, 10_000)
    assert drive.lag == Span(3_000, 6_000, 9_000)
    assert drive.relay.bounce == Span(0, 1_000, 2_000)
    assert drive.turn_on == Span(50, 100, 150)
    assert drive.turn_off == Span(800, 1_000, 1_200)
    path = machine.lanes[0].paths[0]
    assert path.fall == Span(270_000, 300_000, 330_000)
    assert path.total == Span(315_000, 350_000, 385_000)
    gate, selector = machine.actuators[-2], machine.actuators[0]
    assert gate.settled == Span(17_100 + 9_000, 28_000, 18_900 + 11_000)
    assert selector.part.settle == Span(8_000, 8_500, 9_000)


def test_nominal_times_stay_as_they_are() -> None:
    plain, wide = machine_of(), machine_of("18 ms", "18 ms +- 4 ms")
    assert plain.gates[0].coil.travel_us == wide.gates[0].coil.travel_us == 18_000


def test_the_statement_covers_what_has_none_of_its_own() -> None:
    machine = machine_of("18 ms", "18 ms +- 1 ms", end="tolerance 10 %\n")
    assert machine.gates[0].coil.travel == Span(17_000, 18_000, 19_000)
    assert machine.actuators[0].drive.lead == Span(9_000, 10_000, 11_000)
    assert machine.lanes[0].paths[0].fall == Span(270_000, 300_000, 330_000)
    assert machine.assumed_ppm is None
    assert not doubts(machine)


def test_a_block_has_a_tolerance_for_what_is_computed() -> None:
    machine = machine_of(
        "8 ohm",
        "8 ohm 8 mH tolerance 20 %",
        "falls in 300 ms",
        "fall 1 m tolerance 2 %",
        end="tolerance 10 %\n",
    )
    coil, path = machine.gates[0].coil, machine.lanes[0].paths[0]
    assert coil.decay == Span(4_000, 5_000, 6_000)
    assert coil.travel == Span(14_400, 18_000, 21_600)
    assert path.fall == Span(442_568, 451_601, 460_634)


def test_items_of_several_sizes_spread_the_time_on_rails() -> None:
    machine = machine_of(
        "falls in 300 ms",
        "roll 120 mm at 9 deg on rails 5 mm",
        "tone dark",
        "tone dark diameter 8 mm",
        "tone light",
        "tone light diameter 12 mm",
        end="tolerance 0 %\n",
    )
    path = machine.lanes[0].paths[0]
    assert path.slope is not None
    assert path.slope.radius_um == 4_000
    assert path.fall.nominal_us == path.fall.most_us == path.slope.time_us
    assert path.fall.least_us < path.fall.nominal_us


def test_without_any_five_per_cent_are_taken_and_told_once() -> None:
    machine = machine_of()
    assert machine.gates[0].coil.travel == Span(17_100, 18_000, 18_900)
    (warned,) = doubts(machine)
    assert warned.code == "no-tolerance"
    assert "5 %" in warned.message
    assert (warned.place.line, warned.place.column) == (1, 9)


def test_exact_parts_are_told_as_such() -> None:
    machine = machine_of(end="tolerance 0 %\n")
    assert machine.gates[0].coil.travel == Span(18_000, 18_000, 18_000)
    assert machine.controller.clock_ppm == 0
    assert not doubts(machine)


@pytest.mark.parametrize(
    ("written", "ppm"),
    [
        ("", 5_000),
        ("controller { clock 16 MHz }", 5_000),
        ("controller { clock 16 MHz +- 0.5 % }", 5_000),
        ("controller { clock 12 MHz +- 30 ppm }", 30),
        ("controller { clock 32.768 kHz +- 2 Hz }", 62),
        ("tolerance 0.1 %", 1_000),
    ],
)
def test_the_clock_of_the_controller(written: str, ppm: int) -> None:
    """A clock that isn't told is a ceramic resonator, or as exact as the parts are."""
    assert machine_of(end=f"{written}\n").controller.clock_ppm == ppm


def test_an_included_file_may_tell_it(tmp_path: pathlib.Path) -> None:
    (tmp_path / "all.lanes").write_text("tolerance 3 %\n", encoding="utf-8")
    board = BOARD.replace("release 6 ms", "release 6 ms without diode")
    (tmp_path / "main.lanes").write_text(board + 'include "all.lanes"\n', encoding="utf-8")
    findings = Findings()
    declared = read(tmp_path / "main.lanes", findings)
    assert declared is not None
    assert declared.machine.gates[0].coil.travel == Span(17_460, 18_000, 18_540)
    assert not doubts(declared.machine)
