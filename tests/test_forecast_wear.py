"""Wear: operations of relays and coils, and when the first of them has had its life."""

from dataclasses import replace

import pytest
from boards import GRID, board, grid_of
from forecast_runs import DAY_US, HOUR_US, SECOND_US, endless_frames
from hypothesis import given
from hypothesis import strategies as st

from seqc.forecast.tally import tally
from seqc.forecast.usage import FrameUse, Run, frame_use
from seqc.forecast.wear import operations, wear
from seqc.machine.electrics import DriveKind
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.pulses import Pulse

THROWN, REST = Position.THROWN, Position.REST


def pulse(actuator: Actuator, position: Position, start_ms: int) -> Pulse:
    return Pulse(
        actuator, position, start_ms * 1_000, actuator.coil.pulse_us, actuator.coil.pulse_us
    )


def one_gate(**options: object) -> Machine:
    """One cell, one kind, one gate: a single actuator on two changeover relays."""
    return board([grid_of(1, 1)], kinds=1, gates={"drop": GRID}, **options)  # type: ignore[arg-type]


def each_second(use: FrameUse) -> Run:
    return Run((use,), SECOND_US, 0)


def test_two_relays_at_one_change_a_second() -> None:
    # 10^5 operations on the contacts, 10^7 mechanically (several makers' data sheets).
    machine = one_gate()
    run = each_second(FrameUse({0: 1}, {0: 1}, ()))
    parts = wear(machine, tally(machine, run, DAY_US))
    assert [part.part for part in parts] == ["forward relay of drop", "reverse relay of drop"]
    first = parts[0]
    assert (first.operations, first.limit) == (86_400, "contact life")
    # Each relay works once a second: 100,000 s are 27.8 h, 10,000,000 s are 115.7 days.
    assert first.hours == pytest.approx(27.78, abs=0.005)
    assert first.switched_hours == pytest.approx(115.74 * 24, abs=0.2)


def test_a_pulse_switch_leaves_the_mechanical_life() -> None:
    machine = one_gate(pulse_switch=True)
    run = each_second(FrameUse({0: 1}, {0: 1}, ()))
    first = wear(machine, tally(machine, run, DAY_US))[0]
    assert (first.limit, first.switched_hours) == ("mechanical life", None)
    assert first.hours == pytest.approx(10_000_000 / 3_600)


def test_relays_that_take_turns_last_twice_as_long() -> None:
    machine = one_gate()
    run = Run((FrameUse({0: 1}, {}, ()), FrameUse({}, {0: 1}, ())), SECOND_US, 0)
    parts = wear(machine, tally(machine, run, DAY_US))
    assert [part.hours for part in parts] == [pytest.approx(55.56, abs=0.005)] * 2


def test_a_bridge_has_no_relays_but_coils_have_lives() -> None:
    machine = one_gate(kind=DriveKind.BRIDGE)
    (actuator,) = machine.actuators
    coil = replace(actuator.coil, life=1_000_000)
    machine = replace(
        machine, actuators=(replace(actuator, part=replace(actuator.part, coil=coil)),)
    )
    totals = tally(machine, each_second(FrameUse({0: 1}, {0: 1}, ())), HOUR_US)
    (part,) = wear(machine, totals)
    assert (part.part, part.operations) == ("coil of drop", 7_200)
    assert part.hours == pytest.approx(138.9, abs=0.05)
    assert operations(machine, totals) == 0


def test_a_shared_reverser_turns_without_load() -> None:
    machine = one_gate(kind=DriveKind.SHARED_REVERSER)
    (actuator,) = machine.actuators
    glyph = Glyph("x", "hand", "numeral", ("slate",))
    pulses = [pulse(actuator, THROWN, 0), pulse(actuator, REST, 300)]
    moves = [(actuator, THROWN), (actuator, REST)]
    use = frame_use(machine, Frame((glyph,)), moves, pulses)
    totals = tally(machine, each_second(use), HOUR_US)
    parts = {part.part: part for part in wear(machine, totals)}
    assert parts["relay of drop"].operations == 7_200
    assert parts["relay of drop"].limit == "contact life"
    reverser = parts["reverser on output 1"]
    assert (reverser.operations, reverser.limit) == (3_600, "mechanical life")
    assert operations(machine, totals) == 10_800


def test_a_reverser_stays_turned_between_pulses_of_one_polarity() -> None:
    machine = board([grid_of(2, 2)], kind=DriveKind.SHARED_REVERSER)
    first, second = machine.actuators[:2]
    reverser = first.drive.reverser
    assert reverser is not None
    at_once = [pulse(first, REST, 100), pulse(second, REST, 120)]
    later = [pulse(first, THROWN, 400), pulse(first, REST, 700)]
    assert frame_use(machine, Frame(()), [], at_once).turns == {reverser: 1}
    assert frame_use(machine, Frame(()), [], [*at_once, *later]).turns == {reverser: 2}
    # Far apart, it falls back in between.
    apart = [pulse(first, REST, 100), pulse(second, REST, 600)]
    assert frame_use(machine, Frame(()), [], apart).turns == {reverser: 2}


def test_a_part_at_rest_never_fails() -> None:
    machine = one_gate()
    parts = wear(machine, tally(machine, each_second(FrameUse({}, {}, ())), HOUR_US))
    assert [part.hours for part in parts] == [None, None]


def test_cells_draw_when_their_metering_gate_is_thrown() -> None:
    machine = board([grid_of(2, 2)])
    drops = [actuator for actuator in machine.actuators if actuator.name.startswith("drop")]
    glyph = Glyph("x", "hand", "numeral", ("slate", "chalk", "chalk", "slate"))
    use = frame_use(machine, Frame((glyph,)), [(drops[1], THROWN), (drops[1], REST)], [])
    (draw,) = use.draws
    assert draw.kinds == (None, "chalk", None, "slate")
    assert use.forward == {drops[1].index: 1}
    assert use.reverse == {drops[1].index: 1}


COUNTS = st.dictionaries(st.just(0), st.integers(1, 3), max_size=1)


@given(
    st.lists(st.tuples(COUNTS, COUNTS), min_size=1, max_size=5),
    st.integers(0, 4),
    st.integers(0, 40_000_000),
)
def test_totals_are_plain_sums(
    counts: list[tuple[dict[int, int], dict[int, int]]], start: int, duration_us: int
) -> None:
    machine = one_gate()
    frames = tuple(FrameUse(forward, reverse, ()) for forward, reverse in counts)
    run = Run(frames, SECOND_US, start if start < len(frames) else None)
    totals = tally(machine, run, duration_us)
    begun = -(-duration_us // SECOND_US)
    plain = endless_frames(run, begun)
    assert totals.frames == len(plain)
    assert totals.forward == (sum(use.forward.get(0, 0) for use in plain),)
    assert totals.reverse == (sum(use.reverse.get(0, 0) for use in plain),)
