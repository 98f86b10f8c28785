"""Tables hold for every machine that can be built of parts within their tolerances: by draws.

The draws share nothing with the scheduler: the simulator runs the tables on one machine after the
other, each piece of which takes a time of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from boards import CARD, ROW, board, grid_of
from examples_on_disk import machine_file
from reference.schedule_machines import mixed_machine, random_machine, random_plans, varying
from strategies import loadable_glyph
from test_simulator_bounds import Corners

import seqc
from seqc.machine.effort import QUICK
from seqc.machine.electrics import Drive, Supply
from seqc.machine.findings import Findings, ShortfallError
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.span import Tolerance
from seqc.machine.steptable import TableSet, TablesFor
from seqc.machine.tolerances import with_tolerance
from seqc.schedule.clock import ScheduleClock
from seqc.schedule.clock_rate import ROUNDING_US, ClockRate
from seqc.schedule.durations import Durations
from seqc.schedule.frame import time_frame
from seqc.schedule.tables import glyph_tables, programme_tables
from seqc.schedule.timing import time_programme
from seqc.schedule.topology import Topology
from seqc.simulator import check, check_bounds, sample
from seqc.simulator.trial import trial
from seqc.solver.plan import ProgrammePlan
from seqc.solver.positions import home
from seqc.solver.programme import plan_programme

CLOCKS = (0, 0, 100, 5_000, 20_000)
Glyphs = dict[tuple[str, str], tuple[str, ...]]


def boards(count: int) -> list[object]:
    """Random boards by seed: a few quickly, more thoroughly, the rest as a campaign."""
    marks = [(), (pytest.mark.thorough,), (pytest.mark.campaign,)]
    return [
        pytest.param(seed, marks=marks[(seed >= 3) + (seed >= 16)], id=str(seed))
        for seed in range(count)
    ]


def varied_board(seed: int) -> tuple[Machine, ProgrammePlan]:
    """A board of any drive whose parts and clock vary, and a round of three frames for it."""
    random = Random(seed)
    exact = mixed_machine(random) if seed % 2 else random_machine(random)
    machine = varying(random, exact, CLOCKS)
    frames = [Frame((loadable_glyph(random, machine, name),)) for name in "abc"]
    plan = plan_programme(
        machine,
        frames,
        home(len(machine.actuators)),
        repeat=True,
        clock=ScheduleClock(machine),
        effort=QUICK,
    )
    return machine, plan


def tables_of(machine: Machine, plan: ProgrammePlan) -> Iterator[tuple[TableSet, Glyphs]]:
    """The programme at its shortest cadence, and its frames in tables of their own."""
    glyphs = {(glyph.grid, glyph.name): glyph.kinds for each in plan.plans for glyph in each.frame}
    yield programme_tables(machine, time_programme(machine, plan, 1, QUICK)), glyphs
    yield glyph_tables(machine, plan.plans[:1]), glyphs


@pytest.mark.parametrize("seed", boards(300))
def test_tables_of_random_boards_hold_between_all_bounds(seed: int) -> None:
    machine, plan = varied_board(seed)
    for tables, glyphs in tables_of(machine, plan):
        endless = tables.repeat_from is not None
        assert check_bounds(machine, trial(tables), glyphs, endless=endless).faults == ()


@pytest.mark.parametrize("seed", boards(100))
def test_tables_of_random_boards_hold_on_drawn_machines(seed: int) -> None:
    """Parts at their corners and anywhere between them, the clock too."""
    machine, plan = varied_board(seed)
    for tables, glyphs in tables_of(machine, plan):
        endless = tables.repeat_from is not None
        run = list(trial(tables))
        for number in range(100 if seed >= 16 else 5):
            corner = Corners(machine, str(number))
            faults = check(machine, run, glyphs, stock=False, pieces=corner, endless=endless).faults
            assert faults == ()
        drawn = sample(machine, run, glyphs, count=8, anew=True, endless=endless)
        assert drawn.faulty == 0


@pytest.mark.parametrize("name", ["berth_board", "pattern_board"])
@pytest.mark.parametrize("count", [pytest.param(6), pytest.param(200, marks=pytest.mark.campaign)])
def test_tables_of_the_examples_hold_on_drawn_machines(
    name: str, count: int, tmp_path: Path
) -> None:
    machine = seqc.read(machine_file(name, tmp_path), Findings())
    wanted = seqc.asked(machine)
    tables = seqc.tables(machine, wanted, TablesFor.PROGRAMME)
    for anew in (False, True):
        assert seqc.sample(machine, tables, wanted, count=count, anew=anew).faulty == 0
    assert seqc.replay_bounds(machine, tables, wanted).faults == ()


def test_times_by_hand_where_parts_vary() -> None:
    """One column, one row, changeover relays, every time 10 % more or less.

    A relay operates in 9 to 11 ms and releases in 5.4 to 6.6: so a pulse of 40 ms takes an output
    for 40 + 11 - 5.4 = 45.6, and may last from the first start until 45.6 + 6.6 - 9 = 43.2 after.
    The selector's part moves for 16.2 to 19.8 ms, and settles for 9 to 11.
    """
    machine = with_tolerance(board([grid_of(1, 1)], selectors=(ROW,)), 100_000)
    times = Durations(machine).of(machine.actuators[0])
    assert machine.actuators[0].name == "pick1.r1"
    assert (times.hold_us, times.length_us, times.longest_us) == (45_600, 43_200, 43_200)
    assert (times.settled.least_us, times.settled.most_us) == (25_200, 2_000 + 30_800)
    # It recovers for 60 ms from the latest end on.
    assert times.next_us == 43_200 + 60_000


def test_the_load_by_hand_where_parts_vary() -> None:
    """As above: `pick`, then `drop`, whose item falls for at most 330 ms and lies still after 22.

    32.8 until `pick` has settled at the latest; `drop` starts within 2 ms, moves for 19.8 at most.
    """
    machine = with_tolerance(board([grid_of(1, 1)], selectors=(ROW,)), 100_000)
    glyph = Glyph("x", "hand", "numeral", ("chalk",))
    plan = plan_programme(machine, [Frame((glyph,))], home(len(machine.actuators)))
    timing = time_frame(machine, plan.plans[0])
    assert timing.load_time_us == 32_800 + 2_000 + 19_800 + 330_000 + 22_000


@pytest.mark.parametrize("off_ppm", [50, 5_000, 100_000])
@pytest.mark.parametrize("real_us", [-40_000, -3, 0, 1, 17, 90_000, 2_000_000])
def test_a_distance_lasts_on_any_clock(off_ppm: int, real_us: int) -> None:
    distance = ClockRate(off_ppm).lasting(real_us)
    for rate in (1 - off_ppm / 1e6, 1, 1 + off_ppm / 1e6):
        assert distance * rate >= real_us
    shorter = distance - ROUNDING_US - 2
    assert min(shorter * rate for rate in (1 - off_ppm / 1e6, 1 + off_ppm / 1e6)) < real_us


def test_a_coil_that_its_relay_would_hold_too_long_is_refused_with_what_to_write() -> None:
    machine = with_tolerance(board([grid_of(1, 1)]), 300_000)
    relay = machine.actuators[0].drive.relay
    assert relay is not None
    slow = replace(relay, release_tolerance=Tolerance(6_000, 40_000))
    drive = replace(machine.actuators[0].drive, relay=slow)
    machine = replace(machine, actuators=tuple(replace(a, drive=drive) for a in machine.actuators))
    with pytest.raises(ShortfallError) as refused:
        Topology(machine)
    found = next(iter(refused.value.findings))
    assert found.code == "pulse-varies-too-much"
    # 40 + 13 - 0, and then 46 - 7 until the slowest release after the quickest start.
    assert "may last 92 ms" in found.message
    assert "max pulse 92 ms" in found.hint


def with_relay_coils(random: Random, machine: Machine) -> Machine:
    """The machine whose relays' coils hang on a small supply, or on that of what they switch."""
    coil_ua = random.choice([30_000, 72_000, 150_000])
    logic = Supply("logic", 5_000, coil_ua * random.choice([2, 3, 5, 9]))
    is_shared = random.random() < 0.5

    def fed(drive: Drive) -> Drive:
        if drive.relay is None:
            return drive
        feeds = drive.supply if is_shared else logic
        return replace(drive, relay=replace(drive.relay, coil_ua=coil_ua, coil_supply=feeds))

    actuators = tuple(replace(each, drive=fed(each.drive)) for each in machine.actuators)
    supplies = machine.supplies if is_shared else (*machine.supplies, logic)
    return replace(machine, actuators=actuators, supplies=supplies)


