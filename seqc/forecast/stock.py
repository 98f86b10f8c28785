"""How long the items last, how many are needed, and how they are shared out among the lanes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import floor, log10

from seqc.forecast.circulation import rises
from seqc.forecast.consumption import Consumption, consumption
from seqc.forecast.tally import drawn
from seqc.forecast.usage import Magazine, Run
from seqc.machine.model import Machine
from seqc.machine.parts import Item

Load = dict[Magazine, int]


@dataclass(frozen=True)
class KindStock:
    """What becomes of one kind in `running_us`, the time that the frames run.

    `drawn` is how many items they take. If none is recirculated a stock is enough for `lasts_us`;
    if each is after `recirculate_us`, for `lasts_recirculated_us`. Both are None when it never runs
    out (or no stock is declared). `least_endless` is the least stock for running without end, if
    recirculated. `fill` and `fill_recirculated` are the filling sheets for the two cases, for the
    time or, where the stock is short, for as long as it goes.
    """

    item: Item
    running_us: int
    drawn: int
    recirculate_us: int
    lasts_us: int | None
    lasts_recirculated_us: int | None
    least_endless: int
    fill: Load
    fill_recirculated: Load

    @property
    def needed(self) -> int:
        """The least stock for the time; less where items are recirculated."""
        recirculated = self.item.recirculate_us is not None
        return min(self.drawn, self.least_endless) if recirculated else self.drawn

    @property
    def lasting_us(self) -> int | None:
        """How long the stock lasts in the way that is declared."""
        recirculated = self.item.recirculate_us is not None
        return self.lasts_recirculated_us if recirculated else self.lasts_us

    @property
    def falls_short(self) -> bool:
        """Whether the stock runs out before the last of the frames is loaded."""
        return self.lasting_us is not None and self.lasting_us < self.running_us


def stock_forecast(machine: Machine, run: Run, duration_us: int) -> tuple[KindStock, ...]:
    """The forecast of every kind; those that aren't recirculated are also told as if at once."""
    returns = {item.name: item.recirculate_us or 0 for item in machine.items}
    risen = rises(machine, run, returns)
    taken = consumption(run)
    nothing = Consumption((0,) * (len(run.intro) + 1), (0,) * (len(run.cycle) + 1))
    return tuple(
        _kind(machine, run, duration_us, item, taken.get(item.name, nothing), risen)
        for item in machine.items
    )


def _kind(
    machine: Machine,
    run: Run,
    duration_us: int,
    item: Item,
    taken: Consumption,
    risen: Mapping[Magazine, list[int]],
) -> KindStock:
    frames = run.frames_in(duration_us)
    covered = None if item.stock is None else taken.frames_covered(item.stock)
    reached = frames if covered is None else min(frames, covered)
    load = _of_kind(item.name, drawn(machine, run, reached))
    own = {magazine: records for magazine, records in risen.items() if magazine.kind == item.name}
    ordered = sorted(frame for records in own.values() for frame in records)
    stops = _shortage(ordered, item.stock)
    returned = {m: sum(stops is None or f < stops for f in records) for m, records in own.items()}
    return KindStock(
        item,
        run.running_us(duration_us),
        taken.needed(frames),
        item.recirculate_us or 0,
        _time(run, covered),
        _time(run, stops),
        len(ordered),
        rounded(load, item.stock),
        rounded(returned, item.stock),
    )


def _of_kind(kind: str, load: Load) -> Load:
    return {magazine: count for magazine, count in load.items() if magazine.kind == kind}


def _shortage(rising: list[int], stock: int | None) -> int | None:
    """The frame that a stock can't load: the one with the first rise beyond it."""
    return None if stock is None or stock >= len(rising) else rising[stock]


def _time(run: Run, frames: int | None) -> int | None:
    return None if frames is None else frames * run.every_us


def rounded(load: Load, stock: int | None) -> Load:
    """Counts rounded up to two figures, for filling by hand, where the stock allows it."""
    handy = {magazine: _two_figures_up(count) for magazine, count in load.items()}
    return load if stock is not None and sum(handy.values()) > stock else handy


def _two_figures_up(count: int) -> int:
    step = 10 ** max(0, floor(log10(count)) - 1) if count else 1
    return -(-count // step) * step
