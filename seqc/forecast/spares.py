"""Life as statistics: when the first of all parts fails, which one, and the spares for a time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from seqc.forecast.wear import PartWear
from seqc.machine.lifetime import HALF, TENTH, Lifetime, enough, first_failure_h

CHANCE = 0.9
HOUR_US = 3_600_000_000


@dataclass(frozen=True, slots=True)
class FirstFailure:
    """When the first of all parts fails: within `tenth_h` with 10 %, within `half_h` with 50 %.

    At the latter time it is `part` with `chance`, more than any other part.
    """

    tenth_h: float
    half_h: float
    part: str
    chance: float


@dataclass(frozen=True, slots=True)
class Spare:
    """One type of part: how many are in use, how many fail in the time, on average and at most.

    `enough` is exceeded with one chance in ten. A tenth of the most used of them has failed after
    `interval_h`: time to exchange them.
    """

    kind: str
    parts: int
    mean: float
    enough: int
    interval_h: float


def lifetime_of(part: PartWear) -> Lifetime | None:
    """The life of a part in hours; None for one at rest."""
    return None if part.hours is None else Lifetime(part.hours, part.shape)


def first_failure(parts: Iterable[PartWear]) -> FirstFailure | None:
    """The first failure of all parts, None where none is used."""
    lives = [(part, life) for part in parts if (life := lifetime_of(part))]
    counts: dict[Lifetime, int] = {}
    for _, life in lives:
        counts[life] = counts.get(life, 0) + 1
    tenth, half = first_failure_h(counts, TENTH), first_failure_h(counts, HALF)
    if tenth is None or half is None:
        return None
    likeliest, life = max(lives, key=lambda entry: entry[1].hazard(half))
    return FirstFailure(tenth, half, likeliest.part, life.hazard(half) / HALF)


def spares(parts: Sequence[PartWear], duration_us: int) -> tuple[Spare, ...]:
    """What must be at hand of each type of part for a time, those that fail most often first."""
    hours = duration_us / HOUR_US
    kinds: dict[str, list[Lifetime]] = {}
    for part in parts:
        life = lifetime_of(part)
        if life is not None:
            kinds.setdefault(part.replacement, []).append(life)
    means: dict[Lifetime, float] = {}
    found = []
    for kind, lives in kinds.items():
        for life in lives:
            if life not in means:
                means[life] = life.renewals(hours)
        mean = sum(means[life] for life in lives)
        interval = min(life.b10_h for life in lives)
        found.append(Spare(kind, len(lives), mean, enough(mean, CHANCE), interval))
    return tuple(sorted(found, key=lambda spare: (-spare.mean, spare.kind)))
