"""The whole forecast: energy, cost, findings, text and document."""

import json
from dataclasses import replace

import pytest
from boards import ROW, board, grid_of
from forecast_runs import DAY_US, HOUR_US, SECOND_US, stocked

from seqc.forecast.result import Conditions, Forecast, forecast
from seqc.forecast.span import spoken
from seqc.forecast.usage import Draw, FrameUse, Run
from seqc.machine.clearance import Clearance, LaneField, Magnet, Point
from seqc.machine.findings import Place
from seqc.machine.magnetism import SteelBall
from seqc.machine.model import Machine
from seqc.report.forecast_document import forecast_document
from seqc.report.forecast_text import forecast_lines

BOARD = board([grid_of(2, 2)])
BUSY = FrameUse(
    {0: 1, 2: 1, 3: 1, 4: 1},
    {1: 1, 2: 1, 3: 1, 4: 1},
    (Draw("numeral", ("slate", "chalk", "chalk", "chalk")),),
)
RUN = Run((BUSY,), SECOND_US, 0)


def of(machine: Machine, duration_us: int = HOUR_US, **conditions: object) -> Forecast:
    return forecast(machine, "count", RUN, duration_us, Conditions(**conditions))  # type: ignore[arg-type]


def text_of(result: Forecast) -> str:
    return "\n".join(forecast_lines(result))


def words_of(result: Forecast) -> str:
    """The text as one line, however it is folded."""
    return " ".join(text_of(result).split())


def codes(result: Forecast) -> list[str]:
    return [finding.code for finding in result.findings]


PLENTY = stocked(BOARD, (100_000, 100_000))


def test_a_machine_that_lasts_has_no_findings() -> None:
    assert codes(of(PLENTY)) == []


def test_an_empty_magazine_says_when_and_by_how_much() -> None:
    result = of(stocked(BOARD, (100_000, 5_400)))
    (finding,) = result.findings
    assert finding.code == "empty-magazine"
    # Three chalk a second: 5,400 are half an hour, and an hour takes 10,800.
    assert "chalk runs out after 30 min, 30 min before" in finding.message
    assert "5,400 more than the stock of 5,400" in finding.message


def test_return_makes_a_small_stock_endless() -> None:
    assert codes(of(stocked(BOARD, (16, 16), 2 * SECOND_US))) == []
    result = of(stocked(BOARD, (16, 11), 2 * SECOND_US))
    (finding,) = result.findings
    # Three lanes, each with one seen, one loaded and two on their way back: 12.
    assert finding.code == "empty-magazine"
    assert "1 more than the stock of 11" in finding.message
    assert "after 3 s" in finding.message


def test_worn_parts_are_told_by_the_first() -> None:
    result = of(PLENTY, 100_001 * SECOND_US)
    worn = [finding for finding in result.findings if finding.code == "worn-out"]
    assert len(worn) == 1
    assert "contact life of 100,000, a statistic, after 27.7 h: 1 operation more" in worn[0].message
    assert "and 7 more parts wear out too" in worn[0].message
    assert "slow the cadence" in worn[0].hint


def test_energy_is_the_pulses_times_what_one_draws() -> None:
    result = of(PLENTY)
    cold = {state.actuator.index: state.supplied_j for state in result.coils}
    each_frame = cold[0] + cold[1] + 2 * (cold[2] + cold[3] + cold[4])
    assert result.joules == pytest.approx(3_600 * each_frame)
    assert result.supplies[0].mean_a == pytest.approx(each_frame / 12)


def test_cost_and_budget() -> None:
    result = of(PLENTY, price_per_kwh=0.5, budget=0.001)
    cost = result.joules / 3.6e6 * 0.5
    assert result.cost == pytest.approx(cost)
    (finding,) = result.findings
    assert finding.code == "over-budget"
    assert f"{cost - 0.001:.2g} more than the budget" in finding.message
    assert codes(of(PLENTY, price_per_kwh=0.5, budget=1.0)) == []


