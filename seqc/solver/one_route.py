"""One route for each kind, where needs come in more ways than a search can look at.

Every choice of a route a kind is tried, up to `MOST_CHOICES`, and the one stays that takes the
fewest passes and then pulses as a greedy order counts them. The same glyph always comes to the same
choice, so the end of one plan of it can be met by another.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice, product
from typing import TypeVar

from seqc.solver.positions import UNKNOWN, Positions

MOST_CHOICES = 64

Kind = TypeVar("Kind")
Route = TypeVar("Route")

Wanted = Mapping[int, Positions]
"""What each gate wants, by the index of its actuator."""


def choices(routes: Mapping[Kind, Sequence[Route]]) -> Iterator[Mapping[Kind, Route]]:
    """Every choice of one route for each kind."""
    several = islice(product(*routes.values()), MOST_CHOICES)
    return (dict(zip(routes, chosen, strict=True)) for chosen in several)


def cheapest(options: Iterable[Wanted]) -> Wanted | None:
    """The option with the fewest passes and pulses by a greedy order, None if there is none."""
    return min(options, key=lambda wanted: _greedy_cost(wanted.values()), default=None)


def _greedy_cost(wanted: Iterable[Positions]) -> tuple[int, int]:
    """The passes and pulses of passes filled first fit, always the nearest one next."""
    left = _filled(wanted)
    count, pulses, at = len(left), 0, UNKNOWN
    while left:
        nearest = min(left, key=lambda hold: at.missing(hold).bit_count())
        left.remove(nearest)
        pulses += at.missing(nearest).bit_count()
        at = at.then(nearest)
    return count, pulses


def _filled(wanted: Iterable[Positions]) -> list[Positions]:
    """What each pass holds, where each want goes into the first one that it agrees with."""
    passes: list[Positions] = []
    for want in dict.fromkeys(wanted):
        for number, hold in enumerate(passes):
            if hold.meet(want):
                passes[number] = hold.then(want)
                break
        else:
            passes.append(want)
    return passes