@pytest.mark.parametrize("seed", boards(200))
def test_the_coils_of_relays_count_where_a_supply_is_tight(seed: int) -> None:
    random = Random(seed)
    exact = mixed_machine(random) if seed % 2 else random_machine(random)
    machine = with_relay_coils(random, varying(random, exact, CLOCKS))
    plans = random_plans(random, machine, 1)
    try:
        tables = glyph_tables(machine, plans)
    except ShortfallError:
        return
    glyphs = {(glyph.grid, glyph.name): glyph.kinds for each in plans for glyph in each.frame}
    assert check_bounds(machine, trial(tables), glyphs).faults == ()


def test_a_supply_that_feeds_one_relay_lets_one_coil_be_pulsed_at_a_time() -> None:
    machine = board([grid_of(1, 2)], selectors=(ROW,))
    logic = Supply("logic", 5_000, 150_000)
    relay = replace(CARD, coil_ua=72_000, coil_supply=logic)
    actuators = tuple(replace(a, drive=replace(a.drive, relay=relay)) for a in machine.actuators)
    alone = replace(machine, actuators=actuators, supplies=(*machine.supplies, logic))
    # A pulse is as long as its relay is on before it: at two instants, so two relays at once.
    assert Topology(machine).capacities_ua == [8_000_000 * 10 // 12]
    assert Topology(alone).capacities_ua == [2 * actuators[0].peak_ua - 1, 150_000 - 144_000]
    weak = replace(alone, supplies=(*machine.supplies, replace(logic, limit_ua=140_000)))
    with pytest.raises(ShortfallError) as refused:
        Topology(weak)
    assert "the coils of relays draw 0.144 A" in next(iter(refused.value.findings)).message
