"""Coils, relays, drives, outputs and supplies."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from seqc.machine.findings import NOWHERE, Place
from seqc.machine.lifetime import ASSUMED_SHAPE
from seqc.machine.span import EXACT, Span, Tolerance
from seqc.machine.suppression import Suppression
from seqc.machine.winding import REFERENCE_C, UNKNOWN_WINDING, Winding, warmth_factor
from seqc.machine.wire import Lead

MILLION = 1_000_000


def ceil_div(dividend: int, divisor: int) -> int:
    """The quotient of two whole numbers, rounded up."""
    return -(-dividend // divisor)


@dataclass(frozen=True, slots=True)
class Coil:
    """A latching coil and the pulse that moves it.

    A pulse is `pulse_us` long and never longer than `longest_us`; the part moves for `travel_us`
    from its start. The next pulse starts `recover_us` or more after the end of this one. What
    follows `place`, tolerances apart, is for the warnings and the forecast alone; lanes keep
    `magnet_clearance_um` away from its magnet. `tolerance_ppm` is that of the decay, which is
    computed.
    """

    name: str
    voltage_mv: int
    resistance_mohm: int
    pulse_us: int
    longest_us: int
    travel_us: int
    inductance_uh: int = 0
    recover_us: int = 0
    duty_ppm: int | None = None
    life: int | None = None
    place: Place = NOWHERE
    winding: Winding = UNKNOWN_WINDING
    lead: Lead | None = None
    suppression: Suppression | None = None
    magnet_clearance_um: int | None = None
    travel_tolerance: Tolerance = EXACT
    tolerance_ppm: int = 0
    life_shape: float = ASSUMED_SHAPE
    moment_uam2: int | None = None

    @property
    def travel(self) -> Span:
        """How long the part moves, from the start of the pulse."""
        return self.travel_tolerance.of(self.travel_us)

    @property
    def decay(self) -> Span:
        """How long the current decays once it is switched off."""
        return Tolerance.share(self.decay_us, self.tolerance_ppm).of(self.decay_us)

    @property
    def current_ua(self) -> int:
        """Voltage over resistance (Ohm's law), in microamperes, rounded up."""
        return ceil_div(self.voltage_mv * MILLION, self.resistance_mohm)

    @property
    def decay_us(self) -> int:
        """Five time constants L/R, after which less than 1 % of the current is left (e^-5)."""
        return ceil_div(5 * self.inductance_uh * 1000, self.resistance_mohm)


@dataclass(frozen=True, slots=True)
class Relay:
    """A changeover relay; its contact follows its output after `operate_us` and `release_us`.

    `contact_ua` is what its contact is rated for on a resistive load. Once it has moved it bounces
    for `bounce_us`. `has_diode` tells whether a diode stands across its own coil, with which a
    release takes about three times as long (relay makers' suppression notes): `release_us` counts
    with it; None where that isn't told. Its own coil draws `coil_ua` from `coil_supply` while its
    output is active.
    """

    name: str
    operate_us: int
    release_us: int
    contact_life: int | None = None
    mechanical_life: int | None = None
    place: Place = NOWHERE
    contact_ua: int | None = None
    bounce_us: int = 0
    operate_tolerance: Tolerance = EXACT
    release_tolerance: Tolerance = EXACT
    bounce_tolerance: Tolerance = EXACT
    coil_ua: int = 0
    coil_supply: Supply | None = None
    has_diode: bool | None = None
    contact_shape: float = ASSUMED_SHAPE
    mechanical_shape: float = ASSUMED_SHAPE

    @property
    def operate(self) -> Span:
        """From its output made active to its contact closed."""
        return self.operate_tolerance.of(self.operate_us)

    @property
    def release(self) -> Span:
        """From its output made inactive to its contact opened."""
        return self.release_tolerance.of(self.release_us)

    @property
    def bounce(self) -> Span:
        """From its contact's first touch to its last."""
        return self.bounce_tolerance.of(self.bounce_us)


@dataclass(frozen=True, slots=True)
class Bus:
    """A row of outputs. `first` is the number of its bit 0 among all outputs of the machine.

    Users count its outputs from `counted_from`; all else counts its bits from 0.
    """

    name: str
    bits: int
    first: int = 0
    shift_register: bool = False
    active_low: bool = False
    place: Place = NOWHERE
    counted_from: int = 0


@dataclass(frozen=True, slots=True)
class Supply:
    """A source of current; with `margin_ppm` on top, all that it feeds stays within `limit_ua`.

    Its voltage may be `voltage_tolerance_ppm` higher or lower, and the coldest air around its coils
    is `coldest_c`: then they draw most. All of them return by `common`, of whose two wires only one
    counts. `always_ua` is what a controller draws, `fuse_ua` the rating of the supply's fuse.
    """

    name: str
    voltage_mv: int
    limit_ua: int
    margin_ppm: int = 0
    place: Place = NOWHERE
    voltage_tolerance_ppm: int = 0
    coldest_c: float = REFERENCE_C
    common: Lead | None = None
    always_ua: int = 0
    fuse_ua: int | None = None

    @property
    def lowest_v(self) -> float:
        """The lowest voltage that it may have."""
        return self.voltage_mv / 1000 * (1 - self.voltage_tolerance_ppm / MILLION)

    @property
    def return_ohms(self) -> float:
        """The resistance of the common return."""
        return self.common.ohms / 2 if self.common else 0.0

    def peak_ua(self, coil: Coil) -> int:
        """The most that a coil draws: cold, at the highest voltage; rounded up."""
        cold = min(1.0, warmth_factor(self.coldest_c))
        if cold == 1.0 and not self.voltage_tolerance_ppm:
            return coil.current_ua
        highest = 1 + self.voltage_tolerance_ppm / MILLION
        return math.ceil(coil.current_ua * highest / cold)

    @property
    def usable_ua(self) -> int:
        """The most that all coils may draw at one time, rounded down.

        That is the limit less the margin, and less what a controller always draws.
        """
        return self.limit_ua * MILLION // (MILLION + self.margin_ppm) - self.always_ua


class DriveKind(Enum):
    """The switching parts that give a coil its two polarities."""

    CHANGEOVER_PAIR = "changeover pair"
    BRIDGE = "bridge"
    SHARED_REVERSER = "shared reverser"
    MATRIX = "matrix"

    @property
    def outputs_per_actuator(self) -> int:
        """How many outputs each actuator has, besides a reverser or a pulse switch.

        In a matrix it shares them with those of its row and those of its column.
        """
        match self:
            case DriveKind.SHARED_REVERSER:
                return 1
            case DriveKind.MATRIX:
                return 4
            case _:
                return 2

    @property
    def is_solid_state(self) -> bool:
        """Whether it has no relays, but a dead time."""
        return self in (DriveKind.BRIDGE, DriveKind.MATRIX)


@dataclass(frozen=True, slots=True)
class Drive:
    """How the actuators of some parts are switched.

    Changeover pair: two changeover relays of type `relay`, the coil between their common contacts;
    either one alone gives a polarity, none or both give no current. Bridge: two logic inputs, solid
    state, with `dead_us` between opposite polarities. Shared reverser: one double-pole relay of
    type `relay` on output `reverser` turns the rail for all (active: reverse), one relay for each
    coil connects it. Matrix: a coil at each crossing of rows and columns, solid state; a row has a
    high and a low switch on wires of their own, to which two diodes join its end of the coil, a
    column a half bridge, with `dead_us` between opposite polarities. On any of the others a pulse
    switch may stand in the rail: a solid-state switch on output `switch` without which no coil of
    the drive draws current; it closes after the contacts have settled and opens before they move;
    it follows its output after `turn_on_us` and `turn_off_us`. Outputs count from 0 over all buses.
    """

    kind: DriveKind
    parts: tuple[str, ...]
    supply: Supply
    relay: Relay | None = None
    dead_us: int = 0
    reverser: int | None = None
    switch: int | None = None
    place: Place = NOWHERE
    turn_on_us: int = 0
    turn_off_us: int = 0
    turn_on_tolerance: Tolerance = EXACT
    turn_off_tolerance: Tolerance = EXACT

    @property
    def lead(self) -> Span:
        """From an output made active to its contact closed; a bridge takes no time."""
        return self.relay.operate if self.relay else EXACT.of(0)

    @property
    def lag(self) -> Span:
        """From an output made inactive to its contact opened."""
        return self.relay.release if self.relay else EXACT.of(0)

    @property
    def turn_on(self) -> Span:
        """From the output of the pulse switch made active to the switch closed."""
        return self.turn_on_tolerance.of(self.turn_on_us)

    @property
    def turn_off(self) -> Span:
        """From the output of the pulse switch made inactive to the switch opened."""
        return self.turn_off_tolerance.of(self.turn_off_us)

    @property
    def starts(self) -> Span:
        """From the output that switches the current made active to the current."""
        return self.lead if self.switch is None else self.turn_on

    @property
    def stops(self) -> Span:
        """From the output that switches the current made inactive to its end."""
        return self.lag if self.switch is None else self.turn_off

    @property
    def bounce(self) -> Span:
        """From a contact's first touch to its last; solid state doesn't bounce."""
        return self.relay.bounce if self.relay else EXACT.of(0)

    @property
    def lead_us(self) -> int:
        """From an output made active to its contact closed."""
        return self.relay.operate_us if self.relay else 0

    @property
    def lag_us(self) -> int:
        """From an output made inactive to its contact opened."""
        return self.relay.release_us if self.relay else 0

    def gap(self, coil: Coil) -> Span:
        """The least time from the end of a pulse to the next pulse of the same coil.

        The current decays through a contact that bounces, unless a pulse switch has cut it before.
        """
        asked, decay = max(coil.recover_us, self.dead_us), coil.decay
        if self.relay and self.switch is None:
            decay += self.relay.bounce
        return Span(
            max(asked, decay.least_us), max(asked, decay.nominal_us), max(asked, decay.most_us)
        )

    def gap_us(self, coil: Coil) -> int:
        """The nominal gap."""
        return self.gap(coil).nominal_us
