"""Where needs have very many ways one is chosen of each: it loads, and its bounds are true."""

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
from seqc.schedule.clock import ScheduleClock
from seqc.solver import needs
from seqc.solver.frames import plan_frame
from seqc.solver.needs import needs_of
from seqc.solver.passes.order import EndError
from seqc.solver.positions import home

SEEDS = range(200)


def test_bounds_are_true_where_one_way_is_chosen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(needs, "MOST_WAYS", 1)
    chosen = worse = exact = more_passes = 0
    for seed in SEEDS:
        random = Random(seed)
        machine = small_machine(random)
        glyph = loadable_glyph(random, machine)
        every = needs_of(machine, glyph.grid).needs(glyph.kinds)
        if all(need.whole for need in every.values()):
            continue
        chosen += 1
        load = load_of(machine, glyph)
        start = random_setting(random, machine)
        (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, start))
        replayed(plan, load)
        passes = fewest_passes(load)
        assert passes is not None
        assert plan.passes_bound <= passes <= len(plan.passes)
        more_passes += passes < len(plan.passes)
        if len(plan.passes) <= MOST_PASSES:
            pulses = fewest_pulses(load, start, len(plan.passes))
            assert pulses is not None
            gates = plan.pulses - plan.selector_pulses
            assert plan.pulses_bound - gates <= pulses <= plan.selector_pulses
            worse += pulses < plan.selector_pulses
            exact += pulses == plan.selector_pulses
        assert not plan.proven or passes == len(plan.passes)
    assert chosen > 30
    assert worse
    assert exact > worse
    assert more_passes < chosen // 5


def test_the_end_of_another_plan_is_met(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(needs, "MOST_WAYS", 1)
    for seed in SEEDS:
        random = Random(1_000 + seed)
        machine = small_machine(random, 6)
        glyph = loadable_glyph(random, machine)
        first, second = (random_setting(random, machine) for _ in range(2))
        (other,) = plan_frame(machine, frame(glyph), positions_of(machine, first))
        (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, second), end=other.end)
        assert replayed(plan, load_of(machine, glyph)) == setting_of(machine, other.end), seed


@pytest.mark.quick(4)
@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize(("columns", "absent", "seed"), [(5, 0.0, 0), (5, 0.0, 2), (7, 0.5, 1)])
def test_middle_boards_are_close_to_the_best(
    feed: str, columns: int, absent: float, seed: int
) -> None:
    machine, glyph = many_ways(Random(seed), feed, 4, columns, absent)
    load = load_of(machine, glyph)
    start = random_setting(Random(seed), machine)
    (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, start))
    replayed(plan, load)
    found = passes_and_pulses(load, start)
    assert found
    passes, pulses = found
    gates = plan.pulses - plan.selector_pulses
    assert len(plan.passes) == passes
    assert plan.pulses_bound - gates <= pulses <= plan.selector_pulses <= pulses + 2


@pytest.mark.parametrize("feed", FEEDS)
def test_large_boards_are_loaded_and_timed(feed: str) -> None:
    machine, glyph = many_ways(Random(8), feed, 8, 8)
    clock = ScheduleClock(machine)
    (plan,) = plan_frame(machine, frame(glyph), home(len(machine.actuators)), clock=clock)
    replayed(plan, load_of(machine, glyph))
    assert len(plan.passes) == plan.passes_bound
    assert plan.load_us is not None
    assert plan.load_bound_us is not None
    assert plan.load_us // 2 < plan.load_bound_us <= plan.load_us


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


def test_glyphs_that_no_one_route_a_kind_makes_are_loaded() -> None:
    """The selectors of a column offer each kind by another route than those of the next."""

    def tied(name: str, link: Linkage, rest: Feed, thrown: Feed) -> Branch:
        return Branch(Selector(name, link, SMALL, 10_000), rest, thrown)

    feed = tied("pick", ROW, tied("left", COLUMN, SLATE, CHALK), tied("right", ROW, CHALK, SLATE))
    machine = board([grid_of(5, 4)], feed=feed, gates={"drop": COLUMN, "swap": GRID})
    random = Random(3)
    for _ in range(5):
        glyph = loadable_glyph(random, machine)
        (plan,) = plan_frame(machine, frame(glyph), home(len(machine.actuators)))
        replayed(plan, load_of(machine, glyph))
