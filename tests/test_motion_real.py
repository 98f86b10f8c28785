"""Motion as it is: resistance, a start with speed, the fall before the slope, drag, bounces."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from malformed import BOARD

from seqc.language import read_text
from seqc.machine.findings import Findings
from seqc.machine.motion import GRAVITY, Fall, Groove, Plane, Slope, fall_us, roll_us
from seqc.machine.parts import Path
from seqc.machine.pull import Ball, Pull
from seqc.report.check_text import path_words


def path_of(course: str, item: str = "tone dark") -> Path:
    """The first path of the board with a course and an item of one's own."""
    text = BOARD.replace("falls in 300 ms", course, 1).replace("tone dark", item, 1)
    findings = Findings()
    declared = read_text(f"{text}tolerance 0 %\n", "board.lanes", findings)
    assert not findings.reported, list(map(str, findings))
    assert declared is not None
    return declared.machine.lanes[0].paths[0]


@pytest.mark.parametrize(("resistance_ppm", "ms"), [(0, 287.0), (10_000, 294.0), (20_000, 301.6)])
def test_rolling_resistance(resistance_ppm: int, ms: float) -> None:
    """60 mm at 12 deg, a = 5/7 g (sin t - c cos t): by hand from the balance of energies."""
    slope = Slope(60_000, 12_000, Plane(), resistance_ppm=resistance_ppm)
    angle = math.radians(12)
    by_hand = 5 / 7 * 9.80665 * (math.sin(angle) - resistance_ppm / 1e6 * math.cos(angle))
    assert slope.time_us / 1e6 == pytest.approx(math.sqrt(2 * 0.06 / by_hand), abs=2e-6)
    assert slope.time_us / 1000 == pytest.approx(ms, abs=0.06)


def test_resistance_that_holds_an_item() -> None:
    """Tan 9 deg is 0.158: more resistance than that and it stays."""
    assert Slope(60_000, 9_000, Plane(), resistance_ppm=158_000).time_us > 3_000_000
    with pytest.raises(ValueError, match="holds it on a slope of 9 deg"):
        _ = Slope(60_000, 9_000, Plane(), resistance_ppm=159_000).time_us


def test_a_start_with_speed() -> None:
    """60 mm at 12 deg from 0.1 m/s: s = v t + a t^2 / 2 gives 226 ms."""
    slope = Slope(60_000, 12_000, Plane(), start_um_s=100_000)
    t = slope.time_us / 1e6
    a = 5 / 7 * 9.80665 * math.sin(math.radians(12))
    assert 0.1 * t + a * t * t / 2 == pytest.approx(0.06, abs=1e-6)
    assert slope.time_us / 1000 == pytest.approx(226, abs=0.5)


def test_a_fall_before_the_slope_leaves_no_speed_or_what_it_can() -> None:
    """8 mm take 40.4 ms and end at 0.396 m/s; 12 deg and slipping leave 5/7 sin 12 of that."""
    slope = Slope(60_000, 12_000, Plane(), head_um=8_000)
    head = math.sqrt(2 * 0.008 / 9.80665)
    assert slope.time_us == pytest.approx(287_049 + head * 1e6, abs=2)
    kept = 9.80665 * head * math.sin(math.radians(12)) * 5 / 7
    assert kept == pytest.approx(0.0588, abs=1e-4)
    quick = Slope(60_000, 12_000, Plane(), start_um_s=round(kept * 1e6))
    assert slope.least_us == pytest.approx(quick.time_us + head * 1e6, abs=3)


def integrated(pull: Callable[[float], float], start: float, length: float) -> float:
    """The time for a length under dv/dt = pull(v), by steps of Runge and Kutta."""
    v, s, t, step = start, 0.0, 0.0, 1e-5
    while s < length:
        k1 = pull(v)
        k2 = pull(v + step / 2 * k1)
        k3 = pull(v + step / 2 * k2)
        k4 = pull(v + step * k3)
        after = v + step / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
        s += step * (v + after) / 2
        v, t = after, t + step
    return t - (s - length) / v


