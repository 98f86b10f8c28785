"""Hot coils: what they draw, how late they move, how long they last; and all the current."""

from __future__ import annotations

import math
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from boards import CARD, GRID, LARGE, ROW, board, grid_of
from handwritten import written
from malformed import BOARD

from seqc.language import read_text
from seqc.machine.duty import DutyUse, supply_states
from seqc.machine.electrics import Coil, Relay, Supply
from seqc.machine.findings import Findings
from seqc.machine.fuse import PULSES, FuseAdvice, fuse_advice
from seqc.machine.hot import blows_s, held_s, hot_circuit, hot_coil, hot_coils, hot_findings
from seqc.machine.model import Machine
from seqc.machine.span import Tolerance
from seqc.machine.winding import ZERO_RESISTANCE_K, Winding
from seqc.machine.wire import Lead
from seqc.machine.wiring import Actuator
from seqc.report.coil_text import coil_lines
from seqc.simulator import replay

COIL = Coil(
    "test",
    12_000,
    15_000,
    30_000,
    60_000,
    16_000,
    winding=Winding(pull_in_ua=250_000, copper_mg=14_000, thermal_class="B"),
)
BENCH = Supply("bench", 12_000, 4_000_000)


def actuator_of(coil: Coil = COIL, supply: Supply = BENCH) -> Actuator:
    actuator = board([grid_of(1, 1)]).actuators[0]
    drive = replace(actuator.drive, supply=supply)
    return replace(actuator, part=replace(actuator.part, coil=coil), drive=drive)


def machine_with(text: str, *edits: str) -> Machine:
    whole = BOARD
    for old, new in zip(edits[::2], edits[1::2], strict=True):
        assert old in whole
        whole = whole.replace(old, new, 1)
    findings = Findings()
    declared = read_text(f"{whole}tolerance 0 %\n{text}", "board.lanes", findings)
    assert not findings.reported, list(map(str, findings))
    assert declared is not None
    return declared.machine


def test_a_hot_coil_draws_less() -> None:
    """IEC 60028: 254.5 / 331.5 = 77 % of the current at 97 C, 70 % at 130 C."""
    assert hot_coil(actuator_of(), 97.0).share == pytest.approx(0.7677, abs=1e-4)
    assert hot_coil(actuator_of(), 130.0).share == pytest.approx(0.6982, abs=1e-4)


def test_a_hot_coil_moves_later() -> None:
    """By hand: 0.8 A cold, 0.6142 A at 97 C, pull-in 0.25 A: sqrt(0.55 / 0.3642) = 1.229."""
    hot = hot_coil(actuator_of(), 97.0)
    assert hot.margin == pytest.approx(0.6142 / 0.25 - 1, abs=1e-3)
    assert hot.travel_us == pytest.approx(16_000 * 1.229, rel=1e-3)


def test_what_tolerance_covers_is_not_told() -> None:
    hot = hot_coil(actuator_of(), 97.0)
    (finding,) = hot_findings([hot])
    assert finding.code == "hot-travel"
    assert "77% of its current" in finding.message
    assert "some 19.7 ms" in finding.message
    assert "declared are 16 ms at most" in finding.message
    wide = replace(COIL, travel_tolerance=Tolerance(4_000, 4_000))
    assert not list(hot_findings([hot_coil(actuator_of(wide), 97.0)]))


def test_a_coil_that_is_too_hot_to_move_is_told() -> None:
    weak = replace(COIL, winding=Winding(pull_in_ua=620_000))
    hot = hot_coil(actuator_of(weak), 97.0)
    assert hot.travel_us == math.inf
    (finding,) = hot_findings([hot])
    assert "doesn't reach its pull-in current" in finding.message
    assert "pull-in margin -1 %" in next(coil_lines([hot]))


def test_the_return_that_all_share_takes_from_each() -> None:
    """10 m of AWG 20 are 0.333 ohm (published table); the others draw 4 - 0.8 A through it."""
    supply = replace(BENCH, common=Lead.of_gauge(20, 10_000))
    loop = hot_circuit(actuator_of(supply=supply), 20.0)
    assert supply.return_ohms == pytest.approx(0.3329, rel=5e-3)
    assert loop.volts == pytest.approx(12 - 3.2 * 0.3329, abs=0.01)
    assert loop.final_a == pytest.approx((12 - 3.2 * 0.3329) / 15.333, rel=2e-3)


