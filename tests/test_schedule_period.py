"""The period of a programme: told once, kept where it is told, and never a microsecond less."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
from boards import COLUMN, GRID, board, grid_of
from click.testing import CliRunner
from reference.schedule_machines import mixed_machine
from reference.schedule_machines import random_machine as any_drive
from strategies import Limits, loadable_glyph, partly, random_machine

import seqc
from seqc.cli.main import main
from seqc.machine.findings import NOWHERE, Findings, ShortfallError
from seqc.machine.glyphs import Frame, Glyph, Programme
from seqc.machine.model import Machine
from seqc.machine.steptable import TablesFor

ONE_CELL = """\
machine one_cell
item slate { tone dark } item chalk { tone light }
grid dot { columns 1 rows 1 }
lane dot = shown <- swap <- drop <- pick(slate, chalk)
selector pick { per cell coil small settle 8 ms }
gate drop { per cell coil small open 45 ms refill 60 ms }
gate swap { per cell coil small open 45 ms }
path drop -> swap { falls in 200 ms }
path swap -> shown { falls in 100 ms settle 20 ms }
coil small { 12 V 15 ohm 9 mH pulse 30 ms travel 16 ms minimum off 30 ms max pulse 60 ms }
relay card { operate 8 ms release 5 ms }
outputs bus { bits 6 }
drive pick, drop, swap { changeover pair relay card from bus }
supply bench { 12 V limit 4 A margin 20 % }
tolerance 0 %
font f for dot { mark "#" slate mark "." chalk glyph "a" { |#| } glyph "b" { |.| } }
programme p { show "aa" every EVERY }
"""
SMALL = Limits(rows=2, columns=3, kinds=3, routes=3)
FALLS_US = (None, 5_000, 60_000)
FEW = 20
MANY = 220


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, words)
    return result.exit_code, result.output


@pytest.mark.quick(4)
@pytest.mark.parametrize("show", ["aa", "a", "aaa", "ab", "abb", "aab"])
@pytest.mark.parametrize("repeat", ["", " repeat"])
def test_what_check_calls_kept_is_built(tmp_path: Path, show: str, repeat: str) -> None:
    file = tmp_path / "one_cell.lanes"

    def told(every_us: int) -> tuple[bool, int]:
        text = ONE_CELL.replace('"aa"', f'"{show}"').replace("EVERY", f"{every_us} us{repeat}")
        file.write_text(text, encoding="utf-8")
        findings = Findings()
        machine = seqc.read(file, findings)
        timing = seqc.plan(machine, machine.programmes[0]).timing
        assert timing.proven
        return timing.kept, timing.period_us

    _, period_us = told(1_000_000)
    for every_us in (1_000, period_us - 1, period_us, period_us + 1, period_us + 50_000):
        kept, again_us = told(every_us)
        assert again_us == period_us
        assert kept == (every_us >= period_us)
        out = str(tmp_path / f"built {every_us}")
        assert (run("check", str(file))[0] == 0) == kept
        code, said = run("build", str(file), "--out", out, "--target", "csv")
        assert (code == 0) == kept, said


def test_a_cadence_that_is_not_kept_says_what_to_write(tmp_path: Path) -> None:
    file = tmp_path / "one_cell.lanes"
    file.write_text(ONE_CELL.replace("EVERY", "100 ms"), encoding="utf-8")
    code, said = run("check", str(file))
    assert code == 1
    # swap: thrown after 16 ms; the item falls 100 and lies still after 20; the relay leads by 8.
    assert "needs 144 ms a frame, but its cadence is 100 ms; write `every 144 ms`" in said
    assert "--advise" in said
    assert "--slower" in said


def a_programme(glyphs: list[Glyph], every_us: int, repeat: bool) -> Programme:
    return Programme("p", tuple(Frame((glyph,)) for glyph in glyphs), every_us, repeat, NOWHERE)


def some_case(seed: int) -> tuple[Machine, list[Glyph], bool]:
    """A machine with any drive, short and long falls; up to four frames, some of them alike."""
    random = Random(seed)
    machine = (
        random_machine(random, SMALL),
        any_drive(random, 2),
        mixed_machine(random, 2),
    )[seed % 3]
    fall_us = random.choice(FALLS_US)
    if fall_us is not None:
        lanes = (
            replace(lane, paths=tuple(replace(path, fall_us=fall_us) for path in lane.paths))
            for lane in machine.lanes
        )
        machine = replace(machine, lanes=tuple(lanes))
    glyphs: list[Glyph] = []
    for number in range(random.randint(1, 4)):
        coming = loadable_glyph(random, machine, str(number))
        if glyphs and random.random() < 0.4:
            coming = replace(partly(random, machine, glyphs[-1], coming), name=str(number))
        if glyphs and random.random() < 0.25:
            coming = glyphs[-1]
        glyphs.append(coming)
    return machine, glyphs, random.random() < 0.6


def built(machine: Machine, programme: Programme) -> bool:
    """Whether a programme is laid out; what is laid out must be replayed without a fault."""
    try:
        tables = seqc.tables(machine, programme, TablesFor.PROGRAMME)
    except ShortfallError as error:
        if [found.code for found in error.findings] != ["cadence-not-kept"]:
            raise
        return False
    replayed = seqc.replay(machine, tables, programme)
    assert [str(fault) for fault in replayed.faults] == []
    return True


@pytest.mark.quick(5)
@pytest.mark.parametrize(
    "seed",
    [
        *range(FEW),
        *(pytest.param(seed, marks=pytest.mark.thorough) for seed in range(FEW, MANY)),
    ],
)
def test_the_told_period_is_kept_and_no_less(seed: int) -> None:
    machine, glyphs, repeat = some_case(seed)
    timing = seqc.plan(machine, a_programme(glyphs, 1_000_000, repeat)).timing
    told_us = timing.period_us
    assert 0 < timing.bound_us <= told_us
    hurried = seqc.plan(machine, a_programme(glyphs, 1, repeat)).timing
    assert (hurried.period_us, hurried.bound_us) == (told_us, timing.bound_us)
    for every_us in (told_us, told_us + 1_000, told_us + 25_000, 2 * told_us + 100_000):
        assert built(machine, a_programme(glyphs, every_us, repeat)), every_us
    assert not built(machine, a_programme(glyphs, told_us - 1, repeat))


def test_a_round_need_not_end_with_a_quiet_machine() -> None:
    # Items fall 5 ms, so that gates still return when the next change may start.
    machine = board([grid_of(2, 2)], gates={"drop": COLUMN, "swap": GRID}, fall_us=5_000)
    kinds = [("slate", "chalk"), ("chalk", "slate"), ("slate", "slate")]
    glyphs = [
        Glyph(str(number), "hand", "numeral", (one, two, one, two))
        for number, (one, two) in enumerate(kinds)
    ]
    timing = seqc.plan(machine, a_programme(glyphs, 1_000_000, True)).timing
    assert timing.proven
    assert timing.period_us < timing.quiet_us
    assert built(machine, a_programme(glyphs, timing.period_us, True))
