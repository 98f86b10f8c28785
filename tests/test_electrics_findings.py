"""Warnings about coils, contacts and supplies say by how much each falls short."""

import re
from dataclasses import replace

import pytest
from boards import board, grid_of

from seqc.machine.duty import DutyUse, coil_states, supply_states
from seqc.machine.electric_findings import electric_findings
from seqc.machine.electrics import Coil, DriveKind, Relay
from seqc.machine.findings import Finding, Place, Severity
from seqc.machine.model import Machine
from seqc.machine.suppression import Suppression
from seqc.machine.winding import Winding
from seqc.machine.wire import Lead

PLACE = Place("board.lanes", 7, 1)
COIL = Coil("test", 12_000, 8_000, 40_000, 80_000, 18_000, 8_000, 60_000, place=PLACE)
HOUR_US = 3_600_000_000
FALLS_SHORT = {"over-current", "over-duty", "over-heat", "diode-across-supply"}


def machine_of(coil: Coil = COIL, relay: Relay | None = None, **options: object) -> Machine:
    """A board of one cell in which every actuator has the same coil."""
    machine = board([grid_of(1, 1)], **options)  # type: ignore[arg-type]
    drive = machine.actuators[0].drive
    drive = replace(drive, relay=relay or drive.relay)
    actuators = tuple(
        replace(actuator, part=replace(actuator.part, coil=coil), drive=drive)
        for actuator in machine.actuators
    )
    return replace(machine, actuators=actuators)


def use_of(machine: Machine, pulses: int = 1, **options: object) -> DutyUse:
    counts = (pulses,) * len(machine.actuators)
    return DutyUse(HOUR_US, counts, **options)  # type: ignore[arg-type]


def only(findings: tuple[Finding, ...]) -> Finding:
    (finding,) = findings
    falls_short = finding.code in FALLS_SHORT
    assert finding.severity is (Severity.ERROR if falls_short else Severity.WARNING)
    assert finding.hint
    return finding


def test_a_sound_machine_has_no_findings() -> None:
    machine = machine_of()
    assert electric_findings(machine, use_of(machine)) == ()


def test_pull_in_that_leads_eat_up() -> None:
    # 12 V over 8 ohm is 1.5 A cold; at 40 C copper has 274.5/254.5 of its resistance (IEC 60028).
    coil = replace(COIL, winding=Winding(pull_in_ua=1_350_000))
    assert electric_findings(machine_of(coil), use_of(machine_of(coil))) == ()
    thin = replace(coil, lead=Lead.of_gauge(28, 2_000))
    machine = machine_of(thin)
    finding = only(electric_findings(machine, use_of(machine)))
    reached = 12 / (8 * 274.5 / 254.5 + 4 * 0.21287)
    assert finding.code == "no-pull-in"
    assert finding.place == PLACE
    assert f"reaches {reached:.3g} A" in finding.message
    assert f"{1.35 - reached:.3g} A short" in finding.message


def test_pull_in_later_than_the_travel() -> None:
    slow = replace(COIL, inductance_uh=100_000, winding=Winding(pull_in_ua=1_200_000))
    machine = machine_of(slow)
    finding = only(electric_findings(machine, use_of(machine)))
    assert finding.code == "late-pull-in"
    found = re.search(r"after ([\d.]+) ms, ([\d.]+) ms after the 18 ms", finding.message)
    assert found
    assert float(found[1]) - float(found[2]) == pytest.approx(18, abs=0.1)


def test_duty_says_by_how_much() -> None:
    # 18,000 pulses of 40 ms in an hour are 20 % of the time.
    machine = machine_of(replace(COIL, duty_ppm=150_000))
    finding = only(electric_findings(machine, use_of(machine, 18_000)))
    assert finding.code == "over-duty"
    assert "20.00% of the time, 5.00% more than the 15.00%" in finding.message
    # Voltage as 1/sqrt(d) (common practice): sqrt(0.15/0.20) is 87 %.
    assert "87%" in finding.hint


def test_twice_the_voltage_allows_a_quarter_of_the_duty() -> None:
    coil = replace(COIL, voltage_mv=6_000, resistance_mohm=8_000, duty_ppm=400_000)
    machine = machine_of(coil)
    codes = {finding.code for finding in electric_findings(machine, use_of(machine, 9_001))}
    assert codes == {"over-voltage", "over-duty"}
    codes = {finding.code for finding in electric_findings(machine, use_of(machine, 8_999))}
    assert codes == {"over-voltage"}


def test_steady_heat_against_the_thermal_class() -> None:
    hot = replace(COIL, winding=Winding(thermal_class="A", rise_mk_per_w=30_000))
    machine = machine_of(hot)
    use = use_of(machine, 22_500)
    finding = only(electric_findings(machine, use))
    assert finding.code == "over-heat"
    settled = coil_states(machine, use)[0].steady_c
    assert settled is not None
    assert f"settles at {settled:.0f} C, {settled - 105:.0f} K over the 105 C" in finding.message
    # In the balance the warm coil's power times its rise for each watt is its rise; of 40 ms,
    # the current needs about one constant of 1 ms to come up.
    power = 12**2 / (8 * (settled + 234.5) / 254.5) * 22_500 * 0.039 / 3600
    assert settled - 40 == pytest.approx(30 * power, rel=1e-3)


