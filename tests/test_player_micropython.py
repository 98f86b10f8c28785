"""The `micropython` target under MicroPython makes the same edges as the player in C."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest
from examples_on_disk import machine_of as example_machine
from examples_on_disk import tables_of
from firmware import micro
from firmware.handmade import machine_of, table, table_set
from firmware.host import State, needs, player_for, target
from firmware.scripts import MACHINE, every_branch

from seqc.codegen import render
from seqc.codegen.checks import rest_us
from seqc.examples import EXAMPLES
from seqc.machine.steptable import TablesFor

MICRO = target("micropython")
CASES = [case for case in every_branch() if case.flip is None]


@pytest.mark.quick(0)
@needs("gcc")
@pytest.mark.parametrize("number", range(len(CASES)))
def test_scripts_have_the_same_outcome_as_in_c(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    case = CASES[number]
    monkeypatch.setattr("seqc.codegen.rendering.check", lambda *_: None)
    script = [line for line in case.script if not line.startswith(("poll 4", "lose", "refresh"))]
    wanted = player_for(tmp_path / "c", MACHINE, case.tables).play(script)
    heard = micro.play(tmp_path / "py", MICRO, MACHINE, case.tables, script)
    assert heard.edges == wanted.edges
    assert heard.states == wanted.states
    assert heard.answer("done") == wanted.answer("done")
    # They are two builds, so their numbers differ.
    assert [text[:-8] for text in heard.said] == [text[:-8] for text in wanted.said]


@pytest.mark.quick(1)
@needs("gcc")
@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_both_examples_make_the_edges_of_their_programmes(example: str, tmp_path: Path) -> None:
    machine = example_machine(example, tmp_path)
    tables = tables_of(machine, TablesFor.PROGRAMME)
    steps = sum(len(table.steps) for table in tables)
    script = ["at 5000", "home", "play 0 99999", "run", f"play 0 {steps}", "state"]
    heard = micro.play(tmp_path / "py", MICRO, machine, tables, script)
    wanted = player_for(tmp_path / "c", machine, tables).play(script)
    assert heard.edges == wanted.edges
    assert len(heard.edges) >= steps
    assert heard.states == [State.BUSY]


@pytest.mark.thorough
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


@pytest.mark.thorough
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
def advance(us):
    # the hardware's timer goes on with the clock
    global now
    for _ in range(us // 50):
        now += 50
        if now % 1000 == 0 and Timer.callback: Timer.callback(None)
class Clock:
    def ticks_us(self):
        advance(50)
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
        if not self.left: end()
class Timer:
    PERIODIC, callback = 1, None
    def __init__(self, number, freq, mode, callback, hard): Timer.callback = callback
    def deinit(self): Timer.callback = None
class Pin:
    OUT = 1
    def __init__(self, number, mode, value): pass
    def value(self, level): pass
machine, select = Module(), Module()
machine.Pin, machine.WDT, machine.Timer = Pin, Guard, Timer
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
except BaseException as error:
    print('ended', type(error).__name__)
"""
ENOUGH = "def end(): raise Enough()\n"


def test_the_main_program_homes_the_machine(tmp_path: Path) -> None:
    tables = CASES[0].tables
    for name, text in render(MICRO, MACHINE, tables).items():
        (tmp_path / name).write_text(text)
    turns = (rest_us(MACHINE) + tables.home.length_us) // 50 + 100
    told = micro.raw(tmp_path, f"turns = {turns}\n{ENOUGH}{MAIN}").splitlines()
    assert told[-1] == "ended Enough"
    words = [int(line.split()[2], 16) for line in told[:-1]]
    home = [step.word for step in tables.home.steps]
    assert words == [MACHINE.idle_word, *home, MACHINE.idle_word], "off at the end, too"
    times = [int(line.split()[1]) for line in told[1:-2]]
    for at, step in zip(times, tables.home.steps, strict=True):
        assert 0 <= at - times[0] - step.at_us <= 100 * len(times)


WAYS = {
    "Ctrl-C": "raise KeyboardInterrupt()",
    "an error": "raise ValueError('x')",
    "no memory": "raise MemoryError()",
    "an exit": "raise SystemExit()",
    "a hang": "advance(400000); raise Enough()",
}


@pytest.mark.quick(0)
@pytest.mark.parametrize("way", WAYS)
def test_on_every_way_out_of_main_no_output_stays_active(way: str, tmp_path: Path) -> None:
    machine = machine_of(8, low=True, longest_us=56_000)
    tables = replace(CASES[0].tables, home=table(machine, "home", [1, 3, 5]))
    for name, text in render(MICRO, machine, tables).items():
        (tmp_path / name).write_text(text)
    chance = random.Random(way)
    for _ in range(4):
        # A pulse is on, some time in home.
        moment_us = rest_us(machine) + chance.choice((5_000, 55_000, 105_000))
        turns = (moment_us + chance.randrange(5_000, 35_000)) // 50
        code = f"turns = {turns}\ndef end():\n    {WAYS[way]}\n{MAIN}"
        told = [line.split() for line in micro.raw(tmp_path, code).splitlines()]
        outs = [(int(words[1]), int(words[2], 16)) for words in told if words[0] == "out"]
        lit = [at for at, word in outs if word != machine.idle_word]
        assert outs[-1][1] == machine.idle_word, "safe at the end"
        assert lit
        after = next(at for at, word in outs if at >= lit[-1] and word == machine.idle_word)
        assert after - lit[-1] <= 60_000, "and no pulse was longer than its coil bears"
