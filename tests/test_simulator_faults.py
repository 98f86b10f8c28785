"""Every fault is provoked by a table that differs from a good one by the smallest edit."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from boards import CARD, COLUMN, GRID, ROW, board, grid_of
from handwritten import us, written

from seqc.machine.electrics import DriveKind, Relay
from seqc.machine.model import Machine
from seqc.machine.parts import Gate
from seqc.machine.steptable import Step, StepTable
from seqc.simulator import FaultKind, Replay, check, replay

NUMERAL = grid_of(2, 2)
SHOWS = (("numeral", "x"),)
GLYPHS = {("numeral", "x"): ("slate", "chalk", "chalk", "slate")}

HOME = """
20 drop.c1 rest
20 drop.c2 rest
20 swap rest
120 pick1.r1 rest
120 pick1.r2 rest
"""
HOME_MS = 300

# Column 1 wants slate over chalk, column 2 chalk over slate: two passes, then the transfer.
LOAD = """
20  pick1.r2 thrown
48  drop.c1 thrown
148 drop.c1 rest
166 pick1.r1 thrown
166 pick1.r2 rest
194 drop.c2 thrown
294 drop.c2 rest
532 swap    thrown
682 swap    rest
"""
LOAD_MS = 900

# The same with pulses of one polarity and length at a time, as a shared rail needs it.
SHARED_HOME = HOME.replace("c1 rest", "c1 rest 60").replace("c2 rest", "c2 rest 60")
SHARED_LOAD = """
20  pick1.r2 thrown
80  drop.c1  thrown
180 drop.c1  rest
240 pick1.r1 thrown
300 pick1.r2 rest
360 drop.c2  thrown
460 drop.c2  rest
698 swap     thrown
848 swap     rest
"""
SHARED_LOAD_MS = 1100


def small_board(kind: DriveKind = DriveKind.CHANGEOVER_PAIR, switch: bool = False) -> Machine:
    return board([NUMERAL], kind=kind, pulse_switch=switch, selectors=(ROW,))


def edited(script: str, old: str, new: str) -> str:
    lines = [" ".join(line.split()) for line in script.splitlines()]
    if old:
        assert lines.count(old) == 1, f"{old!r} isn't one line of the script"
        lines[lines.index(old)] = new
    else:
        lines.append(new)
    return "\n".join(lines)


def run(
    machine: Machine,
    home: str = HOME,
    load: str = LOAD,
    stock: bool = True,
    load_ms: float = LOAD_MS,
) -> Replay:
    tables = (
        written(machine, home, HOME_MS, "home"),
        written(machine, load, load_ms, "x", SHOWS),
    )
    return check(machine, tables, GLYPHS, stock=stock)


def told(outcome: Replay, since_ms: float = HOME_MS) -> list[tuple[str, float, str]]:
    return [(f.kind.value, (f.at_us - us(since_ms)) / 1000, f.what) for f in outcome.faults]


def test_the_unedited_tables_have_no_fault() -> None:
    outcome = run(small_board())
    assert outcome.faults == ()
    assert outcome.seen[-1].pictures == {"numeral": GLYPHS["numeral", "x"]}


# The edit of the load, then each fault: its kind, its time from the start of the load, its words.
EDITS: dict[str, tuple[str, str, list[tuple[str, float, str]]]] = {
    "pulse too short": (
        "20 pick1.r2 thrown",
        "20 pick1.r2 thrown 39.999",
        [
            (
                "pulse-too-short",
                59.999,
                "the pulse of pick1.r2 is 39.999 ms long and may not latch; coil small needs 40 ms",
            ),
            ("wrong-kind", 900, "row 2 column 1 of numeral shows ?, where glyph 'x' has chalk"),
        ],
    ),
    "pulse too long": (
        "682 swap rest",
        "682 swap rest 120.001",
        [
            (
                "pulse-too-long",
                802,
                "swap is still powered 120 ms after its pulse began, the longest that coil large "
                "bears",
            )
        ],
    ),
    "pulse too soon": (
        "148 drop.c1 rest",
        "147.999 drop.c1 rest",
        [
            (
                "pulse-too-soon",
                147.999,
                "drop.c1 is pulsed 59.999 ms after its last pulse; coil small needs 60 ms",
            )
        ],
    ),
    "both polarities": (
        "",
        "600 output 8 on\n600 output 9 on\n605 output 8 off\n605 output 9 off",
        [
            (
                "both-polarities",
                600,
                "outputs of both polarities are active at once on the coil of swap",
            )
        ],
    ),
    "nothing wired": (
        "",
        "600 output 10 on\n610 output 10 off",
        [("unwired-output", 600, "output 10 is active, and nothing is wired to it")],
    ),
    "left active": (
        "",
        "899 output 8 on",
        [
            (
                "left-active",
                900,
                "output 8 (swap forward) is still active after the last table",
            )
        ],
    ),
    "left thrown": (
        "682 swap rest",
        "",
        [("left-thrown", 900, "swap is still thrown after the last table")],
    ),
    "selector under an open gate": (
        "166 pick1.r1 thrown",
        "147 pick1.r1 thrown",
        [("selector-under-open-gate", 147, "pick1.r1 moves while drop.c1 below it is thrown")],
    ),
    "selector before the gate has settled": (
        "166 pick1.r1 thrown",
        "165.999 pick1.r1 thrown",
        [
            (
                "selector-under-open-gate",
                165.999,
                "pick1.r1 moves while drop.c1 below it settles at rest 0.001 ms later",
            )
        ],
    ),
    "gate before the selector has settled": (
        "194 drop.c2 thrown",
        "193.999 drop.c2 thrown",
        [
            (
                "selector-not-settled",
                193.999,
                "drop.c2 is thrown 0.001 ms before pick1.r1 is settled",
            ),
            (
                "selector-not-settled",
                193.999,
                "drop.c2 is thrown 0.001 ms before pick1.r2 is settled",
            ),
        ],
    ),
    "item still rolling": (
        "532 swap thrown",
        "531.999 swap thrown",
        [
            (
                "item-not-still",
                531.999,
                "swap is thrown 0.001 ms before the item above it lies still "
                "(row 1 column 2 of numeral and 1 more)",
            )
        ],
    ),
    "wrong kind": (
        "20 pick1.r2 thrown",
        "20 pick1.r1 thrown",
        [
            ("wrong-kind", 900, "row 1 column 1 of numeral shows chalk, where glyph 'x' has slate"),
            ("wrong-kind", 900, "row 2 column 1 of numeral shows slate, where glyph 'x' has chalk"),
        ],
    ),
    "nothing seen": (
        "532 swap thrown",
        "",
        [
            (
                "wrong-kind",
                900,
                f"row {row} column {column} of numeral shows nothing, where glyph 'x' has {kind}",
            )
            for row, column, kind in (
                (1, 1, "slate"),
                (1, 2, "chalk"),
                (2, 1, "chalk"),
                (2, 2, "slate"),
            )
        ],
    ),
    "an open gate": (
        "",
        "250 drop.c1 thrown\n350 drop.c1 rest",
        [
            (
                "arrives-at-open-gate",
                568,
                "an item arrives at the place above swap while swap isn't settled at rest "
                "(row 1 column 1 of numeral and 1 more)",
            )
        ],
    ),
}


@pytest.mark.parametrize(("old", "new", "expected"), EDITS.values(), ids=EDITS)
def test_an_edit_of_the_load_gives_its_fault(
    old: str, new: str, expected: list[tuple[str, float, str]]
) -> None:
    outcome = run(small_board(), load=edited(LOAD, old, new))
    assert told(outcome) == expected


def test_an_item_that_arrives_at_a_full_place_is_a_fault() -> None:
    machine = small_board()
    untransferred = "\n".join(line for line in LOAD.splitlines() if "swap" not in line)
    tables = (
        written(machine, HOME, HOME_MS),
        written(machine, untransferred, LOAD_MS),
        written(machine, LOAD, LOAD_MS, "x"),
    )
    what = "an item arrives at the place above swap, which holds {} already"
    cells = " (row 1 column {} of numeral and 1 more)"
    assert told(replay(machine, tables), HOME_MS + LOAD_MS) == [
        ("arrives-at-full-place", 366, what.format("slate") + cells.format(1)),
        ("arrives-at-full-place", 512, what.format("chalk") + cells.format(2)),
    ]


def with_gate(machine: Machine, name: str, open_us: int, refill_us: int) -> Machine:
    """The machine with other times of one gate."""

    def changed(gate: Gate) -> Gate:
        new = replace(gate, open_us=open_us, refill_us=refill_us)
        return new if gate.name == name else gate

    gates = tuple(map(changed, machine.gates))
    actuators = tuple(
        replace(a, part=changed(a.part)) if isinstance(a.part, Gate) else a
        for a in machine.actuators
    )
    lanes = tuple(replace(lane, gates=gates) for lane in machine.lanes)
    return replace(machine, gates=gates, actuators=actuators, lanes=lanes)


def test_a_gate_that_returns_before_it_was_open_for_long_enough_is_a_fault() -> None:
    # Thrown at 48 ms and settled at 66 ms: open from then on, so back at 148 ms is 82 ms later.
    assert run(with_gate(small_board(), "drop", 82_000, 70_000)).faults == ()
    assert told(run(with_gate(small_board(), "drop", 82_001, 70_000))) == [
        (kind, at, f"{name} returns 0.001 ms before it has been open for long enough")
        for kind, at, name in (
            ("return-too-soon", 148, "drop.c1"),
            ("return-too-soon", 294, "drop.c2"),
        )
    ]


def test_a_gate_that_is_thrown_again_before_its_refill_is_a_fault() -> None:
    # Back at 682 ms and settled at rest at 707 ms; thrown in the next load at 900 + 532 ms.
    refill_us = us(LOAD_MS + 532 - 707)
    for extra, faults in (
        (0, []),
        (
            1,
            [
                (
                    "throw-too-soon",
                    532,
                    "swap is thrown 0.001 ms before it may be after its last return",
                )
            ],
        ),
    ):
        machine = with_gate(small_board(), "swap", 60_000, refill_us + extra)
        tables = (written(machine, HOME, 2000), *[written(machine, LOAD, LOAD_MS)] * 2)
        assert told(replay(machine, tables), 2000 + LOAD_MS) == faults


def test_coils_that_draw_more_than_the_supply_gives_are_a_fault() -> None:
    # Home pulses two small coils (12 V over 8.2 ohm) and a large one (12 V over 5.6 ohm) at once:
    # 5.070 A, which with a margin of 20 % asks for 6.084 A. Ohm's law.
    limit_ua = 6_083_625
    assert run(board([NUMERAL], limit_ua=limit_ua + 1)).faults == ()
    outcome = run(board([NUMERAL], limit_ua=limit_ua))
    what = "the coils draw 5.070 A; supply bench gives 5.070 A with its margin, 6.084 A without"
    assert told(outcome, 0) == [("overload", 20, what)]


def test_a_bridge_that_turns_round_within_its_dead_time_is_a_fault() -> None:
    machine = small_board(DriveKind.BRIDGE)
    assert run(machine).faults == ()
    load = edited(LOAD, "682 swap rest", "682 swap rest\n742.099 swap thrown\n892 swap rest")
    assert told(run(machine, load=load))[0] == (
        "dead-time",
        742.099,
        "swap is pulsed 0.099 ms after its last pulse; the dead time of its drive is 0.1 ms",
    )
    load = edited(LOAD, "682 swap rest", "682 swap rest\n742.1 swap thrown\n892 swap rest")
    assert told(run(machine, load=load))[0] == (
        "pulse-too-soon",
        742.1,
        "swap is pulsed 0.1 ms after its last pulse; coil large needs 90 ms",
    )


def test_both_inputs_of_a_bridge_give_no_current_and_a_fault() -> None:
    load = edited(
        LOAD,
        "532 swap thrown",
        "532 output 8 on\n532 output 9 on\n592 output 8 off\n592 output 9 off",
    )
    outcome = run(small_board(DriveKind.BRIDGE), load=load)
    assert outcome.faults[0].kind is FaultKind.BOTH_POLARITIES
    assert outcome.faults[0].actuator == "swap"
    assert outcome.seen[-1].pictures == {"numeral": (None,) * 4}
    assert outcome.pulses["swap"] == 2


def test_contacts_that_overlap_in_a_slow_release_are_a_fault() -> None:
    slow = replace(CARD, operate_us=6_000, release_us=20_000)
    machine = with_relay(small_board(), slow)
    load = "50 output 8 on\n110 output 8 off\n111 output 9 on\n180 output 9 off"
    outcome = replay(machine, [written(machine, load, 400)])
    assert told(outcome, 0)[0] == (
        "both-polarities",
        117,
        "contacts of both polarities are closed at once on the coil of swap",
    )


def with_relay(machine: Machine, relay: Relay) -> Machine:
    drive = replace(machine.actuators[0].drive, relay=relay)
    return replace(machine, actuators=tuple(replace(a, drive=drive) for a in machine.actuators))


def test_a_table_that_ignores_the_times_of_its_relays_is_a_fault() -> None:
    """Relays operate in 10 ms and release in 6 ms, so every pulse would come late and short."""
    machine = small_board()
    quick = with_relay(machine, replace(CARD, operate_us=0, release_us=0))
    tables = [written(quick, HOME, HOME_MS), written(quick, LOAD, LOAD_MS)]
    assert replay(quick, tables).faults == ()
    faults = replay(machine, tables).faults
    assert [f.kind for f in faults[:1]] == [FaultKind.PULSE_TOO_SHORT]
    assert faults[0].at_us == us(20 + 40 + 6)
    assert "36 ms long" in faults[0].what


def run_shared(machine: Machine, load: str) -> Replay:
    return run(machine, SHARED_HOME, load, load_ms=SHARED_LOAD_MS)


@pytest.mark.parametrize(
    ("old", "new", "at"),
    [
        ("", "687.999 output 8 off\n688 output 8 on\n697.999 output 10 on", 697.999),
        ("", "757.999 output 8 off", 757.999),
    ],
    ids=["on before the contact has closed", "off after the contact has left"],
)
def test_a_relay_that_moves_while_the_pulse_switch_is_on_is_a_fault(
    old: str, new: str, at: float
) -> None:
    machine = small_board(switch=True)
    assert run_shared(machine, SHARED_LOAD).faults == ()
    assert told(run_shared(machine, edited(SHARED_LOAD, old, new))) == [
        (
            "switched-under-load",
            at,
            "the contact of output 8 (swap forward) moves while the pulse switch is on",
        )
    ]


def test_a_reverser_that_moves_while_a_coil_is_connected_is_a_fault() -> None:
    machine = small_board(DriveKind.SHARED_REVERSER)
    assert run_shared(machine, SHARED_LOAD).faults == ()
    twitch = "720 output 5 on\n725 output 5 off"
    assert told(run_shared(machine, edited(SHARED_LOAD, "", twitch))) == [
        (
            "reversed-under-load",
            720,
            "the contact of output 5 (reverser) moves while swap is powered",
        )
    ]


def test_a_coil_that_is_connected_while_the_reverser_moves_is_a_fault() -> None:
    machine = small_board(DriveKind.SHARED_REVERSER)
    late = edited(SHARED_LOAD, "", "838.5 output 5 off\n838.6 output 5 on")
    what = "the contact of output 5 (reverser) moves while swap is powered"
    assert ("reversed-under-load", 848, what) in told(run_shared(machine, late))


def test_home_that_moves_selectors_before_its_gates_is_a_fault() -> None:
    machine = small_board()
    late = edited(HOME, "20 swap rest", "121 swap rest")
    what = "{} moves while it isn't known whether swap is at rest"
    assert told(run(machine, home=late), 0) == [
        ("selector-before-gates", 120, what.format("pick1.r1")),
        ("selector-before-gates", 120, what.format("pick1.r2")),
    ]


def test_a_gate_thrown_while_a_selector_is_not_known_is_a_fault() -> None:
    home = edited(HOME, "120 pick1.r1 rest", "")
    assert told(run(small_board(), home=home))[0] == (
        "selector-not-known",
        48,
        "drop.c1 is thrown while the position of pick1.r1 isn't known",
    )


def test_a_magazine_that_runs_empty_is_a_fault_only_if_stock_counts() -> None:
    machine = board([NUMERAL], stock=1)
    assert told(run(machine))[:2] == [
        ("empty-magazine", 212, "no chalk is left (row 1 column 2 of numeral)"),
        ("empty-magazine", 212, "no slate is left (row 2 column 2 of numeral)"),
    ]
    assert run(machine, stock=False).faults == ()


def test_a_table_whose_steps_are_out_of_order_or_past_its_end_is_a_fault() -> None:
    machine = small_board()
    idle = machine.idle_word
    steps = (Step(0, idle), Step(5_000, idle), Step(4_000, idle), Step(11_000, idle))
    assert told(replay(machine, [StepTable("odd", steps, 10_000)]), 0) == [
        ("bad-table", 4, "a step at 4 ms stands after one at 5 ms"),
        ("bad-table", 11, "a step at 11 ms is past its end"),
    ]


def test_a_table_that_starts_from_another_picture_than_it_needs_is_a_fault() -> None:
    machine = small_board()
    home = written(machine, HOME, HOME_MS, "home")
    load = written(machine, LOAD, LOAD_MS, "x", SHOWS)
    reset = edited(LOAD, "", "20 pick1.r1 rest")
    again = replace(written(machine, reset, LOAD_MS, "x again", SHOWS), after=SHOWS)
    assert check(machine, [home, load, again], GLYPHS).faults == ()
    faults = check(machine, [home, again], GLYPHS).faults
    assert {(f.kind, f.at_us, f.table) for f in faults} == {
        (FaultKind.WRONG_START, us(HOME_MS), "x again")
    }
    assert faults[0].cell == NUMERAL.cells[0]


def test_a_fault_reads_as_one_line_with_its_table_and_time() -> None:
    outcome = run(small_board(), load=edited(LOAD, "194 drop.c2 thrown", "195 drop.c2 thrown 39"))
    assert str(outcome.faults[0]) == (
        "x, 234 ms into it, 534 ms from power-on: pulse-too-short: "
        "the pulse of drop.c2 is 39 ms long and may not latch; coil small needs 40 ms"
    )


def test_the_tolerance_forgives_what_is_over_within_it() -> None:
    """Two large coils in turn, with an overlap of 15 us; a switch that is 15 us early."""
    limit_ua = 3_000_000  # One large coil draws 2.143 A (12 V over 5.6 ohm), two draw 4.286 A.
    turns = "50 drop.c1 rest 60\n109.985 swap rest"
    machine = board([NUMERAL], limit_ua=limit_ua, gates={"hold": ROW, "drop": COLUMN, "swap": GRID})
    table = written(machine, turns, 400)
    assert [f.kind for f in replay(machine, [table], tolerance_us=14).faults] == ["overload"]
    assert replay(machine, [table], tolerance_us=15).faults == ()
    machine = small_board(switch=True)
    table = written(machine, "50 swap rest\n49.985 output 10 on", 400)
    assert [f.kind for f in replay(machine, [table], tolerance_us=14).faults] == [
        "switched-under-load"
    ]
    assert replay(machine, [table], tolerance_us=15).faults == ()


def test_a_replay_that_goes_wrong_without_end_is_cut_short() -> None:
    machine = small_board()
    bad = written(machine, edited(LOAD, "532 swap thrown", ""), LOAD_MS, "x", SHOWS)
    outcome = check(
        machine, itertools.chain([written(machine, HOME, HOME_MS)], itertools.repeat(bad)), GLYPHS
    )
    assert outcome.cut_short
    assert 10_000 < len(outcome.faults) < 10_100
