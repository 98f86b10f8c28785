"""Orders sought section by section take the fewest pulses, and their bounds are true."""

from __future__ import annotations

from random import Random

import pytest
from boards import COLUMN, GRID, ROW, SMALL, board, grid_of
from open_boards import CHALK, FEEDS, SLATE, many_ways
from reference.brute import fewest_passes, fewest_pulses
from reference.cp_sat import passes_and_pulses
from solver_cases import frame, load_of, positions_of, random_setting, replayed, setting_of
from strategies import loadable_glyph
from test_solver_brute import MOST_PASSES, small_machine

from seqc.machine.glyphs import Glyph
from seqc.machine.parts import Branch, Feed, Linkage, Selector
from seqc.solver.frames import plan_frame
from seqc.solver.needs import needs_of
from seqc.solver.passes.order import MOST_PASSES as MOST_PROVEN_PASSES
from seqc.solver.passes.order import EndError
from seqc.solver.positions import UNKNOWN, home
from seqc.solver.sections import exchange, order, search
from seqc.solver.sections.order import order_by_sections

SEEDS = range(120)


@pytest.mark.parametrize("known", [1.0, 0.5])
def test_pulses_are_those_of_brute_force(known: float, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(order, "FEW_WAYS", 0)
    by_sections = 0
    for seed in SEEDS:
        random = Random(seed)
        machine = small_machine(random, 7)
        glyph = loadable_glyph(random, machine)
        load = load_of(machine, glyph)
        start = random_setting(random, machine, known)
        at = positions_of(machine, start)
        needs = needs_of(machine, glyph.grid).needs(glyph.kinds)
        by_sections += order_by_sections(needs, at, UNKNOWN) is not None
        (plan,) = plan_frame(machine, frame(glyph), at)
        replayed(plan, load)
        assert plan.proven, seed
        assert len(plan.passes) == fewest_passes(load), seed
        if len(plan.passes) <= MOST_PASSES:
            assert plan.selector_pulses == fewest_pulses(load, start, len(plan.passes)), seed
    assert by_sections > 40


def test_the_end_of_another_plan_is_met(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(order, "FEW_WAYS", 0)
    for seed in SEEDS:
        random = Random(1_000 + seed)
        machine = small_machine(random, 6)
        glyph = loadable_glyph(random, machine)
        load = load_of(machine, glyph)
        first, second = (random_setting(random, machine) for _ in range(2))
        (other,) = plan_frame(machine, frame(glyph), positions_of(machine, first))
        (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, second), end=other.end)
        assert plan.proven, seed
        end = replayed(plan, load)
        assert end == setting_of(machine, other.end), seed
        assert plan.selector_pulses == fewest_pulses(load, second, len(plan.passes), end), seed


@pytest.mark.parametrize("feed", FEEDS)
def test_the_end_of_a_glyph_that_has_no_column_in_common_cannot_be_met(feed: str) -> None:
    """All cells are given, so a pass can load no column but the one that its positions make."""
    machine, glyph = many_ways(Random(5), feed, 8, 8)
    other = many_ways(Random(6), feed, 8, 8)[1]
    assert _columns(glyph, 8).isdisjoint(_columns(other, 8))
    start = home(len(machine.actuators))
    (elsewhere,) = plan_frame(machine, frame(other), start)
    with pytest.raises(EndError):
        plan_frame(machine, frame(glyph), start, end=elsewhere.end)


def _columns(glyph: Glyph, count: int) -> set[tuple[str, ...]]:
    return {glyph.kinds[column::count] for column in range(count)}


@pytest.mark.parametrize(("way", "seeds"), [("few states", SEEDS), ("estimate", SEEDS[:12])])
def test_bounds_are_true_where_not_all_is_searched(
    way: str, seeds: range, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(order, "FEW_WAYS", 0)
    if way == "few states":
        monkeypatch.setattr(search, "WIDTHS", (2,))
    else:
        monkeypatch.setattr(order, "MOST_PASSES", 0)
    gaps = 0
    for seed in seeds:
        random = Random(seed)
        machine = small_machine(random, 7)
        glyph = loadable_glyph(random, machine)
        load = load_of(machine, glyph)
        start = random_setting(random, machine, 0.5)
        needs = needs_of(machine, glyph.grid).needs(glyph.kinds)
        found = order_by_sections(needs, positions_of(machine, start), UNKNOWN)
        if found is None or len(found.passes) > MOST_PASSES:
            continue
        pulses = fewest_pulses(load, start, len(found.passes))
        assert pulses is not None
        assert found.least <= pulses <= found.pulses, seed
        gaps += found.least < found.pulses
    assert gaps


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize(("columns", "absent", "seed"), [(5, 0.0, 0), (5, 0.0, 2), (7, 0.5, 1)])
def test_middle_boards_of_many_ways(feed: str, columns: int, absent: float, seed: int) -> None:
    machine, glyph = many_ways(Random(seed), feed, 4, columns, absent)
    load = load_of(machine, glyph)
    start = random_setting(Random(seed), machine)
    (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, start))
    replayed(plan, load)
    assert plan.proven
    assert (len(plan.passes), plan.selector_pulses) == passes_and_pulses(load, start)


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("size", [8, 10, 12])
def test_needs_of_very_many_ways_are_proven(feed: str, size: int) -> None:
    machine, glyph = many_ways(Random(size), feed, size, size)
    for start in (home(len(machine.actuators)), UNKNOWN):
        (plan,) = plan_frame(machine, frame(glyph), start)
        replayed(plan, load_of(machine, glyph))
        assert plan.proven


@pytest.mark.parametrize(
    ("rows", "columns", "absent"), [(12, 14, 0.3), (10, 16, 0.7), (14, 20, 0.7)]
)
def test_open_needs_of_very_many_ways_are_proven(rows: int, columns: int, absent: float) -> None:
    machine, glyph = many_ways(Random(columns), "one kind twice", rows, columns, absent)
    for start in (home(len(machine.actuators)), UNKNOWN):
        (plan,) = plan_frame(machine, frame(glyph), start)
        replayed(plan, load_of(machine, glyph))
        assert plan.proven
        assert len(plan.passes) < columns


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("known", [True, False])
def test_many_passes_are_proven_but_for_three_kinds(feed: str, known: bool) -> None:
    machine, glyph = many_ways(Random(3), feed, 8, 19)
    start = home(len(machine.actuators)) if known else UNKNOWN
    (plan,) = plan_frame(machine, frame(glyph), start)
    replayed(plan, load_of(machine, glyph))
    assert len(plan.passes) > MOST_PROVEN_PASSES
    assert plan.proven or (feed == "one kind twice" and plan.least_pulses > 0.93 * plan.pulses)


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("known", [True, False])
def test_orders_of_many_passes_are_as_good_as_those_that_are_searched_for(
    feed: str, known: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    for seed in range(2):
        machine, glyph = many_ways(Random(seed), feed, 8, 14)
        start = home(len(machine.actuators)) if known else UNKNOWN
        needs = needs_of(machine, glyph.grid).needs(glyph.kinds)
        best = order_by_sections(needs, start, UNKNOWN)
        with monkeypatch.context() as patch:
            patch.setattr(order, "MOST_PASSES", 0)
            found = order_by_sections(needs, start, UNKNOWN)
        assert best
        assert found
        assert best.least == best.pulses == found.pulses
        assert found.least <= best.pulses


@pytest.mark.parametrize("feed", FEEDS)
def test_an_order_that_is_made_better_by_exchange_still_ends_as_it_must(
    feed: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended = 0
    for seed in range(6):
        machine, glyph = many_ways(Random(seed), feed, 4, 6, 0.3)
        needs = needs_of(machine, glyph.grid).needs(glyph.kinds)
        (plan,) = plan_frame(machine, frame(glyph), home(len(machine.actuators)))
        with monkeypatch.context() as patch:
            patch.setattr(order, "FEW_WAYS", 0)
            patch.setattr(order, "MOST_PASSES", 0)
            patch.setattr(exchange, "EFFORT", 1_000_000)
            found = order_by_sections(needs, UNKNOWN, plan.end)
        if found is None or len(found.passes) != len(plan.passes):
            continue
        at = UNKNOWN
        for _, hold in found.passes:
            at = at.then(hold)
        assert not at.missing(plan.end)
        ended += 1
    assert ended


def test_ways_that_are_tied_across_rows_are_left_to_the_other_searches() -> None:
    def tied(name: str, link: Linkage, rest: Feed, thrown: Feed) -> Branch:
        return Branch(Selector(name, link, SMALL, 10_000), rest, thrown)

    feed = tied("pick", ROW, tied("left", COLUMN, SLATE, CHALK), tied("right", ROW, CHALK, SLATE))
    machine = board([grid_of(5, 4)], feed=feed, gates={"drop": COLUMN, "swap": GRID})
    random = Random(3)
    for _ in range(5):
        glyph = loadable_glyph(random, machine)
        needs = needs_of(machine, glyph.grid).needs(glyph.kinds)
        start = home(len(machine.actuators))
        assert order_by_sections(needs, start, UNKNOWN) is None
        (plan,) = plan_frame(machine, frame(glyph), start)
        replayed(plan, load_of(machine, glyph))
        assert plan.proven