def test_heat_inferred_from_rated_duty() -> None:
    # Beyond its rated duty a coil without inductance is also beyond its class.
    coil = replace(COIL, inductance_uh=0, duty_ppm=100_000, winding=Winding(thermal_class="B"))
    machine = machine_of(coil)
    assert electric_findings(machine, use_of(machine, 8_999)) == ()
    codes = {finding.code for finding in electric_findings(machine, use_of(machine, 9_001))}
    assert codes == {"over-duty", "over-heat"}


def test_one_long_pulse_that_overheats() -> None:
    winding = Winding(copper_mg=1_000, thermal_class="Y", rise_mk_per_w=10_000)
    machine = machine_of(replace(COIL, longest_us=2_000_000, winding=winding))
    finding = only(electric_findings(machine, use_of(machine)))
    assert finding.code == "pulse-heat"
    # About 33 J into 1 g of copper at 385 J/(kg K) are some 87 K.
    assert "from 40 C to 127 C, 37 K over the 90 C" in finding.message


def test_a_plain_diode_across_a_reversed_coil() -> None:
    machine = machine_of(replace(COIL, suppression=Suppression.DIODE))
    finding = only(electric_findings(machine, use_of(machine)))
    assert finding.code == "diode-across-supply"
    assert "bidirectional" in finding.hint
    bridge = machine_of(replace(COIL, suppression=Suppression.DIODE), kind=DriveKind.BRIDGE)
    assert "four diodes" in only(electric_findings(bridge, use_of(bridge))).hint


@pytest.mark.parametrize("kept", [kind for kind in Suppression if kind is not Suppression.DIODE])
def test_suppression_that_bears_reversal(kept: Suppression) -> None:
    machine = machine_of(replace(COIL, suppression=kept))
    assert electric_findings(machine, use_of(machine)) == ()


def test_contacts_switch_half_of_what_they_carry() -> None:
    # Makers rate contacts on an inductive direct current at about half the resistive rating.
    relay = Relay("card", 10_000, 6_000, contact_ua=2_000_000, place=PLACE)
    machine = machine_of(relay=relay)
    finding = only(electric_findings(machine, use_of(machine)))
    assert finding.code == "over-contact"
    assert "draws 1.5 A" in finding.message
    assert "0.5 A more than the 1 A" in finding.message


def test_a_pulse_switch_spares_the_contacts() -> None:
    relay = Relay("card", 10_000, 6_000, contact_ua=2_000_000, place=PLACE)
    machine = machine_of(relay=relay, pulse_switch=True)
    assert electric_findings(machine, use_of(machine)) == ()


def test_supply_over_its_limit() -> None:
    # 1.2 A less 20 % of margin leaves 1 A.
    machine = machine_of(limit_ua=1_200_000)
    finding = only(electric_findings(machine, use_of(machine)))
    assert finding.code == "over-current"
    assert "asked for 1.5 A, 0.5 A more than the 1 A" in finding.message
    peak = use_of(machine, peak_ua={"bench": 3_000_000})
    assert "asked for 3 A, 2 A more" in only(electric_findings(machine, peak)).message


# SELV and PELV of IEC 60364-4-41 (from memory): 60 V d.c., and 30 V d.c. where it may be wet.
@pytest.mark.parametrize(
    ("volts", "words"),
    [
        (30, None),
        (31, "31 V, 1 V more than may be touched where it may be wet"),
        (60, "60 V, 30 V more than may be touched where it may be wet"),
        (72, "72 V, 12 V more than may be touched"),
    ],
)
def test_supply_beyond_touchable_voltage(volts: int, words: str | None) -> None:
    machine = machine_of(replace(COIL, voltage_mv=volts * 1000, resistance_mohm=80_000))
    supply = replace(machine.supplies[0], voltage_mv=volts * 1000)
    drive = replace(machine.actuators[0].drive, supply=supply)
    actuators = tuple(replace(actuator, drive=drive) for actuator in machine.actuators)
    machine = replace(machine, supplies=(supply,), actuators=actuators)
    found = electric_findings(machine, use_of(machine))
    if words is None:
        assert found == ()
        return
    finding = only(found)
    assert finding.code == "high-voltage"
    assert finding.message.endswith(words)
    assert "60 V d.c., and 30 V d.c. where it may be wet" in finding.hint


def test_supply_mean_and_effective_current() -> None:
    machine = machine_of(replace(COIL, inductance_uh=0))
    use = use_of(machine, 9_000)
    (state,) = supply_states(machine, use)
    actuators = len(machine.actuators)
    assert state.mean_a == pytest.approx(1.5 * 0.1 * actuators)
    # All at different times: the mean of i^2 is 1.5^2 for a tenth of the time each.
    assert state.effective_a == pytest.approx((1.5**2 * 0.1 * actuators) ** 0.5)


def test_alike_coils_are_reported_once_by_the_hardest_used() -> None:
    machine = machine_of(replace(COIL, duty_ppm=10_000))
    busy = len(machine.actuators) - 1
    use = DutyUse(HOUR_US, (1_000,) * busy + (2_000,))
    assert machine.actuators[busy].name in only(electric_findings(machine, use)).message
