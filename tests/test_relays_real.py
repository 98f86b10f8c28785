"""Relays as they are: bounce in the gap, behind a pulse switch, a diode on the card, RC."""

from __future__ import annotations

from dataclasses import replace

import pytest
from boards import CARD, ROW, SMALL, board, grid_of
from handwritten import written
from malformed import BOARD

from seqc.language import read_text
from seqc.machine.doubts import doubts
from seqc.machine.electrics import Drive, DriveKind, Supply
from seqc.machine.findings import Findings
from seqc.machine.model import Machine
from seqc.machine.span import Span, Tolerance
from seqc.machine.suppression import Suppression
from seqc.simulator import replay

BENCH = Supply("bench", 12_000, 4_000_000)
BOUNCING = replace(CARD, bounce_us=2_000, bounce_tolerance=Tolerance(1_000, 1_000))


def machine_of(*edits: str) -> Machine:
    text = f"{BOARD}tolerance 0 %\n"
    for old, new in zip(edits[::2], edits[1::2], strict=True):
        assert old in text
        text = text.replace(old, new, 1)
    findings = Findings()
    declared = read_text(text, "board.lanes", findings)
    assert not findings.reported, list(map(str, findings))
    assert declared is not None
    return declared.machine


def test_bounce_comes_before_the_opposite_polarity() -> None:
    """Release + bounce + 5 L/R (common practice, no source): 9 mH and 8.2 ohm decay in 5.488 ms."""
    coil = replace(SMALL, recover_us=0)
    drive = Drive(DriveKind.CHANGEOVER_PAIR, ("pick",), BENCH, BOUNCING)
    assert coil.decay_us == 5_488
    assert drive.gap(coil) == Span(6_488, 7_488, 8_488)
    assert replace(drive, switch=9).gap(coil) == Span(5_488, 5_488, 5_488)
    assert drive.gap_us(SMALL) == 60_000


@pytest.mark.parametrize(("start_ms", "faulty"), [(67.4, True), (67.5, False)])
def test_the_simulator_counts_it(start_ms: float, faulty: bool) -> None:
    """A pulse until 60 ms, then the other polarity, 7.488 ms later."""
    machine = with_relay(board([grid_of(1, 1)], selectors=(ROW,)))
    script = f"20 pick1.r1 rest\n{start_ms} pick1.r1 thrown"
    faults = {str(f.kind) for f in replay(machine, [written(machine, script, 300)]).faults}
    assert ("pulse-too-soon" in faults) == faulty


@pytest.mark.parametrize(("guard_ms", "faulty"), [(1.9, True), (2.0, False)])
def test_behind_a_pulse_switch_a_contact_settles_first(guard_ms: float, faulty: bool) -> None:
    machine = with_relay(board([grid_of(1, 1)], selectors=(ROW,), pulse_switch=True))
    actuator = next(each for each in machine.actuators if each.name == "drop.c1")
    switch, own = actuator.drive.switch, actuator.outputs[1]
    closed = 20 + CARD.operate_us / 1000
    script = (
        f"20 output {own} on\n{closed + guard_ms} output {switch} on\n"
        f"{closed + guard_ms + 40} output {switch} off\n120 output {own} off"
    )
    faults = {str(f.kind) for f in replay(machine, [written(machine, script, 300)]).faults}
    assert ("switched-under-load" in faults) == faulty


def with_relay(machine: Machine) -> Machine:
    """The machine with relays that bounce and coils that need no rest."""
    return replace(
        machine,
        actuators=tuple(
            replace(
                each,
                drive=replace(each.drive, relay=BOUNCING),
                part=replace(each.part, coil=replace(each.coil, recover_us=0)),
            )
            for each in machine.actuators
        ),
    )


def test_a_plain_release_time_is_asked_about() -> None:
    """A diode across the relay's own coil: about three times slower (relay makers' notes)."""
    (found,) = doubts(machine_of())
    assert found.code == "release-without-diode"
    assert "some 18 ms" in found.message
    for words, has in (("with diode", True), ("without diode", False)):
        machine = machine_of("release 6 ms", f"release 6 ms {words}")
        relay = machine.actuators[0].drive.relay
        assert relay is not None
        assert relay.has_diode is has
        assert relay.release_us == 6_000
        assert not doubts(machine)


def test_rc_bears_the_reversal() -> None:
    machine = machine_of("travel 18 ms", "travel 18 ms RC snubber")
    suppression = machine.gates[0].coil.suppression
    assert suppression is Suppression.RC
    assert suppression.bears_reversal
