"""How long an item takes to roll or to fall, and the friction it needs so that it doesn't slip.

An item is a solid sphere of radius R that starts from rest. On a plane it turns about an axis at
the distance R from the surface; between two rails or in a groove the contacts lie on both sides,
and the axis is nearer to the line between them: at the effective rolling radius r = R s, where
s is 1 on a plane, sqrt(R^2 - w^2/4) / R on rails with w between their points of contact, and
sin(f/2) in a groove of full angle f. With the sphere's moment of inertia I = 2/5 m R^2, rolling
without slipping on a slope t gives a = g sin t / (1 + I/(m r^2)) (OpenStax, University Physics 1,
section 11.1), and the way from rest takes sqrt(2 length / a). What makes real items slower, and
what comes at the end of their way, is in `pull`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from seqc.machine.pull import Ball, Pull

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
    """A way that items roll; only rails need the radius of the item.

    The item first falls `head_um` from its gate, then starts at `start_um_s` (micrometres a
    second). `resistance_ppm` is the slope on which it would just keep its speed. `ball` is the item
    where its drag counts.
    """

    length_um: int
    angle_mdeg: int
    surface: Surface
    radius_um: int | None = None
    resistance_ppm: int = 0
    start_um_s: int = 0
    head_um: int = 0
    ball: Ball | None = None

    @property
    def time_us(self) -> int:
        """The time from the gate, in microseconds, rounded up; the fall leaves it no speed."""
        return self._time_us(self.start_um_s / MICRO)

    @property
    def least_us(self) -> int:
        """The time of an item that keeps what it can of the speed with which it falls.

        It lands with the part of that speed along the slope and slips until it rolls, when
        1/(1 + k) of it is left, k = I/(m r^2): friction turns it by an impulse at its contact.
        """
        fallen = math.sqrt(2 * GRAVITY * self.head_um / MICRO)
        kept = fallen * math.sin(_slope(self.angle_mdeg)) / (1 + self._inertia)
        return self._time_us(max(kept, self.start_um_s / MICRO))

    @property
    def is_ideal(self) -> bool:
        """Whether nothing is told that makes a real item roll otherwise than in theory."""
        return not (self.resistance_ppm or self.start_um_s or self.head_um)

    @property
    def friction(self) -> float:
        """See `friction_needed`."""
        return friction_needed(self.angle_mdeg, self.surface, self.radius_um)

    def bounces_us(self, restitution_ppm: int) -> int:
        """How long it bounces at the end until it lies still, in microseconds, rounded up."""
        pull = self._pull(self.start_um_s / MICRO)
        return _bounces_us(pull, self.length_um, restitution_ppm)

    @property
    def _inertia(self) -> float:
        return _inertia(_reach(self.surface, self.radius_um))

    def _time_us(self, start: float) -> int:
        _require_length(self.length_um)
        head = math.sqrt(2 * self.head_um / MICRO / GRAVITY)
        return math.ceil((head + self._pull(start).time_s(self.length_um / MICRO)) * MICRO)

    def _pull(self, start: float) -> Pull:
        """The pull g (sin t - c cos t) / (1 + I/(m r^2)), by the balance of energies."""
        slope = _slope(self.angle_mdeg)
        force = GRAVITY * (math.sin(slope) - self.resistance_ppm / MICRO * math.cos(slope))
        if force <= 0:
            raise ValueError(
                f"a rolling resistance of {self.resistance_ppm / MICRO:g} holds it on a slope of"
                f" {self.angle_mdeg / 1000:g} deg"
            )
        terminal = self.ball.terminal_m_s(force) if self.ball else None
        return Pull(force / (1 + self._inertia), start, terminal)


@dataclass(frozen=True, slots=True)
class Fall:
    """A way that items fall; `ball` is the item where its drag counts."""

    height_um: int
    ball: Ball | None = None

    @property
    def time_us(self) -> int:
        """The time from rest, in microseconds, rounded up."""
        _require_length(self.height_um)
        return math.ceil(self._pull.time_s(self.height_um / MICRO) * MICRO)

    @property
    def least_us(self) -> int:
        """The same: nothing makes it quicker."""
        return self.time_us

    @property
    def is_ideal(self) -> bool:
        """Whether the air is left out."""
        return self.ball is None

    def bounces_us(self, restitution_ppm: int) -> int:
        """How long it bounces at the end until it lies still, in microseconds, rounded up."""
        return _bounces_us(self._pull, self.height_um, restitution_ppm)

    @property
    def _pull(self) -> Pull:
        return Pull(GRAVITY, 0.0, self.ball.terminal_m_s(GRAVITY) if self.ball else None)


Course = Slope | Fall


def _bounces_us(pull: Pull, length_um: int, restitution_ppm: int) -> int:
    return math.ceil(pull.bounces_s(length_um / MICRO, restitution_ppm / MICRO) * MICRO)


def roll_us(length_um: int, angle_mdeg: int, surface: Surface, radius_um: int | None) -> int:
    """The time in which a sphere rolls down a slope from rest, in microseconds, rounded up.

    `length_um` is measured along the slope, `angle_mdeg` from the horizontal. Only rails need the
    radius. Raises ValueError where nothing can roll.
    """
    return Slope(length_um, angle_mdeg, surface, radius_um).time_us


def fall_us(height_um: int) -> int:
    """The time of a free fall from rest, in microseconds, rounded up.

    Raises ValueError unless the height is above zero.
    """
    return Fall(height_um).time_us


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
