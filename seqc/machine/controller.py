"""The controller that plays the step tables."""

from __future__ import annotations

from dataclasses import dataclass

from seqc.machine.findings import NOWHERE, Place

ASSUMED_CLOCK_PPM = 5_000
"""The tolerance of a clock of which nothing is told: a ceramic resonator (common practice, no
source)."""


@dataclass(frozen=True, slots=True)
class Controller:
    """What is known of a controller.

    Its clock goes at `clock_mhz` thousandths of a hertz, and at most `clock_ppm` faster or slower:
    that stretches all times of a step table alike. It draws `draws_ua` from `supply`.
    """

    clock_ppm: int = 0
    clock_mhz: int | None = None
    place: Place = NOWHERE
    draws_ua: int = 0
    supply: str = ""


EXACT_CONTROLLER = Controller()