def test_scheduled_peaks_and_heat_are_checked() -> None:
    assert codes(of(PLENTY, peak_ua={"bench": 7_000_000})) == ["over-current"]
    actuators = tuple(
        replace(a, part=replace(a.part, coil=replace(a.coil, duty_ppm=50_000)))
        for a in PLENTY.actuators
    )
    assert set(codes(of(replace(PLENTY, actuators=actuators)))) == {"over-duty"}


def test_clearance_is_checked() -> None:
    ball = SteelBall("slate", 8_000)
    field = LaneField(BOARD.grids[0], Point(0, 0), 20_000, 20_000, 50_000, steel=ball)
    magnet = Magnet("swap", Point(25_000, 0), 10_000, Place("board.lanes", 1, 1))
    near = replace(PLENTY, clearance=Clearance((field,), (magnet,)))
    assert codes(of(near)) == ["magnet-clearance"]


def test_text_tells_each_subject() -> None:
    machine = stocked(BOARD, (4_000, 60_000), 5 * SECOND_US)
    text = text_of(of(machine, price_per_kwh=0.3))
    assert text.startswith("count on test_board for 1 h: lasts\n")
    assert "3,600 frames, cadence 1 s" in text
    assert "8 relays   27.7 h   contact life 100,000; 3,600 in the time" in text
    assert "slate    3,600    4,000   without end   7" in text
    assert "enough if recirculated after 5 s" in text
    assert "Fill in 7 slate (recirculated):" in text
    assert ", cost 0." in text
    assert "licensed practice" in " ".join(text.split())


def test_text_advises_the_exchange_of_kinds() -> None:
    text = words_of(of(stocked(BOARD, (100_000, 5_400))))
    assert "Exchange chalk for slate, slate for chalk" in text
    assert "the stock lasts 1 h 30 min" in text


def test_a_sheet_marks_absent_cells_and_names_each_grid() -> None:
    machine = board([grid_of(2, 2, [grid_of(2, 2).cells[0]]), grid_of(1, 1, name="berth")])
    use = FrameUse({}, {}, (Draw("numeral", ("slate",) * 3), Draw("berth", ("slate",))))
    result = forecast(machine, "count", Run((use,), SECOND_US, 0), 12 * SECOND_US)
    assert "  numeral\n     - 12\n    12 12\n  berth\n    12" in text_of(result)


def test_document_holds_what_the_text_holds() -> None:
    machine = stocked(BOARD, (4_000, 60_000), 5 * SECOND_US)
    result = of(machine, price_per_kwh=0.3)
    document = json.loads(json.dumps(forecast_document(result)))
    assert document["frames"] == 3_600
    assert document["pulses"] == 8 * 3_600
    assert document["relay_operations"] == 8 * 3_600
    assert document["parts"][0]["hours"] == pytest.approx(27.78, abs=0.005)
    slate = document["items"][0]
    assert slate["used"] == 3_600
    assert slate["lasts_us"] == 4_000 * SECOND_US
    assert slate["lasts_recirculated_us"] is None
    assert slate["enough_recirculated"] == 7
    assert slate["fill_recirculated"][0] == {"grid": "numeral", "row": 1, "column": 1, "count": 7}
    assert document["exchange"]["frames_as_drawn"] == 4_000


def test_a_programme_that_ends_uses_no_more() -> None:
    machine = board([grid_of(2, 2)], selectors=[ROW])
    result = forecast(stocked(machine, (50, 50)), "once", Run((BUSY, BUSY), SECOND_US), DAY_US)
    assert result.tally.frames == 2
    assert [kind.drawn for kind in result.stocks] == [2, 6]
    assert not any(kind.falls_short for kind in result.stocks)


@pytest.mark.parametrize(
    "seconds,words",
    [
        (0.25, "0.25 s"),
        (1.5, "1.5 s"),
        (60, "1 min"),
        (90, "1 min 30 s"),
        (3_661, "1 h 1 min"),
        (86_400 + 60, "1 d"),
        (200_000, "2 d 7 h"),
    ],
)
def test_times_in_words(seconds: float, words: str) -> None:
    assert spoken(round(seconds * SECOND_US)) == words
