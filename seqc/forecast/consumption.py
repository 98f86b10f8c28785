"""How many items of one kind a run takes in its first frames, and how far a stock goes."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate

from seqc.forecast.usage import Draw, FrameUse, Run


@dataclass(frozen=True)
class Consumption:
    """Items of one kind, added up over the frames that come once and over one cycle.

    Entry n of `intro` and of `cycle` is what the first n frames take; each begins with 0.
    """

    intro: tuple[int, ...]
    cycle: tuple[int, ...]

    @property
    def cycle_frames(self) -> int:
        """How many frames a cycle has."""
        return len(self.cycle) - 1

    def needed(self, frames: int) -> int:
        """How many items the first frames take; a run that ends takes no more after its end."""
        once = len(self.intro) - 1
        if frames <= once or not self.cycle_frames:
            return self.intro[min(frames, once)]
        turns, rest = divmod(frames - once, self.cycle_frames)
        return self.intro[-1] + turns * self.cycle[-1] + self.cycle[rest]

    def frames_covered(self, stock: int) -> int | None:
        """How many frames a stock is enough for, without return; None when it never runs out."""
        if stock < self.intro[-1]:
            return bisect_right(self.intro, stock) - 1
        if not self.cycle[-1]:
            return None
        turns, rest = divmod(stock - self.intro[-1], self.cycle[-1])
        within = bisect_right(self.cycle, rest) - 1
        return len(self.intro) - 1 + turns * self.cycle_frames + within


def consumption(run: Run) -> dict[str, Consumption]:
    """What a run takes of each kind, by its name."""
    counted = {use: _kinds(use) for use in dict.fromkeys(run.frames)}
    kinds = sorted({kind for counts in counted.values() for kind in counts})
    return {
        kind: Consumption(_sums(kind, run.intro, counted), _sums(kind, run.cycle, counted))
        for kind in kinds
    }


def _sums(
    kind: str, frames: Sequence[FrameUse], counted: dict[FrameUse, Counter[str]]
) -> tuple[int, ...]:
    return tuple(accumulate((counted[use][kind] for use in frames), initial=0))


def _kinds(use: FrameUse) -> Counter[str]:
    return sum((_of_draw(draw) for draw in use.draws), Counter())


def _of_draw(draw: Draw) -> Counter[str]:
    kinds: Iterable[str] = (kind for kind in draw.kinds if kind is not None)
    return Counter(kinds)
