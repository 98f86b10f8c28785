"""Times, energies and prices in words, with as many digits as a person uses."""

from __future__ import annotations

from math import floor

HOURS_A_DAY = 24
TWENTY_FOUR_HOURS_US = 86_400_000_000
JOULES_A_WH = 3600

UNITS_US = (
    ("d", 86_400_000_000),
    ("h", 3_600_000_000),
    ("min", 60_000_000),
    ("s", 1_000_000),
)


def spoken(time_us: int) -> str:
    """A time in its two largest units, the rest cut off: `2 d 7 h`, `33 min`, `0.25 s`."""
    if time_us < 60_000_000:
        return f"{time_us / 1_000_000:.3g} s"
    if time_us == TWENTY_FOUR_HOURS_US:
        return "24 h"
    words: list[str] = []
    rest = time_us
    for unit, size_us in UNITS_US:
        count, rest = divmod(rest, size_us)
        if count:
            words.append(f"{count} {unit}")
        if words and (len(words) == 2 or not count):
            break
    return " ".join(words)


def lived(hours: float | None) -> str:
    """A life in hours or, from three days on, in days; it is promised, so rounded down."""
    if hours is None:
        return "never"
    if hours < 3 * HOURS_A_DAY:
        return f"{floor(hours * 10) / 10:,.1f} h"
    return f"{floor(hours / HOURS_A_DAY * 10) / 10:,.1f} d"


def energy(joules: float) -> str:
    """An energy in three digits: `5.29 J`, `141 Wh`, `51.3 kWh`."""
    watt_hours = joules / JOULES_A_WH
    if watt_hours < 0.1:
        return f"{joules:.3g} J"
    return f"{digits(watt_hours)} Wh" if watt_hours < 1000 else f"{digits(watt_hours / 1000)} kWh"


def priced(cost: float) -> str:
    """A cost with two places, or, where it is less than one, with two digits."""
    return f"{cost:,.2f}" if cost >= 1 else f"{cost:.2g}"


def digits(value: float) -> str:
    """A figure in three digits, or in as many as it has before the point."""
    return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"