@pytest.mark.parametrize(("acceleration", "start", "terminal"), [(9.8, 0, 8.6), (1.5, 0.3, 0.9)])
def test_drag_against_the_integral(acceleration: float, start: float, terminal: float) -> None:
    pull = Pull(acceleration, start, terminal)
    by_steps = integrated(lambda v: acceleration * (1 - (v / terminal) ** 2), start, 0.5)
    assert pull.time_s(0.5) == pytest.approx(by_steps, abs=2e-5)
    assert pull.speed_m_s(0.5) < terminal


def test_drag_of_light_balls() -> None:
    """A hollow ball of 2.7 g and 40 mm is 4.4 % late after 2 m, a glass one of 16 mm hardly at all.

    For short ways the time grows by g s / (6 w^2), w the terminal speed: 8.63 m/s for the first.
    """
    hollow = Ball(2_700, 40_000)
    assert hollow.terminal_m_s(GRAVITY) == pytest.approx(8.63, abs=0.01)
    late = Fall(2_000_000, hollow).time_us / fall_us(2_000_000)
    assert late == pytest.approx(1 + 9.80665 * 2 / (6 * 8.63**2), abs=2e-3)
    assert Fall(500_000, Ball(5_400, 16_000)).time_us / fall_us(500_000) < 1.002
    far = Fall(100_000_000, Ball(10, 20_000)).time_us / 1e6
    assert far == pytest.approx(100 / Ball(10, 20_000).terminal_m_s(GRAVITY), rel=0.02)


@pytest.mark.parametrize(("e", "ms"), [(0.35, 119), (0.5, 221), (0.7, 516)])
def test_bounces_are_a_geometric_series(e: float, ms: float) -> None:
    """After a fall of 60 mm: 2 e t / (1 - e)."""
    bounces, t = Fall(60_000).bounces_us(round(e * 1e6)), fall_us(60_000)
    assert bounces == pytest.approx(2 * e * t / (1 - e), abs=10)
    assert bounces / 1000 == pytest.approx(ms, abs=0.6)
    each, total = 2 * t * e, 0.0
    while each > 0.1:
        total, each = total + each, each * e
    assert bounces == pytest.approx(total, abs=12)


def test_bounces_on_a_slope_last_as_its_pull_lets_them() -> None:
    slope = Slope(60_000, 12_000, Groove(90_000))
    t = roll_us(60_000, 12_000, Groove(90_000), None)
    assert slope.bounces_us(500_000) == pytest.approx(2 * t, abs=4)


def test_a_path_takes_its_settling_time_from_the_bounce() -> None:
    path = path_of("fall 60 mm", "tone dark bounce 0.5")
    assert path.settle_us == Fall(60_000).bounces_us(500_000)
    assert path_of("fall 60 mm settle 300 ms", "tone dark bounce 0.5").settle_us == 300_000
    assert path_of("falls in 60 ms", "tone dark bounce 0.5").settle_us == 0


def test_the_slowest_item_counts_and_the_quickest_is_the_least() -> None:
    light = path_of("fall 2 m", "tone dark diameter 40 mm mass 2.7 g")
    assert light.fall.most_us == light.fall_us == Fall(2_000_000, Ball(2_700, 40_000)).time_us
    assert light.fall.least_us == fall_us(2_000_000)


def test_ideal_times_are_told_as_such() -> None:
    ideal = path_of("roll 60 mm at 12 deg")
    assert "from rest, ideal: real ones take longer" in path_words(ideal)
    for course in (
        "roll 60 mm at 12 deg resistance 0.01",
        "roll 60 mm at 12 deg start speed 100 mm/s",
        "roll 60 mm at 12 deg first falls 8 mm",
        "falls in 300 ms",
    ):
        assert "ideal" not in path_words(path_of(course))
    assert path_of("roll 60 mm at 12 deg resistance 0.01").fall_us == 294_049
    assert path_of("fall 60 mm").is_ideal
