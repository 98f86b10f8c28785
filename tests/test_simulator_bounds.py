"""Replays between the bounds of all parts, against drawn machines: hand-made tables only."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from boards import CARD, ROW, board, grid_of
from handwritten import patient_tables, written
from test_simulator_faults import GLYPHS, HOME, LOAD, SHARED_HOME, SHARED_LOAD, SHOWS

from seqc.machine.electrics import DriveKind
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.span import Span, Tolerance
from seqc.machine.steptable import StepTable
from seqc.machine.tolerances import with_scaled_tolerances, with_tolerance
from seqc.simulator import Fault, check, check_bounds, sample
from seqc.simulator.pieces import DrawnAnew, Time

NUMERAL = grid_of(2, 2)
KINDS = tuple(DriveKind)


class Corners(DrawnAnew):
    """Every time at one of its bounds: there the rules break first."""

    def __init__(self, machine: Machine, seed: str) -> None:
        super().__init__(machine, seed)
        off = machine.controller.clock_ppm
        self.clock_ppm = self.random.choice((-off, off))

    def time(self, span: Span) -> Time:
        return Time(lambda: self.random.choice((span.least_us, span.most_us)))


def tables_of(machine: Machine, shift: Random | None = None) -> list[StepTable]:
    """Home and a load; each line of the load shifted by a few milliseconds, pulses made longer."""
    shared = machine.actuators[0].drive.kind is DriveKind.SHARED_REVERSER
    home, load = (SHARED_HOME, SHARED_LOAD) if shared else (HOME, LOAD)
    lines = []
    for line in load.split("\n"):
        words = line.split()
        if words:
            off = shift.choice((0, 0, 0.5, 1, 2, 4)) if shift else 0
            lines.append(f"{float(words[0]) + off} {words[1]} {words[2]} 70")
    return [
        written(machine, home.replace("rest", "rest 70").replace("70 60", "70"), 400, "home"),
        written(machine, "\n".join(lines), 1200, "x", SHOWS),
    ]


def faults_of(machine: Machine, tables: list[StepTable], seed: str) -> tuple[Fault, ...]:
    return check(machine, tables, GLYPHS, stock=False, pieces=Corners(machine, seed)).faults


def exact_board(kind: DriveKind, switch: bool = False) -> Machine:
    return board([NUMERAL], kind=kind, pulse_switch=switch, selectors=(ROW,))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("switch", [False, True])
def test_exact_parts_have_the_faults_of_the_nominal_machine(kind: DriveKind, switch: bool) -> None:
    machine = exact_board(kind, switch)
    tables = tables_of(machine)
    nominal = {(f.kind, f.at_us) for f in check(machine, tables, GLYPHS).faults}
    assert {(f.kind, f.at_us) for f in check_bounds(machine, tables, GLYPHS).faults} == nominal


@pytest.mark.parametrize("kind", [DriveKind.CHANGEOVER_PAIR, DriveKind.BRIDGE])
def test_patient_tables_hold_for_every_draw(kind: DriveKind) -> None:
    exact = board([NUMERAL], kind=kind, selectors=(ROW,), fall_us=200_000)
    relaxed = _with_pulses(exact, 30_000)
    machine = with_tolerance(relaxed, 50_000, 5_000)
    picture = Glyph("x", "hand", "numeral", GLYPHS["numeral", "x"])
    tables = patient_tables(exact, [picture])
    assert check_bounds(machine, tables, GLYPHS).faults == ()
    assert sample(machine, tables, GLYPHS, count=5, anew=True).faulty == 0


def _with_pulses(machine: Machine, pulse_us: int) -> Machine:
    """The machine with coils that need less than the tables give them."""
    actuators = tuple(
        replace(
            each, part=replace(each.part, coil=replace(each.coil, pulse_us=pulse_us, duty_ppm=None))
        )
        for each in machine.actuators
    )
    return replace(machine, actuators=actuators)


def seeds() -> list[object]:
    return [
        seed if seed < 6 else pytest.param(seed, marks=pytest.mark.thorough) for seed in range(60)
    ]


@pytest.mark.quick(3, 20)
@pytest.mark.parametrize("seed", seeds())
def test_bounds_find_what_draws_find_and_nothing_else(seed: int) -> None:
    """With only little to spare either way: some of these tables hold and some don't."""
    random = Random(seed)
    machine = exact_board(random.choice(KINDS), random.random() < 0.5)
    ppm = random.choice((1_000, 5_000, 20_000, 60_000))
    machine = with_tolerance(machine, ppm, random.choice((0, 0, 2_000)))
    tables = tables_of(machine, random)
    within = {fault.kind for fault in check_bounds(machine, tables, GLYPHS).faults}
    drawn = [faults_of(machine, tables, f"{seed} {number}") for number in range(150)]
    first = {min(faults, key=lambda f: f.at_us).kind for faults in drawn if faults}
    assert bool(within) == bool(first)
    assert first <= within


def with_relay(machine: Machine, operate: Tolerance, release: Tolerance) -> Machine:
    """The machine with tolerances of its relays alone."""
    relay = replace(CARD, operate_tolerance=operate, release_tolerance=release)
    actuators = tuple(
        replace(each, drive=replace(each.drive, relay=relay)) for each in machine.actuators
    )
    return replace(machine, actuators=actuators)


def kinds_of(machine: Machine, script: str) -> set[str]:
    home = HOME.replace("rest", "rest 66")
    tables = [written(machine, home, 300, "home"), written(machine, script, 900, "x", SHOWS)]
    return {str(fault.kind) for fault in check_bounds(machine, tables, GLYPHS).faults}


