"""The page's replay and the simulator agree on every part and cell at any time."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Sequence
from dataclasses import replace
from random import Random
from typing import Any, NamedTuple

import pytest
from boards import CELL, COLUMN, GRID, ROW, board, glyph, grid_of
from playwright.sync_api import Browser
from surveyed import example, needs_browser, opened, page_of, survey_of

from seqc.machine.electrics import DriveKind
from seqc.machine.glyphs import Font, Frame, Programme
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Linkage, Position
from seqc.machine.steptable import StepTable
from seqc.report.page.packing import Packer
from seqc.report.page.page import page
from seqc.report.survey import Survey
from seqc.simulator.simulator import Simulator

pytestmark = needs_browser

TIMES = 1_000

ASKED = """(times) => times.map((time) => {
  const state = App.player.scene.stateAt(time);
  return {
    parts: state.parts.map(({ at, moving }) => at + (moving ? "~" : "")),
    places: state.places.map((places) => places.map((row) => row.join(""))),
    coils: [...state.coils].sort(([a], [b]) => a - b),
    outputs: [...state.outputs].sort((a, b) => a - b),
    flights: state.flights.map((all) => all.flatMap((one) =>
      one.cells.map((cell, n) => [one.place, cell, one.kinds[n]].join())).sort()),
  };
})"""


class Stands(NamedTuple):
    """A machine at a time, in the words that the page is asked for."""

    parts: list[str]
    places: list[list[str]]
    coils: list[list[int]]
    outputs: list[int]
    flights: list[list[str]]


class Watching(Simulator):
    """A simulator that can be stopped at any time of a table, and goes on as if it hadn't been."""

    def at(self, table: StepTable, into_us: int) -> Stands:
        """How the machine stands so long into a table, all that happens at that time included."""
        fork = copy.copy(self)
        fork._grids = list(self._grids)
        fork._pulses, fork._closings = copy.deepcopy((self._pulses, self._closings))
        fork.taken = copy.copy(self.taken)
        steps = tuple(step for step in table.steps if step.at_us <= into_us)
        fork._step(StepTable(table.name, steps, into_us + 1))
        return fork.stands(self.machine)

    def stands(self, machine: Machine) -> Stands:
        """How it stands now."""
        letter = Packer(machine).letter
        electric = self._electric.value
        parts = ["?"] * len(machine.actuators)
        for lanes, grid in zip(self._lanes, self._grids, strict=True):
            state = grid.after.value
            for actuator, at, settled in zip(
                lanes.actuators, state.positions, state.settled, strict=True
            ):
                moving = "~" if settled > 0 and at is not None else ""
                parts[actuator.index] = _position(at) + moving
        states = [grid.after.value for grid in self._grids]
        return Stands(
            parts,
            [["".join(map(letter, row)) for row in state.places[1:]] for state in states],
            [[index, polarity] for index, polarity, _ in electric.powered],
            [n for n in range(electric.active.bit_length()) if electric.active >> n & 1],
            [
                sorted(
                    f"{place},{cell},{letter(kind)}"
                    for due, place, cells, kinds in state.flights
                    for cell, kind in zip(cells, kinds, strict=True)
                )
                for state in states
            ],
        )


def _position(at: Position | None) -> str:
    return "?" if at is None else at.value[0]


def stands_at(machine: Machine, tables: Sequence[StepTable], times: list[int]) -> Iterator[Stands]:
    """How the machine stands at rising times from power-on."""
    simulator = Watching(machine, stock=False)
    start, waiting = 0, list(times)
    for table in tables:
        end = start + table.length_us
        while waiting and waiting[0] < end:
            yield simulator.at(table, waiting.pop(0) - start)
        simulator._step(table)
        start = end


def quiet_times(shown: Any, count: int, length: int) -> list[int]:  # noqa: ANN401
    """Power-on and times drawn at random, none of them just before anything happens.

    A table that is cut a microsecond later lets items move that do so at that very end.
    """
    random = Random(f"moments {length}")
    drawn = sorted({1, *random.sample(range(1, length - 1), count)})
    script = "(times) => times.filter((t) => App.player.scene.step(t, true) !== t + 1)"
    return list(shown.evaluate(script, drawn))


@pytest.mark.quick(1)
@pytest.mark.parametrize(
    ("name", "count"),
    [
        ("berth_board", 150),
        ("berth_board", TIMES),
        ("pattern_board", TIMES),
        ("harbour_clock", TIMES),
    ],
)
def test_they_agree_at_random_times(browser: Browser, name: str, count: int) -> None:
    found = compared(browser, example(name), page_of(name), count)
    assert {part for one in found for part in one["parts"]} >= {"r", "t", "r~", "t~", "?"}
    assert any(flights for one in found for flights in one["flights"])


def board_with_glyphs(
    gates: dict[str, Linkage], dumps: int = 0, kind: DriveKind = DriveKind.CHANGEOVER_PAIR
) -> Machine:
    """A small board with two glyphs, shown in turn."""
    grid = grid_of(2, 3, [Cell(1, 1)])
    machine = board([grid], gates=gates, dumps=dumps, kind=kind, pulse_switch=True)
    glyphs = tuple(
        glyph(grid, *rows, name=name)
        for name, rows in (("a", ("010", "101")), ("b", ("000", "111")))
    )
    programme = Programme("p", tuple(Frame((one,)) for one in glyphs), 5_000_000, repeat=True)
    return replace(machine, fonts=(Font("hand", grid, glyphs),), programmes=(programme,))


@pytest.mark.thorough
@pytest.mark.parametrize(
    "machine",
    [
        board_with_glyphs({"drop": COLUMN}),
        board_with_glyphs({"drop": COLUMN, "dump": GRID}, dumps=1),
        board_with_glyphs({"drop": COLUMN, "hold": ROW, "swap": GRID, "dump": GRID}, dumps=1),
        board_with_glyphs({"drop": CELL, "swap": GRID}, kind=DriveKind.SHARED_REVERSER),
        board_with_glyphs({"drop": COLUMN, "swap": GRID}, kind=DriveKind.MATRIX),
    ],
    ids=["one gate", "gate below", "four gates", "per cell", "matrix"],
)
def test_they_agree_on_any_lane_and_drive(browser: Browser, machine: Machine) -> None:
    survey = survey_of(machine, machine.programmes)
    assert survey.errors == ()
    compared(browser, survey, page(survey), 100)


def compared(browser: Browser, survey: Survey, html: str, count: int) -> list[dict[str, Any]]:
    """What the page says at so many times of the first programme, held against the simulator."""
    tables = [run.table for run in survey.programmes[0].trace.runs]
    length = sum(table.length_us for table in tables)
    with opened(browser, html) as (shown, heard):
        assert shown.evaluate("() => App.player.scene.length") == length
        times = quiet_times(shown, count, length)
        assert len(times) > count * 0.99
        found = shown.evaluate(ASKED, times)
        expected = stands_at(survey.machine, tables, times)
        for time, page_says, stands in zip(times, found, expected, strict=True):
            assert page_says == stands._asdict(), f"{time} us"
        assert heard == []
        return list(found)
