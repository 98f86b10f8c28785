"""A trace as the page's script reads it: segments once, and for each run their numbers.

A block is one JSON document, deflated (RFC 1951) and written in base 64; the script unpacks it when
it is first looked at. `script/trace.js` is the other side and has the same layout:

- `electric`: for each segment `[outputs, coils, events]`: what is active and which coils have
  current when it starts (`[actuator, polarity, since]`), then `[t, 0, output, on]` and
  `[t, 1, actuator, polarity]`.
- `grids`: for each grid and segment `[positions, moving, places, flights, events]`: a letter for
  each actuator of the grid (`r`est, `t`hrown, `?`), `[actuator, settles]`, a string of kinds for
  each place, `[due, place, cells, kinds]`; the events are `[t, 2, actuator, letter]` (`R`, `T` for
  a motion that begins), `[t, 3, place, cells, kinds]` for items that set out for a place and
  `[t, 4, place, cells, kinds]` for what a place holds from then on.
- `runs`: the segments' numbers run by run, `lengths` as `[length, times]`, `titles`; `plans` are
  the plans of frames, and `loads` has for each run the number of the one that is loaded in it.

Times are microseconds from the start of the segment. A kind is a letter: `a` for the first item.
"""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Any

from seqc.machine.model import Machine
from seqc.machine.parts import Grid, Position
from seqc.machine.steptable import StepTable
from seqc.report.drawings.tracks import POLARITY, output_edges
from seqc.report.words import actuators_words
from seqc.simulator.electric import ElectricState
from seqc.simulator.faults import Event
from seqc.simulator.grid_state import GridState
from seqc.simulator.trace import Run, Segment, Trace
from seqc.solver.plan import FramePlan, GridPlan, Pass

NOTHING, NOT_KNOWN, FIRST = ".", "?", ord("a")
OUTPUT, COIL, POSITION, FLIGHT, ITEM = range(5)
LETTERS = {"rest": "r", "thrown": "t", "to rest": "R", "to thrown": "T", "lost": "?"}

Document = Any


def packed(document: Document) -> str:
    """A document as a block."""
    text = json.dumps(document, separators=(",", ":"), ensure_ascii=False)
    squeezer = zlib.compressobj(9, wbits=-15)
    return base64.b64encode(squeezer.compress(text.encode()) + squeezer.flush()).decode()


def unpacked(block: str) -> Document:
    """The document of a block."""
    return json.loads(zlib.decompress(base64.b64decode(block), wbits=-15))


class Packer:
    """Packs runs of a machine."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.letters = {item.name: chr(FIRST + n) for n, item in enumerate(machine.items)}

    def block(self, trace: Trace, runs: Sequence[Run]) -> Document:
        """Runs of a trace, with the segments that they are made of."""
        electric = _Numbers()
        grids = [_Numbers() for _ in self.machine.grids]
        rows = [electric.of(run.electric) for run in runs]
        own = [[numbers.of(run.grids[grid]) for run in runs] for grid, numbers in enumerate(grids)]
        tables = {run.electric: run.table for run in reversed(runs)}
        return {
            "electric": [self._electric(trace.electric[n], tables[n]) for n in electric.kept],
            "grids": [
                [self._grid(grid, trace.grids[rank][n]) for n in numbers.kept]
                for rank, (grid, numbers) in enumerate(zip(self.machine.grids, grids, strict=True))
            ],
            "runs": [rows, *own],
            "lengths": _run_lengths(run.table.length_us for run in runs),
            "titles": [title_of(run.table) for run in runs],
        }

    def plan(self, plan: FramePlan) -> Document:
        """How a frame is loaded: for each grid its kinds and its passes, in words and by number."""
        return [self._grid_plan(part) for part in plan if part.passes]

    def _grid_plan(self, part: GridPlan) -> Document:
        stages = [f"cycle {actuators_words(stage)}" for stage in (*part.dumps, *part.transfers)]
        return {
            "grid": [grid.name for grid in self.machine.grids].index(part.glyph.grid),
            "kinds": "".join(map(self.letter, part.glyph.kinds)),
            "passes": [
                [
                    _set_words(step),
                    f"cycle {actuators_words(step.operate)}",
                    [actuator.index for actuator in step.operate],
                ]
                for step in part.passes
            ],
            "then": f"Then {', '.join(stages)}." if stages else "",
        }

    def _electric(self, segment: Segment[ElectricState], table: StepTable) -> Document:
        start = segment.start
        events = [[at, OUTPUT, n, on] for at, n, on in output_edges(self.machine, start, table)]
        events += [
            [event.at_us, COIL, event.number, POLARITY[event.state]]
            for event in segment.events
            if event.what == "coil"
        ]
        active = [n for n in range(start.active.bit_length()) if start.active >> n & 1]
        return [active, [list(one) for one in start.powered], sorted(events, key=lambda e: e[0])]

    def _grid(self, grid: Grid, segment: Segment[GridState]) -> Document:
        start = segment.start
        own = [a.index for a in self.machine.actuators if a.grid.name == grid.name]
        positions = "".join(_letter(at) for at in start.positions)
        moving = [
            [index, settles]
            for index, settles in zip(own, start.settled, strict=True)
            if settles > 0
        ]
        places = ["".join(map(self.letter, row)) for row in start.places[1:]]
        flights = [
            [due, place, list(cells), "".join(map(self.letter, kinds))]
            for due, place, cells, kinds in start.flights
        ]
        return [positions, moving, places, flights, list(self._events(segment.events))]

    def _events(self, events: Iterable[Event]) -> Iterator[Document]:
        """Events in their order, items of one time and place together."""
        for key, group in groupby(events, lambda event: (event.at_us, event.what, event.place)):
            at_us, what, place = key
            if what == "position":
                for event in group:
                    yield [at_us, POSITION, event.number, LETTERS[event.state]]
            elif what in ("flight", "item"):
                items = list(group)
                kinds = "".join(self.letter(event.state) for event in items)
                code = FLIGHT if what == "flight" else ITEM
                yield [at_us, code, place, [event.number for event in items], kinds]

    def letter(self, kind: str | None) -> str:
        """The letter of a kind."""
        return self.letters.get(kind, NOT_KNOWN) if kind else NOTHING


class _Numbers:
    """Numbers of a trace that are used, numbered anew as they come."""

    def __init__(self) -> None:
        self.kept: dict[int, int] = {}

    def of(self, number: int) -> int:
        return self.kept.setdefault(number, len(self.kept))


def title_of(table: StepTable) -> str:
    """What a run is called: the frame that it shows, or else its table."""
    return " ".join(glyph for _, glyph in table.shows) or table.name


def _set_words(step: Pass) -> str:
    """The selectors that a pass moves: `pick rows 1, 6 thrown; pick rows 2-5 rest`."""
    words = []
    for position in (Position.THROWN, Position.REST):
        moved = [actuator for actuator, at in step.set if at is position]
        words += [f"{actuators_words(moved)} {position.value}"] if moved else []
    return "; ".join(words)


def _run_lengths(lengths: Iterable[int]) -> list[list[int]]:
    return [[length, len(list(same))] for length, same in groupby(lengths)]


def _letter(position: Position | None) -> str:
    return "?" if position is None else position.value[0]
