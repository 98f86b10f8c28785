"""Stock: what is used, how long it lasts, and what is to be loaded, against plain counting."""

import itertools
from collections import Counter

import pytest
from boards import board, grid_of
from forecast_runs import SECOND_US, endless_frames, run_of, stocked
from hypothesis import given, settings
from hypothesis import strategies as st

from seqc.forecast.circulation import rises, shortest_period
from seqc.forecast.consumption import consumption
from seqc.forecast.ink import ink_advice
from seqc.forecast.stock import rounded, stock_forecast
from seqc.forecast.tally import drawn
from seqc.forecast.usage import Magazine, Run
from seqc.machine.model import Machine
from seqc.machine.parts import Cell

KINDS = (None, "slate", "chalk")
PAIR = board([grid_of(1, 2)])
PUSHING = board([grid_of(1, 2)], gates={"drop": board([grid_of(1, 2)]).gates[0].linkage})
ROWS = st.lists(st.tuples(st.sampled_from(KINDS), st.sampled_from(KINDS)), min_size=1, max_size=6)


@st.composite
def runs(draw: st.DrawFn) -> Run:
    rows = draw(ROWS)
    return run_of(rows, draw(st.none() | st.integers(0, len(rows) - 1)))


def colours(machine: Machine, run: Run, count: int) -> list[list[tuple[Magazine, int]]]:
    """By cell, the magazines that it draws from and the frames at which it does."""
    cells: dict[Cell, list[tuple[Magazine, int]]] = {}
    for frame, use in enumerate(endless_frames(run, count)):
        for draw in use.draws:
            grid = machine.grids[0]
            for cell, kind in zip(grid.cells, draw.kinds, strict=True):
                if kind:
                    cells.setdefault(cell, []).append((Magazine(draw.grid, cell, kind), frame))
    return list(cells.values())


def first_shortage(
    machine: Machine, run: Run, load: dict[Magazine, int], recirculate_us: int | None, count: int
) -> int | None:
    """Follow each item by itself: the first frame that finds its magazine empty, if any."""
    waits = bool(machine.lanes[0].transfers)
    failed = []
    for draws in colours(machine, run, count):
        left = Counter(load)
        back: list[tuple[int, Magazine]] = []
        for rank, (magazine, frame) in enumerate(draws):
            # A frame behind a transfer gate is loaded as soon as the frame before it is seen.
            loaded_us = (frame - waits) * run.every_us
            for due in [due for due in back if due[0] <= loaded_us]:
                left[due[1]] += 1
                back.remove(due)
            if not left[magazine]:
                failed.append(frame)
                break
            left[magazine] -= 1
            if recirculate_us is not None and rank:
                back.append((frame * run.every_us + recirculate_us, draws[rank - 1][0]))
    return min(failed, default=None)


@given(runs(), st.integers(0, 40))
def test_what_is_needed_is_the_plain_sum(run: Run, frames: int) -> None:
    taken = consumption(run)
    plain = Counter(
        kind
        for use in endless_frames(run, frames)
        for draw in use.draws
        for kind in draw.kinds
        if kind
    )
    assert {kind: taken[kind].needed(frames) for kind in taken} == {
        kind: plain[kind] for kind in taken
    }
    by_magazine = drawn(PAIR, run, frames)
    assert sum(by_magazine.values()) == plain.total()


@given(runs(), st.integers(0, 30))
def test_a_stock_goes_as_far_as_it_says(run: Run, stock: int) -> None:
    for taken in consumption(run).values():
        covered = taken.frames_covered(stock)
        if covered is None:
            assert taken.needed(10_000) <= stock
        else:
            assert taken.needed(covered) <= stock < taken.needed(covered + 1)


@settings(max_examples=300)
@given(runs(), st.integers(0, 5_500_000), st.sampled_from([PAIR, PUSHING]))
def test_least_stock_without_end(run: Run, recirculate_us: int, machine: Machine) -> None:
    least = {
        magazine: len(records)
        for magazine, records in rises(
            machine, run, {"slate": recirculate_us, "chalk": recirculate_us}
        ).items()
    }
    assert first_shortage(machine, run, least, recirculate_us, 200) is None
    for magazine, count in least.items():
        if count:
            fewer = least | {magazine: count - 1}
            assert first_shortage(machine, run, fewer, recirculate_us, 200) is not None


