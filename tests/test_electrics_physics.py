"""Formulas of wire, winding, coil current and fuse against figures published elsewhere."""

import math
import shutil
import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seqc.machine.fuse import fuse_advice, preferred_rating_a
from seqc.machine.transient import Circuit
from seqc.machine.winding import (
    CLASS_LIMIT_C,
    adiabatic_rate_k_per_s,
    adiabatic_rise_k,
    allowed_voltage_ratio,
    rated_rise_k_per_w,
    rise_by_resistance_k,
    steady_c,
    warmth_factor,
)
from seqc.machine.wire import Lead, gauge_area_mm2, gauge_diameter_mm, ohms_per_km

COILS = st.builds(
    Circuit, st.floats(1, 50), st.floats(0.5, 100), st.floats(1e-4, 1.0, exclude_min=True)
)


# Published AWG table: solid copper at 20 C, ohm per km.
@pytest.mark.parametrize(
    "gauge,ohms",
    [(18, 20.94), (20, 33.29), (22, 52.94), (24, 84.20), (26, 133.86), (28, 212.87)],
)
def test_wire_resistance_follows_the_published_table(gauge: int, ohms: float) -> None:
    assert ohms_per_km(gauge_area_mm2(gauge)) == pytest.approx(ohms, rel=0.005)


def test_gauge_36_is_five_thousandths_of_an_inch() -> None:
    # ASTM B258 defines 36 as 0.005 in and 0000 as 0.46 in (from memory).
    assert gauge_diameter_mm(36) == pytest.approx(0.127)
    assert gauge_diameter_mm(-3) == pytest.approx(11.684, rel=1e-4)


def test_leads_count_there_and_back() -> None:
    # 33.29 ohm/km from the published AWG table: 3 m of cable are 6 m of wire.
    assert Lead.of_gauge(20, 3_000).ohms == pytest.approx(6 * 33.29e-3, rel=0.005)


# 1 - exp(-n), OpenStax University Physics 2, 14.4.
@pytest.mark.parametrize(
    "constants,percent", [(1, 63.212), (2, 86.466), (3, 95.021), (4, 98.168), (5, 99.326)]
)
def test_current_rises_with_the_time_constant(constants: int, percent: float) -> None:
    coil = Circuit(12.0, 8.2, 9e-3)
    reached = coil.current_a(constants * coil.constant_s) / coil.final_a
    assert reached * 100 == pytest.approx(percent, abs=5e-4)


def test_rise_example() -> None:
    # OpenStax University Physics 2, 14.4 (from memory): 2.0 V, 4.0 ohm, 4.0 H.
    coil = Circuit(2.0, 4.0, 4.0)
    assert coil.constant_s == 1.0
    assert coil.current_a(2.0) == pytest.approx(0.4323, abs=5e-5)
    assert coil.stored_j(2.0) == pytest.approx(0.3738, abs=5e-5)


def test_decay_example() -> None:
    # OpenStax College Physics, 23.10: 7.50 mH, 3.00 ohm, 10.0 A, 5.00 ms.
    coil = Circuit(0.0, 3.00, 7.50e-3)
    assert coil.constant_s == pytest.approx(2.50e-3)
    assert coil.decayed_a(10.0, 5.00e-3) == pytest.approx(1.35, abs=5e-3)


@given(COILS, st.floats(0.01, 0.99))
def test_a_current_is_reached_when_it_says(coil: Circuit, share: float) -> None:
    seconds = coil.reaches_s(share * coil.final_a)
    assert seconds is not None
    assert coil.current_a(seconds) == pytest.approx(share * coil.final_a)


def test_a_current_beyond_ohms_law_is_never_reached() -> None:
    assert Circuit(12.0, 8.0, 9e-3).reaches_s(1.5) is None


@given(COILS, st.floats(0.05, 20.0))
def test_energy_is_kept(coil: Circuit, constants: float) -> None:
    # What the supply gives is in the field or has become heat (R times the integral of i^2).
    pulse_s = constants * coil.constant_s
    heat_j = coil.ohms * coil.i2t_a2s(pulse_s)
    assert coil.supplied_j(pulse_s) == pytest.approx(heat_j + coil.stored_j(pulse_s), rel=1e-6)


def test_i2t_agrees_with_a_sum_over_small_steps() -> None:
    coil = Circuit(12.0, 5.6, 14e-3)
    steps = 20_000
    step_s = 60e-3 / steps
    summed = sum(coil.current_a((n + 0.5) * step_s) ** 2 for n in range(steps)) * step_s
    assert coil.i2t_a2s(60e-3) == pytest.approx(summed, rel=1e-6)


def test_without_inductance_the_current_is_there_at_once() -> None:
    coil = Circuit(12.0, 8.0, 0.0)
    assert coil.current_a(0.001) == 1.5
    assert coil.supplied_j(0.1) == pytest.approx(1.8)
    assert coil.i2t_a2s(0.1) == pytest.approx(0.225)


