"""The firmware of a build, run here: the player and the line that a controller is given.

It is the `micropython` target, whose modules are plain Python; only its clock and its outputs are
ours.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from types import ModuleType
from typing import Any

from seqc.codegen.rendering import modules
from seqc.codegen.target import targets
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet

MODULES = ("seqc_tables", "seqc_cap", "seqc_player", "seqc_line")
TICK_US = 1_000

Output = Callable[[int, int], None]
"""Hears at which microsecond which word is put on the outputs."""


class Firmware:
    """A controller with these tables at power-on, on a clock that is told how far it has gone."""

    def __init__(self, machine: Machine, table_set: TableSet, output: Output) -> None:
        target = next(one for one in targets() if one.name == "micropython")
        found = _loaded(modules(target, machine, table_set, [f"{name}.py" for name in MODULES]))
        self.now_us = 0
        self.frozen = False
        self._output = output
        self._ticked_us = 0
        self._player = found["seqc_player"].Player(found["seqc_tables"], self._put, _difference)
        self._line = found["seqc_line"].Line(self._player)
        self._damaged = found["seqc_player"].TABLES

    def advance(self, to_us: int) -> str:
        """Go on to a time, step by step as a timer's interrupt would; what is said meanwhile."""
        said = ""
        while not self.frozen and self.now_us < to_us:
            due_us = self._player.due_us()
            ahead_us = TICK_US if due_us is None else min(max(due_us, 1), TICK_US)
            self.now_us = min(self.now_us + ahead_us, to_us)
            while self._ticked_us + TICK_US <= self.now_us:
                self._ticked_us += TICK_US
                self._player.cap.tick()
            self._player.poll(self.now_us)
            if not self._player.watch():
                self._player.fail(self._damaged)
            said += self._line.serve(self.now_us)
        return said

    def hear(self, data: bytes) -> str:
        """Bytes from the line; what is answered."""
        signs = (chr(code) if code < 128 else "?" for code in data)
        return "".join(self._line.hear(sign, self.now_us) for sign in signs)

    def _put(self, word: bytes) -> None:
        self._output(self.now_us, int.from_bytes(word, "little"))


def _difference(later_us: int, sooner_us: int) -> int:
    return later_us - sooner_us


def _loaded(sources: Mapping[str, str]) -> dict[str, Any]:
    """The modules of some sources, which import one another; none stays known by its name."""
    found: dict[str, Any] = {}
    kept = {name: sys.modules.get(name) for name in MODULES}
    try:
        for name in MODULES:
            module = ModuleType(name)
            found[name] = sys.modules[name] = module
            exec(compile(sources[f"{name}.py"], f"{name}.py", "exec"), module.__dict__)
    finally:
        for name, module_before in kept.items():
            if module_before is None:
                sys.modules.pop(name, None)
            else:
                sys.modules[name] = module_before
    return found