@settings(max_examples=100, deadline=None)
@given(runs(), st.integers(0, 3_000_000), st.integers(0, 8), st.booleans())
def test_no_other_load_lasts_longer(run: Run, back_us: int, stock: int, returns: bool) -> None:
    machine = stocked(PAIR, (stock, 1_000), back_us)
    slate, _ = stock_forecast(machine, run, 200 * SECOND_US)
    load = slate.fill_recirculated if returns else slate.fill
    claimed = slate.lasts_recirculated_us if returns else slate.lasts_us
    lanes = [magazine for magazine in load if magazine.kind == "slate"]
    splits = ((first, stock - first) for first in range(stock + 1))
    loads = [dict(zip(lanes, split, strict=True)) for split in splits]
    chalk = {Magazine("numeral", cell, "chalk"): 1_000 for cell in machine.grids[0].cells}
    recirculate_us = back_us if returns else None
    lasting = [first_shortage(machine, run, one | chalk, recirculate_us, 200) for one in loads]
    best = None if None in lasting else max(frame for frame in lasting if frame is not None)
    assert claimed == (None if best is None else best * SECOND_US)
    assert sum(load.values()) <= stock
    assert first_shortage(machine, run, load | chalk, recirculate_us, 200) == best


@given(st.lists(st.sampled_from("ab"), min_size=1, max_size=6), st.integers(1, 5))
def test_shortest_period(piece: list[str], times: int) -> None:
    whole = piece * times
    found = shortest_period(whole)
    fits = [
        length
        for length in range(1, len(whole) + 1)
        if len(whole) % length == 0 and whole[:length] * (len(whole) // length) == whole
    ]
    assert found == fits[0]


def test_an_item_seen_for_one_frame_and_back_at_once_needs_two() -> None:
    # One is seen while the next is loaded behind the transfer gate.
    run = run_of([("slate", "chalk")], 0)
    slate, chalk = stock_forecast(stocked(PAIR, (2, 2), 0), run, 10 * SECOND_US)
    assert (slate.least_endless, chalk.least_endless) == (2, 2)
    assert slate.lasts_us == 2 * SECOND_US
    assert slate.lasts_recirculated_us is None
    assert not slate.falls_short


def test_each_second_of_return_costs_one_more() -> None:
    run = run_of([("slate", "chalk")], 0)
    least = [
        stock_forecast(stocked(PAIR, (9, 9), seconds * SECOND_US), run, SECOND_US)[0].least_endless
        for seconds in range(4)
    ]
    assert least == [2, 3, 4, 5]


@settings(max_examples=200)
@given(
    st.lists(st.lists(st.integers(0, 2), min_size=2, max_size=2), min_size=1, max_size=5),
    st.tuples(st.integers(0, 9), st.integers(0, 9), st.integers(0, 9)),
)
def test_the_best_exchange_of_kinds(rows: list[list[int]], stocks: tuple[int, int, int]) -> None:
    machine = stocked(board([grid_of(1, 2)], kinds=3), stocks)
    names = [item.name for item in machine.items]
    run = run_of([[names[number] for number in row] for row in rows], 0)
    advice = ink_advice(machine, run)
    assert advice
    used = sorted({number for row in rows for number in row})

    def lasting(offered: tuple[int, ...]) -> int:
        left = {number: stocks[kind] for number, kind in zip(used, offered, strict=True)}
        for frame in itertools.count():
            for number in rows[frame % len(rows)]:
                left[number] -= 1
            if min(left.values()) < 0:
                return frame
        raise AssertionError

    best = max(lasting(order) for order in itertools.permutations(used))
    assert advice.frames_as_drawn == lasting(tuple(used))
    assert advice.frames_exchanged == best
    exchange = dict(advice.exchange)
    assert lasting(tuple(names.index(exchange[names[number]]) for number in used)) == best


def test_exchange_where_nothing_is_used_up() -> None:
    machine = stocked(PAIR, (4, 4))
    advice = ink_advice(machine, run_of([("slate", "chalk"), (None, None)]))
    assert advice
    assert not advice.helps
    assert ink_advice(stocked(PAIR, (4, None)), run_of([("slate", "chalk")], 0)) is None


@pytest.mark.parametrize(
    "count,handy", [(0, 0), (9, 9), (10, 10), (99, 99), (101, 110), (1372, 1400)]
)
def test_loads_are_rounded_up_to_two_figures(count: int, handy: int) -> None:
    magazine = Magazine("numeral", Cell(1, 1), "slate")
    assert rounded({magazine: count}, None) == {magazine: handy}
    assert rounded({magazine: count}, count) == {magazine: count}
