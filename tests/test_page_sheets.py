"""Sheets for the bench, held against what was counted by hand and what the forecast says."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from boards import board, grid_of
from examples_on_disk import machine_of
from surveyed import example

from seqc.forecast.stock import Load
from seqc.machine.electrics import DriveKind
from seqc.machine.model import Machine
from seqc.machine.parts import Cell
from seqc.report.drawings.tones import looks_of
from seqc.report.page.sheet_page import sheet_page
from seqc.report.sheets.choice import GLYPHS_A_PAGE, glyphs_sheet
from seqc.report.sheets.filling import filling_sheet
from seqc.report.sheets.parts import parts_sheet
from seqc.report.sheets.sheet import Sheet
from seqc.report.sheets.spares import spares_sheet
from seqc.report.sheets.wiring import wiring_sheet


def listed(sheet: Sheet) -> list[tuple[str, ...]]:
    """All rows of a sheet."""
    return [row for table in sheet.tables for row in table.rows]


def bought(sheet: Sheet) -> dict[str, str]:
    """How many of each part, those of one name joined."""
    found: dict[str, str] = {}
    for count, part, _ in listed(sheet):
        found[part] = f"{found[part]} + {count}" if part in found else count
    return found


def test_the_berth_board_is_bought_as_counted_by_hand() -> None:
    """Six selectors and four gates with small coils, one gate with a large one, pairs of relays."""
    survey = example("berth_board")
    found = bought(parts_sheet(survey.machine, survey.programmes[0].forecast))
    assert found["actuator small"] == "10"
    assert found["actuator large"] == "1"
    assert found["relay card"] == "20 + 2"
    assert found["bidirectional suppressor"] == "10 + 1"
    assert found["shift register"] == "3"
    assert found["connector, two poles"] == "11"
    assert found["slate"] == found["chalk"] == "260"
    assert found["fuse"] == "1"


@pytest.mark.thorough
def test_wire_is_bought_by_its_length(tmp_path: Path) -> None:
    """The clock: 48 small coils and 6 large ones at 2 m, there and back, and a tenth more."""
    found = listed(parts_sheet(machine_of("harbour_clock", tmp_path)))
    wires = {what: count for count, part, what in found if part == "wire"}
    assert wires == {
        "0.33 mm2 copper, to the coils and back": "212 m",
        "0.52 mm2 copper, to the coils and back": "27 m",
    }


@pytest.mark.parametrize(
    ("kind", "wanted"),
    [
        (DriveKind.CHANGEOVER_PAIR, {"relay card": "18 + 2", "pulse switch": "1"}),
        (DriveKind.BRIDGE, {"bridge": "9 + 1", "pulse switch": "1"}),
        (DriveKind.SHARED_REVERSER, {"relay card": "9 + 1 + 1", "pulse switch": "1"}),
        (
            DriveKind.MATRIX,
            {
                "high switch of a row": "4",
                "low switch of a row": "4",
                "half bridge of a column": "3",
                "diode": "20",
            },
        ),
    ],
)
def test_each_drive_is_bought_with_all_that_it_switches(
    kind: DriveKind, wanted: dict[str, str]
) -> None:
    """Four rows and five columns: nine small coils and a large one; a matrix of three columns."""
    found = bought(parts_sheet(board([grid_of(4, 5)], kind=kind, pulse_switch=True)))
    assert {part: found.get(part) for part in wanted} == wanted


def test_every_wired_output_has_a_row_and_the_spare_ones_a_line() -> None:
    machine = example("berth_board").machine
    sheet = wiring_sheet(machine)
    wired = {int(row[0]) for row in listed(sheet)}
    assert wired == {output for a in machine.actuators for output in a.outputs}
    assert "Spare outputs: 22, 23." in sheet.told
    by_output = {int(row[0]): row for row in listed(sheet)}
    for actuator in machine.actuators:
        forward, reverse = actuator.outputs
        assert by_output[forward][2] == by_output[reverse][2] == actuator.name
        assert by_output[forward][5] == "forward to thrown"


def test_what_is_filled_is_what_the_forecast_loads() -> None:
    forecast = example("berth_board").programmes[0].forecast
    sheet = filling_sheet(forecast)
    counts = [int(cell) for table in sheet.tables for row in table.rows for cell in row[1:]]
    loads = [count for kind in forecast.stocks for count in kind.fill_recirculated.values()]
    assert sorted(counts) == sorted(loads)
    assert [len(table.rows) for table in sheet.tables] == [6, 6]


def test_cells_without_a_magazine_have_no_box() -> None:
    forecast = example("berth_board").programmes[0].forecast
    last = forecast.machine.grids[0].cells[-1]
    stocks = tuple(
        replace(kind, fill_recirculated=without(kind.fill_recirculated, last))
        for kind in forecast.stocks
    )
    sheet = filling_sheet(replace(forecast, stocks=stocks))
    assert sheet.tables[0].rows[-1][-1] == ""
    html = sheet_page(sheet)
    assert html.count('class="box"') == 2 * (len(forecast.machine.grids[0].cells) - 1)


def without(load: Load, cell: Cell) -> Load:
    return {magazine: count for magazine, count in load.items() if magazine.cell != cell}


def test_spares_are_those_of_the_forecast() -> None:
    forecast = example("berth_board").programmes[0].forecast
    rows = listed(spares_sheet(forecast))
    assert [row[0] for row in rows] == [spare.kind for spare in forecast.spares]
    assert [int(row[2]) for row in rows] == [spare.enough for spare in forecast.spares]


def test_every_row_to_tick_has_a_box() -> None:
    sheet = wiring_sheet(example("berth_board").machine)
    assert sheet_page(sheet).count('class="box"') == len(listed(sheet))


def test_a_large_font_goes_over_several_pages() -> None:
    survey = example("berth_board")
    font = survey.fonts[0]
    many = font._replace(glyphs=font.glyphs * 10)
    assert len(glyphs_sheet(survey.machine, [many]).drawings) == -(-100 // GLYPHS_A_PAGE)


def test_a_tone_that_nobody_knows_still_has_a_look() -> None:
    machine: Machine = board([grid_of(1, 1)], kinds=4)
    looks = list(looks_of(machine).values())
    assert len({(look.tone, look.mark) for look in looks}) == 4
    assert all(re.fullmatch("tone-[a-z]+", look.tone) for look in looks)
