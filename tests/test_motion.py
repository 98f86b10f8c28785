"""Rolling and falling against figures from mechanics."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seqc.machine.motion import (
    GRAVITY,
    Groove,
    Plane,
    Rails,
    Surface,
    fall_us,
    friction_needed,
    roll_us,
)

RADIUS = 8_000
FAR = 10**12

slopes = st.integers(1_000, 89_000)
lengths = st.integers(1_000, 5_000_000)


def factor(surface: Surface) -> float:
    """The acceleration over g sin t, from the time over a way so long that rounding is nothing."""
    seconds = roll_us(FAR, 30_000, surface, RADIUS) / 1e6
    return 2 * (FAR / 1e6) / seconds**2 / (GRAVITY * math.sin(math.radians(30)))


# t = sqrt(2 s / a) with a = 5/7 g sin t: OpenStax, University Physics 1, section 11.1.
@pytest.mark.parametrize(
    "angle_mdeg, seconds", [(5_000, 0.8094), (10_000, 0.5735), (15_000, 0.4697), (30_000, 0.3379)]
)
def test_sphere_on_a_plane_takes_the_published_time(angle_mdeg: int, seconds: float) -> None:
    assert roll_us(200_000, angle_mdeg, Plane(), None) / 1e6 == pytest.approx(seconds, abs=6e-5)


# The effective rolling radius of a sphere on two contacts; computed by hand from
# 1 / (1 + 0.4 R^2 / r^2) with R = 8 mm. Method: OpenStax, University Physics 1, section 11.1.
@pytest.mark.parametrize(
    "surface, published",
    [
        (Plane(), 0.714286),
        (Rails(8_000), 0.65217),
        (Rails(12_000), 0.52239),
        (Groove(90_000), 0.5556),
        (Groove(60_000), 0.3846),
        (Groove(120_000), 0.6522),
        (Groove(180_000), 0.7143),
    ],
)
def test_surface_slows_the_sphere_by_the_published_factor(
    surface: Surface, published: float
) -> None:
    assert factor(surface) == pytest.approx(published, abs=6e-5)


# t = sqrt(2 h / g), standard gravity of the 3rd CGPM, 1901.
@pytest.mark.parametrize(
    "height_um, seconds",
    [(50_000, 0.10098), (100_000, 0.14281), (500_000, 0.31933), (1_000_000, 0.45160)],
)
def test_free_fall_takes_the_published_time(height_um: int, seconds: float) -> None:
    assert fall_us(height_um) / 1e6 == pytest.approx(seconds, abs=6e-6)


# 2/7 tan t: from the derivation in OpenStax, University Physics 1, section 11.1.
@given(slopes)
def test_friction_on_a_plane_is_two_sevenths_of_the_slope(angle_mdeg: int) -> None:
    expected = 2 / 7 * math.tan(math.radians(angle_mdeg / 1000))
    assert friction_needed(angle_mdeg, Plane(), None) == pytest.approx(expected)


def test_friction_in_a_groove_is_what_the_balance_of_forces_asks() -> None:
    """90 deg groove on a 45 deg slope, worked by hand: k = 0.8, N = sqrt(2) m g cos t."""
    assert friction_needed(45_000, Groove(90_000), None) == pytest.approx(0.8 / 1.8 / math.sqrt(2))


def test_nothing_rolls_down_a_wall_without_slipping() -> None:
    assert friction_needed(90_000, Plane(), None) == math.inf


@given(lengths, slopes)
def test_times_are_rounded_up_and_never_by_a_whole_microsecond(length: int, slope: int) -> None:
    exact = math.sqrt(2 * length / (5 / 7 * GRAVITY * math.sin(math.radians(slope / 1000)) / 1e6))
    assert -1e-6 * exact <= roll_us(length, slope, Plane(), None) - exact < 1 + 1e-6 * exact


@given(lengths, slopes, st.integers(1, 2 * RADIUS - 1))
def test_rails_never_speed_an_item_up(length: int, slope: int, width: int) -> None:
    plane = roll_us(length, slope, Plane(), RADIUS)
    assert roll_us(length, slope, Rails(width), RADIUS) >= plane > fall_us(length)


@pytest.mark.parametrize(
    "length_um, angle_mdeg, surface, radius_um, message",
    [
        (0, 9_000, Plane(), None, "a way must be longer than zero, not 0 mm"),
        (-5, 9_000, Plane(), None, "a way must be longer than zero"),
        (9, 0, Plane(), None, "rolls at more than 0 and at most 90 deg, not 0 deg"),
        (9, 90_001, Plane(), None, "at most 90 deg, not 90.001 deg"),
        (9, 9_000, Rails(5_000), None, "rails needs the diameter"),
        (9, 9_000, Rails(16_000), RADIUS, "16 mm falls through rails that are 16 mm apart"),
        (9, 9_000, Rails(0), RADIUS, "rails must be apart, not 0 mm"),
        (9, 9_000, Groove(0), None, "at most 180 deg, not 0 deg"),
        (9, 9_000, Groove(180_001), None, "not 180.001 deg"),
    ],
)
def test_impossible_geometry_is_refused(
    length_um: int, angle_mdeg: int, surface: Surface, radius_um: int | None, message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        roll_us(length_um, angle_mdeg, surface, radius_um)


def test_a_fall_needs_a_height() -> None:
    with pytest.raises(ValueError, match="longer than zero"):
        fall_us(0)
