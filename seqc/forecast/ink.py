"""Which kind is best to draw which part of the pictures, so that the scarce kind lasts longest."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from seqc.forecast.consumption import Consumption, consumption
from seqc.forecast.usage import Run
from seqc.machine.model import Machine

Assignment = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class InkAdvice:
    """Pairs of a kind as drawn and the kind that best takes its place.

    The frames that the stock is enough for, without return, as drawn and so exchanged; None when
    it never runs out.
    """

    exchange: Assignment
    frames_as_drawn: int | None
    frames_exchanged: int | None

    @property
    def helps(self) -> bool:
        """Whether exchanging kinds makes the stock last longer."""
        return self.frames_as_drawn is not None and self.frames_as_drawn != self.frames_exchanged


def ink_advice(machine: Machine, run: Run) -> InkAdvice | None:
    """The best exchange among the kinds that are drawn; None if a stock isn't declared.

    A number of frames can be kept up when the sorted needs are within the sorted stocks, one by
    one; the greatest such number is found by bisection, and the order at that number is best.
    """
    taken = consumption(run)
    kinds = [item for item in machine.items if item.name in taken]
    if not kinds or any(item.stock is None for item in kinds):
        return None
    stocks = {item.name: item.stock or 0 for item in kinds}
    covered = [taken[kind].frames_covered(stock) for kind, stock in stocks.items()]
    as_drawn = min((frames for frames in covered if frames is not None), default=None)
    if as_drawn is None:
        return InkAdvice(tuple((kind, kind) for kind in stocks), None, None)
    # Whatever is drawn in a cycle at all has used up every stock by then.
    beyond = len(run.intro) + len(run.cycle) * (sum(stocks.values()) + 1)
    best = _most(as_drawn, beyond, lambda frames: _enough(taken, stocks, frames))
    matched = _matched(taken, stocks, best)
    if best == as_drawn:
        matched = {kind: kind for kind in stocks}
    exchange = tuple((kind, matched[kind]) for kind in stocks)
    return InkAdvice(exchange, as_drawn, None if best == beyond else best)


def _matched(taken: dict[str, Consumption], stocks: dict[str, int], frames: int) -> dict[str, str]:
    wanting = sorted(stocks, key=lambda kind: taken[kind].needed(frames))
    return dict(zip(wanting, sorted(stocks, key=lambda kind: stocks[kind]), strict=True))


def _enough(taken: dict[str, Consumption], stocks: dict[str, int], frames: int) -> bool:
    needs = sorted(taken[kind].needed(frames) for kind in stocks)
    return all(need <= stock for need, stock in zip(needs, sorted(stocks.values()), strict=True))


def _most(known: int, beyond: int, holds: Callable[[int], bool]) -> int:
    """The greatest number up to `beyond` for which something holds.

    It holds for `known`, and where it holds for a number, for every smaller one too.
    """
    if holds(beyond):
        return beyond
    while beyond - known > 1:
        middle = (known + beyond) // 2
        known, beyond = (middle, beyond) if holds(middle) else (known, middle)
    return known