@pytest.mark.skipif(shutil.which("ngspice") is None, reason="needs Debian's ngspice")
def test_the_common_return_agrees_with_a_circuit_simulator(tmp_path: Path) -> None:
    """One hot coil beside a load of 3.2 A, both through 0.333 ohm on their way back."""
    supply = replace(BENCH, common=Lead.of_gauge(20, 10_000))
    actuator = actuator_of(replace(COIL, inductance_uh=9_000), supply)
    loop = hot_circuit(actuator, 97.0)
    ohms = 15 * (97 + 234.5) / 254.5
    deck = f"""a coil beside others
V1 in 0 12
Rcoil in mid {ohms}
L1 mid back 9m ic=0
I1 in back 3.2
Rback back 0 {supply.return_ohms}
.control
tran 10u 20m 0 10u uic
meas tran early find i(L1) at=0.5m
meas tran late find i(L1) at=19m
.endc
.end
"""
    path = tmp_path / "return.cir"
    path.write_text(deck)
    run = subprocess.run(
        ["ngspice", "-b", str(path)], capture_output=True, text=True, timeout=60, check=False
    )
    lines = [line.split() for line in run.stdout.splitlines()]
    seen = {words[0]: words[2] for words in lines if words[1:2] == ["="]}
    assert float(seen["late"]) == pytest.approx(loop.final_a, rel=1e-3)
    assert float(seen["early"]) == pytest.approx(loop.current_a(0.5e-3), rel=5e-3)


def test_how_long_a_coil_bears_being_held_on() -> None:
    """All heat in 14 g of copper (385 J/kg K), 12 V over 15 ohm at 20 C, from 40 to 130 C.

    Without leads m c / V^2 R20 (364.5^2 - 274.5^2) / (2 254.5): 63.5 s. At the 9.6 W of a cold coil
    it would be 50.5 s.
    """
    by_hand = 0.014 * 385 / 144 * 15 * (364.5**2 - 274.5**2) / (2 * 254.5)
    assert by_hand == pytest.approx(63.4, abs=0.1)
    assert held_s(actuator_of(), 40.0) == pytest.approx(by_hand, rel=1e-9)
    assert pytest.approx(50.5, abs=0.1) == 0.014 * 385 * 90 / 9.6


def test_held_on_with_leads_against_the_integral() -> None:
    coil = replace(COIL, lead=Lead.of_gauge(28, 5_000))
    actuator = actuator_of(coil)
    assert coil.lead is not None
    celsius, seconds, step = 40.0, 0.0, 0.001
    while celsius < 130:
        ohms = 15 * (celsius + ZERO_RESISTANCE_K) / 254.5
        watts = (12 / (ohms + coil.lead.ohms)) ** 2 * ohms
        celsius += watts * step / (0.014 * 385)
        seconds += step
    assert held_s(actuator, 40.0) == pytest.approx(seconds, rel=1e-3)


def test_a_coil_that_is_made_to_be_held_on_stays_within_its_class() -> None:
    cool = replace(COIL, winding=replace(COIL.winding, rise_mk_per_w=8_000))
    assert held_s(actuator_of(cool), 40.0) == math.inf
    hot = replace(COIL, winding=replace(COIL.winding, rise_mk_per_w=20_000))
    assert held_s(actuator_of(hot), 40.0) == pytest.approx(63.4, abs=0.1)
    assert held_s(actuator_of(replace(COIL, winding=Winding(copper_mg=1))), 40.0) is None


def words_of(actuator: Actuator) -> str:
    """What is told of a coil at 97 C, on one line."""
    return " ".join(" ".join(coil_lines([hot_coil(actuator, 97.0)])).split())


def test_a_fuse_for_all_does_not_blow_for_one() -> None:
    """IEC 60127-2, time-lag (from memory): twice its rating for two minutes, below it perhaps."""
    assert blows_s(0.8, 2.0) is None
    assert blows_s(4.2, 2.0) == 120.0
    assert blows_s(8.0, 2.0) == 3.0
    fused = replace(BENCH, fuse_ua=2_000_000)
    held = words_of(actuator_of(supply=fused))
    assert "past the 130 C of its class after 63 s" in held
    assert "the 2 A fuse of bench never blows for it: fit a fuse for each coil" in held
    small = replace(BENCH, fuse_ua=125_000)
    held = words_of(actuator_of(supply=small))
    assert "has blown by then" in held


