"""The `micropython` target under MicroPython makes the same edges as the player in C."""

from __future__ import annotations

from pathlib import Path

import pytest
from examples_on_disk import machine_of as example_machine
from examples_on_disk import tables_of
from firmware import micro
from firmware.handmade import machine_of, table_set
from firmware.host import State, needs, player_for, target
from firmware.scripts import MACHINE, every_branch

from seqc.codegen import render
from seqc.codegen.checks import rest_us
from seqc.examples import EXAMPLES
from seqc.machine.steptable import Layout

MICRO = target("micropython")
CASES = [case for case in every_branch() if case.flip is None]


@pytest.mark.quick(4)
@needs("gcc")
@pytest.mark.parametrize("number", range(len(CASES)))
def test_scripts_have_the_same_outcome_as_in_c(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = CASES[number]
    monkeypatch.setattr("seqc.codegen.rendering.check", lambda *_: None)
    script = [line for line in case.script if not line.startswith("poll 4")]
    wanted = player_for(tmp_path / "c", MACHINE, case.tables).play(script)
    heard = micro.play(tmp_path / "py", MICRO, MACHINE, case.tables, script)
    assert heard.edges == wanted.edges
    assert heard.states == wanted.states
    assert heard.answer("done") == wanted.answer("done")
    assert heard.said == wanted.said


@needs("gcc")
@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_both_examples_make_the_edges_of_their_programmes(example: str, tmp_path: Path) -> None:
    machine = example_machine(example, tmp_path)
    tables = tables_of(machine, Layout.PROGRAMME)
    steps = sum(len(table.steps) for table in tables)
    script = ["at 5000", "home", "play 0 99999", "run", f"play 0 {steps}", "state"]
    heard = micro.play(tmp_path / "py", MICRO, machine, tables, script)
    wanted = player_for(tmp_path / "c", machine, tables).play(script)
    assert heard.edges == wanted.edges
    assert len(heard.edges) >= steps
    assert heard.states == [State.BUSY]


def test_damaged_tables_leave_every_output_inactive(tmp_path: Path) -> None:
    files = render(MICRO, MACHINE, CASES[0].tables)
    text = files["seqc_tables.py"]
    at = text.index("\\x", text.index("# records"))
    spoilt = f"{text[: at + 2]}ff{text[at + 4 :]}"
    assert spoilt != text
    for name, content in {**files, "seqc_tables.py": spoilt}.items():
        (tmp_path / name).write_text(content)
    heard = micro.run(tmp_path, ["home", "play 0 99", "show 0", "play 0 99", "state"])
    assert heard.states == [State.FAULT]
    assert {word for _, word in heard.edges} == {MACHINE.idle_word}


def test_the_clock_may_wrap(tmp_path: Path) -> None:
    tables = CASES[0].tables
    begin = micro.WRAP_US - 50_000
    script = ["home", "play 0 99", "show 1", "play 0 99", "state"]
    plain = micro.play(tmp_path / "a", MICRO, MACHINE, tables, ["at 0", *script])
    wrapped = micro.play(tmp_path / "b", MICRO, MACHINE, tables, [f"at {begin}", *script])
    assert [(at - begin, word) for at, word in wrapped.edges] == list(plain.edges)


BOARD = """
levels = {}
order = []
class Pin:
    OUT = 1
    def __init__(self, number, mode, value):
        self.number = number
        levels[number] = value
        order.append((number, value))
    def value(self, level):
        if level and self.number == %d and not levels[self.number]:
            chain.insert(0, levels[%d])
        if level and self.number == %d:
            latched[:] = chain[:size]
        levels[self.number] = level
chain, latched = [], []
import sys
class Module: pass
sys.modules['machine'] = Module()
sys.modules['machine'].Pin = Pin
sys.path.append('/input')
import seqc_board
for word in script:
    seqc_board.output(bytes(word))
    print('pins', [levels[number] for _, number in seqc_board.OUTPUTS], latched, levels.get(%d))
"""


@pytest.mark.parametrize("bits", [(11,), (3, 9)])
def test_the_board_puts_words_on_pins_and_chain(bits: tuple[int, ...], tmp_path: Path) -> None:
    machine = machine_of(*bits)
    for name, text in render(MICRO, machine, table_set(machine)).items():
        (tmp_path / name).write_text(text)
    words = [[0x00, 0x00], [0xFF, 0x0F], [0x35, 0x0A]]
    options = [MICRO.options[f"chain_{name}"] for name in ("clock", "data", "latch", "enable")]
    size = 8 * ((bits[0] + 7) // 8)
    heard = micro.raw(tmp_path, f"script, size = {words}, {size}\n{BOARD % tuple(options)}")
    for told, word in zip(heard.splitlines(), words, strict=True):
        levels = [word[n >> 3] >> (n & 7) & 1 for n in range(16)]
        pins = levels[bits[0] : sum(bits)]
        assert told == f"pins {pins} {levels[:size]} 0"


MAIN = """
import sys
sys.path.append('/input')
class Module: pass
now = 0
class Clock:
    def ticks_us(self):
        global now
        now += 50
        return now
    def ticks_diff(self, later, sooner): return later - sooner
class Poll:
    def register(self, stream, mode): pass
    def poll(self, timeout): return False
class Enough(Exception): pass
class Guard:
    def __init__(self, timeout): self.left = turns
    def feed(self):
        self.left -= 1
        if not self.left: raise Enough()
class Pin:
    OUT = 1
    def __init__(self, number, mode, value): pass
    def value(self, level): pass
machine, select = Module(), Module()
machine.Pin, machine.WDT = Pin, Guard
select.poll, select.POLLIN = Poll, 1
sys.modules['machine'], sys.modules['select'], sys.modules['time'] = machine, select, Clock()
import seqc_board
real = seqc_board.output
def output(word):
    real(word)
    print('out', now, ''.join('%02x' % word[n] for n in range(len(word) - 1, -1, -1)))
seqc_board.output = output
try:
    exec(open('/input/main.py').read())
except Enough:
    print('enough')
"""


def test_the_main_program_homes_the_machine(tmp_path: Path) -> None:
    tables = CASES[0].tables
    for name, text in render(MICRO, MACHINE, tables).items():
        (tmp_path / name).write_text(text)
    turns = (rest_us(MACHINE) + tables.home.length_us) // 50 + 100
    told = micro.raw(tmp_path, f"turns = {turns}\n{MAIN}").splitlines()
    assert told[-1] == "enough"
    words = [int(line.split()[2], 16) for line in told[:-1]]
    assert words == [MACHINE.idle_word, *(step.word for step in tables.home.steps)]
    times = [int(line.split()[1]) for line in told[1:-1]]
    for at, step in zip(times, tables.home.steps, strict=True):
        assert 0 <= at - times[0] - step.at_us <= 100 * len(times)
