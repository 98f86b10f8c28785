"""Times in words."""

from __future__ import annotations

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
    words: list[str] = []
    rest = time_us
    for unit, size_us in UNITS_US:
        count, rest = divmod(rest, size_us)
        if count:
            words.append(f"{count} {unit}")
        if words and (len(words) == 2 or not count):
            break
    return " ".join(words)