def test_cold_air_and_a_high_voltage_make_the_peak() -> None:
    """At 0 C copper has 234.5 / 254.5 of its resistance: 8.5 % more current; 5 % more voltage."""
    machine = machine_with("air { 0 C to 45 C }\n", "12 V limit", "12 V +- 5 % limit")
    (supply,) = machine.supplies
    assert (supply.coldest_c, machine.hottest_c) == (0.0, 45.0)
    assert machine.actuators[0].peak_ua == math.ceil(1_500_000 * 1.05 * 254.5 / 234.5)
    assert supply.lowest_v == pytest.approx(11.4)
    warm = machine_with("air { 25 C to 45 C }\n")
    assert warm.actuators[0].peak_ua == warm.actuators[0].coil.current_ua


LOGIC = "supply logic { 5 V limit 2 A }\ncontroller { clock 16 MHz draws 60 mA on logic }\n"


def test_relays_and_the_controller_draw_from_their_supply() -> None:
    machine = machine_with(LOGIC, "release 6 ms }", "release 6 ms coil 5 V 72 mA }")
    bench, logic = machine.supplies
    relay = machine.actuators[0].drive.relay
    assert relay is not None
    assert relay.coil_supply == logic
    assert machine.actuators[0].drive.supply == bench
    assert logic.usable_ua == 1_940_000
    use = DutyUse(3_600_000_000, (1,) * len(machine.actuators), {"logic": 10 * 72_000})
    _, state = supply_states(machine, use)
    assert state.peak_a == pytest.approx(0.78)
    # Each relay is on for 40 ms and for the 4 ms by which it takes longer to operate.
    relays_a = len(machine.actuators) * 0.072 * 0.044 / 3600
    assert state.mean_a == pytest.approx(0.06 + relays_a)


def test_the_simulator_counts_the_coils_of_relays() -> None:
    logic = Supply("logic", 5_000, 150_000)
    machine = board([grid_of(2, 3)], selectors=(ROW,))
    relay = replace(CARD, coil_ua=72_000, coil_supply=logic)
    actuators = tuple(
        replace(each, drive=replace(each.drive, relay=relay)) for each in machine.actuators
    )
    fed = replace(machine, supplies=(*machine.supplies, logic), actuators=actuators)
    two = "20 drop.c1 rest\n20 drop.c2 rest"
    assert replay(fed, [written(fed, two, 200)]).faults == ()
    (fault,) = replay(fed, [written(fed, f"{two}\n60 drop.c3 rest", 200)]).faults
    assert str(fault.kind) == "overload"
    assert "draw 0.216 A; supply logic gives 0.150 A" in fault.what
    # The third relay is told to close 10 ms before its pulse, while the first two still hold.
    assert fault.at_us == 50_000


def test_pulses_that_leave_a_fuse_no_time_to_cool_add_up() -> None:
    """22 % of the melting I2t for 100,000 pulses, 10 s apart (fuse makers' guides)."""
    machine = board([grid_of(1, 1)])
    use = DutyUse(10_000_000, (1,) * len(machine.actuators), burst_a2s={"bench": 4.4})
    (state,) = supply_states(machine, use)
    assert state.pulse_a2s == pytest.approx(4.4)
    advice = fuse_advice(state.effective_a, state.pulse_a2s)
    assert advice.melting_a2s == pytest.approx(20.0)
    assert f"for {PULSES:,} bursts with 10 s to cool" in str(advice)


def test_the_hottest_of_each_type_counts() -> None:
    machine = board([grid_of(1, 2)], selectors=(GRID,))
    hot = replace(LARGE, duty_ppm=100_000, winding=Winding(thermal_class="B"))
    actuators = tuple(
        replace(each, part=replace(each.part, coil=hot)) if each.coil.name == "large" else each
        for each in machine.actuators
    )
    machine = replace(machine, actuators=actuators)
    pulses = tuple(range(len(actuators)))
    found = {each.actuator.coil.name: each for each in hot_coils(machine, DutyUse(10**6, pulses))}
    assert set(found) == {"small", "large"}
    assert found["large"].hot_c > 60
    assert isinstance(actuators[0].drive.relay, Relay)


@pytest.mark.parametrize(
    ("melting_a2s", "words"), [(0.0, "0"), (0.1801, "0.19"), (1.9, "1.9"), (446.0, "450")]
)
def test_what_a_fuse_must_melt_at_is_rounded_up(melting_a2s: float, words: str) -> None:
    assert FuseAdvice(1.0, melting_a2s).words.endswith(f"at least {words} A2s")
