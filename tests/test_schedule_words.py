"""Output words, decoded by hand and by contacts that follow their outputs."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from boards import CARD, board, glyph, grid_of
from reference.schedule_machines import mixed_machine, random_machine, random_plans
from reference.schedule_planner import left_to_right

from seqc.machine.electrics import DriveKind
from seqc.machine.findings import ShortfallError
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.steptable import Step
from seqc.machine.wiring import Actuator
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.drives.rules import Span
from seqc.schedule.durations import Durations
from seqc.schedule.encode import encode, steps_between
from seqc.schedule.frame import time_frame
from seqc.schedule.pulses import Pulse
from seqc.schedule.tables import glyph_tables

EFFORT = 20


def pulse_of(machine: Machine, subject: Actuator, position: Position, start_us: int) -> Pulse:
    return Durations(machine).pulse(subject, position, start_us)


def one_pulse(machine: Machine, actuator: int, position: Position) -> list[tuple[int, int]]:
    subject = machine.actuators[actuator]
    return encode(machine, [pulse_of(machine, subject, position, 100_000)])


def test_a_relay_leads_by_its_operate_and_lags_by_its_release_time() -> None:
    # The card operates in 10 ms and releases in 6; selector 0 has outputs 0 and 1; eight outputs.
    machine = board([grid_of(1, 1)], active_low=False)
    assert one_pulse(machine, 0, Position.THROWN) == [(90_000, 0b01), (134_000, 0)]
    assert one_pulse(machine, 0, Position.REST) == [(90_000, 0b10), (134_000, 0)]


def test_active_low_outputs_are_high_when_idle() -> None:
    machine = board([grid_of(1, 1)], active_low=True)
    idle = (1 << machine.width) - 1
    assert one_pulse(machine, 0, Position.THROWN) == [(90_000, idle - 1), (134_000, idle)]


def test_a_bridge_follows_at_once() -> None:
    machine = board([grid_of(1, 1)], active_low=False, kind=DriveKind.BRIDGE)
    assert one_pulse(machine, 1, Position.THROWN) == [(100_000, 0b100), (140_000, 0)]


def test_a_shared_reverser_is_turned_before_and_held_until_the_current_is_gone() -> None:
    # Three actuators have outputs 0 to 2, the reverser 3. It operates in 10 ms, a guard of 1 ms
    # before the coil's relay closes; the current decays in 5.488 ms, and a guard of 1 ms follows.
    machine = board([grid_of(1, 1)], active_low=False, kind=DriveKind.SHARED_REVERSER)
    assert one_pulse(machine, 0, Position.THROWN) == [(90_000, 0b0001), (134_000, 0)]
    assert one_pulse(machine, 0, Position.REST) == [
        (89_000, 0b1000),
        (90_000, 0b1001),
        (134_000, 0b1000),
        (146_488, 0),
    ]


def test_a_rail_stays_turned_until_the_last_of_its_pulses_is_over() -> None:
    # The small pulse lies within the large one, whose current decays in 12.5 ms.
    machine = board([grid_of(1, 1)], active_low=False, kind=DriveKind.SHARED_REVERSER)
    small, large = machine.actuators[1:]
    pulses = [
        pulse_of(machine, large, Position.REST, 100_000),
        pulse_of(machine, small, Position.REST, 110_000),
    ]
    turned = [(at_us, word >> 3) for at_us, word in encode(machine, pulses)]
    assert {at_us for at_us, bit in turned if not bit} == {100_000 + 60_000 + 12_500 + 1_000}


@pytest.mark.parametrize("pulse_switch", [False, True])
def test_a_relay_is_called_again_only_when_its_contact_is_open(pulse_switch: bool) -> None:
    # One that operates slowly is called 40 ms before its pulse, and the coil recovers at once.
    kind = DriveKind.SHARED_REVERSER
    subject = board([grid_of(1, 1)], kind=kind, pulse_switch=pulse_switch).actuators[0]
    slow = replace(subject.drive, relay=replace(CARD, operate_us=40_000, release_us=1_000))
    coil = replace(subject.coil, recover_us=0, inductance_uh=0)
    subject = replace(subject, drive=slow, part=replace(subject.part, coil=coil))
    first = Pulse(subject, Position.REST, 100_000, coil.pulse_us, coil.pulse_us)
    pause_us = rules_of(slow).pause_us(slow, coil)
    second = replace(first, position=Position.THROWN, start_us=first.end_us + pause_us)
    called = [span.on_us for span in rules_of(slow).spans(second)]
    assert min(called) >= first.end_us


def test_a_pulse_switch_is_closed_only_while_contacts_are_at_rest() -> None:
    # Outputs 0 to 5 are the pairs, 6 the switch.
    machine = board([grid_of(1, 1)], active_low=False, pulse_switch=True)
    assert one_pulse(machine, 0, Position.THROWN) == [
        (89_000, 0b0000001),
        (100_000, 0b1000001),
        (140_000, 0),
    ]


def test_the_lead_is_that_of_the_slowest_drive() -> None:
    grid = grid_of(1, 1)
    assert Durations(board([grid])).lead_us == 10_000
    assert Durations(board([grid], kind=DriveKind.BRIDGE)).lead_us == 0
    assert Durations(board([grid], kind=DriveKind.SHARED_REVERSER)).lead_us == 11_000
    assert Durations(board([grid], pulse_switch=True)).lead_us == 11_000
    both = board([grid], kind=DriveKind.SHARED_REVERSER, pulse_switch=True)
    assert Durations(both).lead_us == 12_000


def on_relays(machine: Machine) -> set[int]:
    """The outputs that move a relay, all alike; a bridge and a pulse switch follow at once."""
    drives = {actuator.drive for actuator in machine.actuators if actuator.drive.relay}
    own = {n for a in machine.actuators if a.drive in drives for n in a.outputs}
    return own | {drive.reverser for drive in drives if drive.reverser is not None}


def contacts(machine: Machine, words: list[tuple[int, int]]) -> dict[int, list[tuple[int, bool]]]:
    """For each output, when its contact (or switch) closes and opens."""
    found: dict[int, list[tuple[int, bool]]] = {n: [] for n in range(machine.width)}
    slow = on_relays(machine)
    last = machine.idle_word
    for at_us, word in words:
        for output in range(machine.width):
            if (word ^ last) >> output & 1:
                on = bool((word ^ machine.idle_word) >> output & 1)
                delay = CARD.operate_us if on else CARD.release_us
                found[output].append((at_us + (delay if output in slow else 0), on))
        last = word
    assert last == machine.idle_word
    return found


def currents(machine: Machine, words: list[tuple[int, int]]) -> set[tuple[str, str, int, int]]:
    """The pulses that the coils feel: actuator, position, start, end."""
    moves = contacts(machine, words)
    instants = sorted({at_us for line in moves.values() for at_us, _ in line})
    felt: set[tuple[str, str, int, int]] = set()
    since: dict[int, tuple[str, int]] = {}
    for now in instants:
        closed = {
            n for n, line in moves.items() if [on for at, on in line if at <= now][-1:] == [True]
        }
        for actuator in machine.actuators:
            way = polarity(machine, actuator.index, closed)
            before = since.get(actuator.index)
            if before and before[0] != way:
                felt.add((actuator.name, before[0], before[1], now))
                del since[actuator.index]
            if way and actuator.index not in since:
                since[actuator.index] = way, now
    assert not since
    return felt


def polarity(machine: Machine, index: int, closed: set[int]) -> str:
    """The way the current goes through a coil, nothing if there is none."""
    actuator = machine.actuators[index]
    drive = actuator.drive
    if drive.switch is not None and drive.switch not in closed:
        return ""
    on = [output in closed for output in actuator.outputs]
    if drive.kind is DriveKind.SHARED_REVERSER:
        return ("rest" if drive.reverser in closed else "thrown") if on[0] else ""
    return {(True, False): "thrown", (False, True): "rest"}.get((on[0], on[1]), "")


@pytest.mark.parametrize("seed", range(60))
def test_contacts_that_follow_the_words_give_exactly_the_pulses(seed: int) -> None:
    random = Random(seed)
    machine = mixed_machine(random) if seed % 2 else random_machine(random)
    for plan in random_plans(random, machine, 1):
        timing = time_frame(machine, plan, EFFORT)
        words = encode(machine, timing.pulses)
        assert min(at_us for at_us, _ in words) >= -Durations(machine).lead_us
        assert currents(machine, words) == {
            (p.actuator.name, p.position.value, p.start_us, p.end_us) for p in timing.pulses
        }


def test_a_relay_slower_than_the_pulse_is_refused() -> None:
    machine = board([grid_of(1, 1)])
    slow = replace(CARD, release_us=50_000)
    actuators = tuple(
        replace(actuator, drive=replace(actuator.drive, relay=slow))
        for actuator in machine.actuators
    )
    plan = left_to_right(machine, [glyph(machine.grids[0], "1")])
    with pytest.raises(ShortfallError, match="lasts 40 ms, less than the 50 ms that relay card"):
        glyph_tables(replace(machine, actuators=actuators), [plan])


def test_a_coil_larger_than_its_supply_is_refused() -> None:
    # 2 A less a fifth is 1.667 A; the large coil draws 2.143 A.
    machine = board([grid_of(1, 1)], limit_ua=2_000_000)
    plan = left_to_right(machine, [glyph(machine.grids[0], "1")])
    with pytest.raises(ShortfallError, match=r"coil large draws 2.14 A, 0.476 A more than supply"):
        time_frame(machine, plan)


def test_the_words_of_a_whole_frame_by_hand() -> None:
    # A bridge; selector outputs 0 1, drop 2 3, swap 4 5. Times as in the frames timed by hand.
    machine = board([grid_of(1, 1)], active_low=False, kind=DriveKind.BRIDGE)
    plan = left_to_right(machine, [glyph(machine.grids[0], "1")])
    assert encode(machine, time_frame(machine, plan).pulses) == [
        (0, 0b000001),
        (28_000, 0b000101),
        (40_000, 0b000100),
        (68_000, 0),
        (128_000, 0b001000),
        (168_000, 0),
        (366_000, 0b010000),
        (426_000, 0),
        (516_000, 0b100000),
        (576_000, 0),
    ]


def test_what_lasts_beyond_a_table_is_left_for_the_next() -> None:
    spans = [Span(0, 10, 101), Span(1, 20, 100), Span(2, 150, 160)]
    steps, left = steps_between(0, spans, 100)
    assert steps == (Step(0, 0), Step(10, 0b001), Step(20, 0b011))
    assert left == (Span(0, -90, 1), Span(2, 50, 60))
    steps, left = steps_between(0, left, 100)
    assert steps == (Step(0, 0b001), Step(1, 0), Step(50, 0b100), Step(60, 0))
    assert left == ()


def test_a_wait_longer_than_a_step_can_be_is_shared_among_several() -> None:
    hour_us = 3_600_000_000
    steps, _ = steps_between(0, [Span(0, 0, 100)], 100 + 3 * hour_us)
    waits = [Step(100 + number * hour_us, 0) for number in range(3)]
    assert steps == (Step(0, 0b001), *waits)
    steps, _ = steps_between(0, [Span(0, 0, 100)], 100 + 70 * 60_000_000)
    assert steps == (Step(0, 0b001), Step(100, 0))
