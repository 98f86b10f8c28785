"""What a coil does when it is hot, as text for people and for JSON."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Any

from seqc.machine.hot import HotCoil
from seqc.report.words import folded


def coil_lines(coils: Iterable[HotCoil]) -> Iterator[str]:
    """Two lines for each type of coil: its margin when hot, and what holding it on does."""
    for hot in coils:
        yield from folded(f"  coil {hot.actuator.coil.name}: {margin_words(hot)}", hang=2)
        yield from folded(f"    held on: {held_words(hot)}", hang=2)


def margin_words(hot: HotCoil) -> str:
    """What a hot coil still draws, and by how much that exceeds its pull-in."""
    draws = f"at {hot.hot_c:.0f} C {hot.share:.0%} of its current, {hot.current_a:.3g} A"
    if hot.margin is None or hot.travel_us is None:
        return f"{draws}; pull-in margin unknown, since no `pull in` is told"
    margin = math.floor(hot.margin * 100)
    if math.isinf(hot.travel_us):
        return f"{draws}; pull-in margin {margin} %: it doesn't move"
    return f"{draws}; pull-in margin {margin} %, travel some {hot.travel_us / 1000:.3g} ms"


def held_words(hot: HotCoil) -> str:
    """How long it bears being held on, and what could save it."""
    limit = hot.actuator.coil.winding.limit_c
    if hot.held_s is None:
        return "how long it bears that is unknown without its `winding mass` and `insulation class`"
    if math.isinf(hot.held_s):
        return f"it stays below the {limit} C of its class"
    words = f"past the {limit} C of its class after {_seconds(hot.held_s)}"
    return f"{words}; {_fuse(hot)}"


def _fuse(hot: HotCoil) -> str:
    supply = hot.actuator.drive.supply
    needed = (
        "fit a fuse for each coil, a thermal cut-off, or a timer that drops the rail, and an "
        "emergency stop that cuts coils and not logic"
    )
    if supply.fuse_ua is None:
        return needed
    blown = hot.fuse_s
    if blown is not None and hot.held_s is not None and blown <= hot.held_s:
        return f"the fuse of {supply.name} has blown by then"
    fuse = f"the {supply.fuse_ua / 1e6:g} A fuse of {supply.name}"
    late = "never blows for it" if blown is None else f"may take {_seconds(blown)}"
    return f"{fuse} {late}: {needed}"


def _seconds(seconds: float) -> str:
    """A time that is promised, rounded down."""
    return f"{math.floor(seconds * 10) / 10:g} s" if seconds < 10 else f"{math.floor(seconds)} s"


def coil_document(hot: HotCoil) -> dict[str, Any]:
    """The same for JSON; what is never is null, and so is what isn't known."""
    return {
        "coil": hot.actuator.coil.name,
        "supply": hot.actuator.drive.supply.name,
        "hot_c": hot.hot_c,
        "current_a": hot.current_a,
        "pull_in_margin": hot.margin,
        "travel_us": _finite(hot.travel_us),
        "held_s": _finite(hot.held_s),
        "fuse_blows_s": hot.fuse_s,
    }


def _finite(value: float | None) -> float | None:
    return None if value is None or math.isinf(value) else value