LONG = "\n".join(f"{line} 64" for line in LOAD.split("\n") if line)


def test_a_pulse_is_as_short_as_a_slow_start_and_a_quick_end_make_it() -> None:
    """64 ms for coils that need 40 and 60: 4 ms less is just enough for the larger one."""
    machine = board([NUMERAL], selectors=(ROW,))
    just = with_relay(machine, Tolerance(0, 2_000), Tolerance(2_000, 0))
    assert "pulse-too-short" not in kinds_of(just, LONG)
    beyond = with_relay(machine, Tolerance(0, 2_001), Tolerance(2_000, 0))
    assert "pulse-too-short" in kinds_of(beyond, LONG)


def test_current_counts_from_the_earliest_start_to_the_latest_end() -> None:
    """Two coils one after the other overlap once their relays may be off by more than between."""
    machine = board([NUMERAL], selectors=(ROW,), limit_ua=2_000_000)
    script = "20 drop.c1 rest 45\n67 drop.c2 rest 45"
    tables = [written(machine, script, 400, "home")]
    for off, kinds in ((1_000, set()), (1_001, {"overload"})):
        varying = with_relay(machine, Tolerance(off, 0), Tolerance(0, off))
        found = {str(fault.kind) for fault in check_bounds(varying, tables).faults}
        assert found & {"overload"} == kinds


def test_a_rule_is_kept_across_the_end_of_a_table() -> None:
    """The second table throws a gate as soon as the selector of the first one has settled."""
    machine = board([NUMERAL], selectors=(ROW,))
    home = written(machine, HOME.replace("rest", "rest 50"), 300, "home")
    whole = written(
        machine, "20 pick1.r1 thrown 45\n48 drop.c1 thrown 45\n160 drop.c1 rest 45", 600, "both"
    )
    cut = 39_000
    parts = [
        StepTable("before", tuple(s for s in whole.steps if s.at_us < cut), cut),
        StepTable(
            "after",
            tuple(replace(s, at_us=s.at_us - cut) for s in whole.steps if s.at_us >= cut),
            whole.length_us - cut,
        ),
    ]
    varying = with_tolerance(machine, 10_000)
    kinds = {
        tuple(sorted({str(f.kind) for f in check_bounds(varying, tables).faults}))
        for tables in ([home, whole], [home, *parts])
    }
    assert len(kinds) == 1
    assert "selector-not-settled" in next(iter(kinds))


def test_the_clock_stretches_pulses_and_distances() -> None:
    """44 ms between the edges of a pulse of 40 ms: it starts later than it ends."""
    machine = board([NUMERAL], selectors=(ROW,))
    script = "20 drop.c1 rest 40"
    exact = [written(machine, script, 400, "home")]
    assert check_bounds(machine, exact).faults == ()
    quick = replace(machine, controller=replace(machine.controller, clock_ppm=1_000))
    (fault,) = check_bounds(quick, exact).faults
    assert (str(fault.kind), fault.by_us) == ("pulse-too-short", 44)
    longer = [written(machine, "20 drop.c1 rest 40.05", 400, "home")]
    assert check_bounds(quick, longer).faults == ()


def test_a_picture_that_may_still_change_at_the_end_is_a_fault() -> None:
    """The last item arrives at 657 ms: a table of 660 ms shows it, unless the fall varies by more.

    532 + 25 ms, and the fall of 100 ms.
    """
    machine = board([NUMERAL], selectors=(ROW,), fall_us=100_000)
    home = written(machine, HOME.replace("rest", "rest 50"), 300, "home")
    picture = written(machine, LOAD.replace("682 swap    rest", ""), 660, "x")
    end = written(machine, "22 swap rest", 300, "end")
    shown = replace(picture, shows=SHOWS)
    for off, unsure in ((3_000, False), (3_001, True)):
        lane = machine.lanes[0]
        paths = tuple(replace(path, fall_tolerance=Tolerance(0, off)) for path in lane.paths)
        varying = replace(machine, lanes=(replace(lane, paths=paths),))
        faults = check_bounds(varying, [home, shown, end], GLYPHS).faults
        assert any("across the end" in fault.what for fault in faults) == unsure
        faults = check_bounds(varying, [home, picture, end], GLYPHS).faults
        assert not any("across the end" in fault.what for fault in faults)


def test_samples_are_the_same_on_any_number_of_cores() -> None:
    machine = with_tolerance(exact_board(DriveKind.CHANGEOVER_PAIR), 30_000)
    tables = tables_of(machine)
    here = [sample(machine, tables, GLYPHS, count=6, seed=4, anew=anew) for anew in (False, True)]
    again = [sample(machine, tables, GLYPHS, count=6, seed=4, anew=anew) for anew in (False, True)]
    other = sample(machine, tables, GLYPHS, count=6, seed=5)
    spread = sample(machine, tables, GLYPHS, count=20, seed=4)
    assert here == again
    assert here[0] != other
    assert here[0].faulty <= spread.faulty
    assert spread.count == 20
    assert all(each.first_in <= each.machines <= 20 for each in spread.weaknesses)


def test_tolerances_are_scaled_alike() -> None:
    machine = with_tolerance(exact_board(DriveKind.CHANGEOVER_PAIR), 40_000, 1_000)
    half = with_scaled_tolerances(machine, 0.5)
    assert half == with_tolerance(machine, 20_000, 500)
    assert with_scaled_tolerances(machine, 0) == with_tolerance(machine, 0)
