"""How long an item takes to roll or to fall, and the friction it needs so that it doesn't slip.

An item is a solid sphere of radius R that starts from rest. On a plane it turns about an axis at
the distance R from the surface; between two rails or in a groove the contacts lie on both sides,
and the axis is nearer to the line between them: at the effective rolling radius r = R s, where
s is 1 on a plane, sqrt(R^2 - w^2/4) / R on rails with w between their points of contact, and
sin(f/2) in a groove of full angle f. With the sphere's moment of inertia I = 2/5 m R^2, rolling
without slipping on a slope t gives a = g sin t / (1 + I/(m r^2)) (OpenStax, University Physics 1,
section 11.1), and the way from rest takes sqrt(2 length / a).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

GRAVITY = 9.80665
"""Standard gravity in m/s^2 (3rd CGPM, 1901)."""

SPHERE = 2 / 5
"""Moment of inertia of a solid sphere over m R^2."""

RIGHT_ANGLE_MDEG = 90_000
STRAIGHT_ANGLE_MDEG = 180_000
MICRO = 1_000_000


@dataclass(frozen=True, slots=True)
class Plane:
    """A flat surface."""


@dataclass(frozen=True, slots=True)
class Rails:
    """Two rails; `width_um` is the distance between the lines on which they bear the item."""

    width_um: int


@dataclass(frozen=True, slots=True)
class Groove:
    """A V-groove; `angle_mdeg` is the full angle between its sides, in thousandths of a degree."""

    angle_mdeg: int


Surface = Plane | Rails | Groove


@dataclass(frozen=True, slots=True)
class Slope:
    """A way that items roll; only rails need the radius of the item."""

    length_um: int
    angle_mdeg: int
    surface: Surface
    radius_um: int | None = None

    @property
    def time_us(self) -> int:
        """See `roll_us`."""
        return roll_us(self.length_um, self.angle_mdeg, self.surface, self.radius_um)

    @property
    def friction(self) -> float:
        """See `friction_needed`."""
        return friction_needed(self.angle_mdeg, self.surface, self.radius_um)


def roll_us(length_um: int, angle_mdeg: int, surface: Surface, radius_um: int | None) -> int:
    """The time in which a sphere rolls down a slope from rest, in microseconds, rounded up.

    `length_um` is measured along the slope, `angle_mdeg` from the horizontal. Only rails need the
    radius. Raises ValueError where nothing can roll.
    """
    _require_length(length_um)
    slope = _slope(angle_mdeg)
    acceleration = GRAVITY * math.sin(slope) / (1 + _inertia(_reach(surface, radius_um)))
    return _from_rest_us(length_um, acceleration)


def fall_us(height_um: int) -> int:
    """The time of a free fall from rest, in microseconds, rounded up.

    Raises ValueError unless the height is above zero.
    """
    _require_length(height_um)
    return _from_rest_us(height_um, GRAVITY)


def friction_needed(angle_mdeg: int, surface: Surface, radius_um: int | None) -> float:
    """The least coefficient of friction with which a sphere rolls and doesn't slip.

    With k = I/(m r^2), the friction that turns the sphere is m g sin t k/(1 + k). The contacts
    press with m g cos t / s in all, since they stand aslant on rails and in a groove; so
    mu >= s tan t k/(1 + k), which on a plane is 2/7 tan t (derived from Newton's second law as the
    cylinder is in OpenStax, University Physics 1, section 11.1). Raises ValueError as `roll_us`.
    """
    slope = _slope(angle_mdeg)
    reach = _reach(surface, radius_um)
    inertia = _inertia(reach)
    if angle_mdeg == RIGHT_ANGLE_MDEG:
        return math.inf
    return reach * math.tan(slope) * inertia / (1 + inertia)


def _from_rest_us(length_um: int, acceleration: float) -> int:
    return math.ceil(math.sqrt(2 * length_um * MICRO / acceleration))


def _inertia(reach: float) -> float:
    """I/(m r^2) of a solid sphere whose effective rolling radius is `reach` times its radius."""
    return SPHERE / reach**2


def _reach(surface: Surface, radius_um: int | None) -> float:
    """The effective rolling radius over the radius."""
    match surface:
        case Rails(width_um):
            return _reach_on_rails(width_um, radius_um)
        case Groove(angle_mdeg):
            return _reach_in_groove(angle_mdeg)
        case Plane():
            return 1.0


def _reach_on_rails(width_um: int, radius_um: int | None) -> float:
    if radius_um is None:
        raise ValueError("rolling on rails needs the diameter of the item")
    if width_um <= 0:
        raise ValueError(f"rails must be apart, not {width_um / 1000:g} mm")
    if width_um >= 2 * radius_um:
        raise ValueError(
            f"an item of {2 * radius_um / 1000:g} mm falls through rails"
            f" that are {width_um / 1000:g} mm apart"
        )
    return math.sqrt(1 - (width_um / (2 * radius_um)) ** 2)


def _reach_in_groove(angle_mdeg: int) -> float:
    if not 0 < angle_mdeg <= STRAIGHT_ANGLE_MDEG:
        raise ValueError(
            f"the sides of a groove meet at more than 0 and at most 180 deg,"
            f" not {angle_mdeg / 1000:g} deg"
        )
    return math.sin(math.radians(angle_mdeg / 1000) / 2)


def _slope(angle_mdeg: int) -> float:
    if not 0 < angle_mdeg <= RIGHT_ANGLE_MDEG:
        raise ValueError(
            f"an item rolls at more than 0 and at most 90 deg, not {angle_mdeg / 1000:g} deg"
        )
    return math.radians(angle_mdeg / 1000)


def _require_length(length_um: int) -> None:
    if length_um <= 0:
        raise ValueError(f"a way must be longer than zero, not {length_um / 1000:g} mm")