@pytest.mark.skipif(shutil.which("ngspice") is None, reason="needs Debian's ngspice")
def test_transient_agrees_with_a_circuit_simulator(tmp_path: Path) -> None:
    # 12 V, 60 ms, through 0.4 ohm of leads; then the coil is shorted through them.
    times_ms = (1, 2, 5, 10, 30, 59.9, 61, 63, 66)
    measures = "\n".join(f"meas tran i{n} find i(L1) at={t}m" for n, t in enumerate(times_ms))
    deck = f"""a pulsed coil
V1 in 0 pulse(0 12 0 1n 1n 60m 1)
Rlead in mid 0.4
Rcoil mid end 5.6
L1 end 0 14m
.control
tran 10u 70m 0 10u
{measures}
.endc
.end
"""
    path = tmp_path / "coil.cir"
    path.write_text(deck)
    run = subprocess.run(
        ["ngspice", "-b", str(path)], capture_output=True, text=True, timeout=60, check=False
    )
    pairs = (line.split("=") for line in run.stdout.splitlines() if line[:1] == "i" and "=" in line)
    seen = {name.strip(): float(value.split()[0]) for name, value in pairs}
    coil = Circuit(12.0, 6.0, 14e-3)
    for n, at_ms in enumerate(times_ms):
        top_a = coil.current_a(min(at_ms, 60) / 1000)
        expected = coil.decayed_a(top_a, max(at_ms - 60, 0) / 1000)
        assert seen[f"i{n}"] == pytest.approx(expected, rel=0.01)


def test_hot_resistance() -> None:
    # Computed from IEC 60028's 234.5: 12.000 ohm at 20 C is 14.829 ohm at 80 C.
    assert 12.000 * warmth_factor(80.0) == pytest.approx(14.829, abs=5e-4)
    # IEC 60028: 0.00393 per kelvin at 20 C.
    assert warmth_factor(21.0) - 1 == pytest.approx(0.00393, abs=1e-6)


def test_rise_by_resistance() -> None:
    # The form of IEC 60034-1 and IEC 61558: t1 20 C, 80 to 100 ohm.
    assert rise_by_resistance_k(80.0, 100.0) == pytest.approx(63.63, abs=6e-3)


def test_adiabatic_rise() -> None:
    # J^2 rho / (c d) at 10 A/mm2.
    assert adiabatic_rate_k_per_s(10.0) == pytest.approx(0.5037, abs=5e-5)
    # The same through the mass: 1 m of 1 mm2 is 8.89 g, and 10 A through it make 1.7241 W.
    assert adiabatic_rise_k(1.7241, 8.89e-3) == pytest.approx(0.5037, abs=5e-5)


def test_thermal_classes() -> None:
    # IEC 60085.
    assert CLASS_LIMIT_C == {"Y": 90, "A": 105, "E": 120, "B": 130, "F": 155, "H": 180}


@given(st.floats(0.01, 50.0), st.floats(0.5, 50.0), st.floats(-20.0, 60.0))
def test_steady_temperature_balances(cold_w: float, k_per_w: float, ambient_c: float) -> None:
    settled = steady_c(cold_w, k_per_w, ambient_c)
    assert settled - ambient_c == pytest.approx(k_per_w * cold_w / warmth_factor(settled), rel=1e-6)


@given(st.floats(0.5, 100.0), st.floats(0.01, 1.0), st.sampled_from(sorted(CLASS_LIMIT_C)))
def test_a_coil_at_its_rated_duty_just_meets_its_class(
    cold_w: float, duty: float, letter: str
) -> None:
    limit = CLASS_LIMIT_C[letter]
    rise = rated_rise_k_per_w(cold_w, duty, limit)
    assert steady_c(cold_w * duty, rise) == pytest.approx(limit)


def test_duty_rule() -> None:
    # Common practice, no source: power as 1/d, voltage as 1/sqrt(d).
    assert allowed_voltage_ratio(1.0, 0.25) == pytest.approx(2.0)
    assert allowed_voltage_ratio(0.10, 0.40) == pytest.approx(0.5)


def test_fuse_for_repeated_pulses() -> None:
    # Fuse makers' guides: a pulse seen 100,000 times is at most 22 % of the melting I2t.
    advice = fuse_advice(1.0, 0.22)
    assert advice.melting_a2s == pytest.approx(1.0)
    # 1 A steady over 75 % (common practice) is 1.33 A; the next R10 step is 1.6 A.
    assert advice.rating_a == pytest.approx(1.6)


@pytest.mark.parametrize("current_a", [1e-6, 0.02, 0.0315])
def test_no_fuse_is_smaller_than_the_smallest_that_is_made(current_a: float) -> None:
    # IEC 60127-2 (from memory): time-lag fuses begin at 32 mA.
    assert preferred_rating_a(current_a) == pytest.approx(0.0315)


@given(st.floats(0.032, 90.0))
def test_a_preferred_rating_is_the_next_one_up(current_a: float) -> None:
    rating = preferred_rating_a(current_a)
    # Neighbours in R10 are 10^(1/10) apart, within their rounding.
    assert current_a * (1 - 1e-9) <= rating <= current_a * math.pow(10, 0.1) * 1.02
