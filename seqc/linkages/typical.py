"""Parts of the size that small boards have, for whatever a machine file doesn't tell yet.

The figures are invented, as are those of the examples; a data sheet's belong in their place.
"""

from __future__ import annotations

from collections.abc import Sequence

LINKAGES = {"selector": "per row", "gate": "per column"}
"""The plain linkage of selectors and metering gates; a further gate is one for the whole grid."""

WHOLE = "whole grid"

SETTINGS = {
    "selector": {"coil": "coil small", "settle": "settle 8 ms"},
    "gate": {"coil": "coil small", "open": "open 45 ms", "refill": "refill 60 ms"},
}
"""What is put into the block of a part that lacks a coil or a time that it must have."""

COIL = "12 V  15 ohm  9 mH  pulse 30 ms  max pulse 60 ms  travel 16 ms  minimum off 30 ms"
RELAY = "operate 8 ms  release 5 ms"
SUPPLY = "12 V  limit 8 A  margin 20 %"
TOLERANCE = "tolerance 5 %"
BITS = 1_024
"""The most that a bus can have: a mark for one whose bits nobody has counted yet."""


def path(source: str, target: str) -> str:
    """A path between two stations."""
    still = "  settle 90 ms" if target == "shown" else ""
    return f"path {source} -> {target} {{ roll 60 mm at 12 deg{still} }}"


def feed(items: Sequence[str], names: Sequence[str]) -> str:
    """A tree of selectors as level as can be that offers so many items, at least two."""
    left = list(names)

    def tree(some: Sequence[str]) -> str:
        if len(some) == 1:
            return some[0]
        name, half = left.pop(0), (len(some) + 1) // 2
        return f"{name}({tree(some[:half])}, {tree(some[half:])})"

    return tree(items)
