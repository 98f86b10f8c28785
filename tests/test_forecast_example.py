"""The harbour clock: six numerals that share supply and outputs, and what a day does to them."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from examples_on_disk import machine_file
from forecast_runs import DAY_US

import seqc
from seqc.forecast.result import Forecast
from seqc.machine.clearance import clearance_findings, distance_um
from seqc.machine.findings import Findings
from seqc.machine.model import Machine

MINUTES = 10


@pytest.fixture(scope="module")
def clock(tmp_path_factory: pytest.TempPathFactory) -> Machine:
    return read(machine_file("harbour_clock", tmp_path_factory.mktemp("clock")))


def read(path: Path) -> Machine:
    findings = Findings()
    machine = seqc.read(path, findings)
    assert list(findings) == []
    return machine


@pytest.fixture(scope="module")
def result(clock: Machine) -> Forecast:
    """A day in which ten minutes come again and again."""
    day = clock.programmes[0]
    ten_minutes = replace(day, frames=day.frames[: 60 * MINUTES], rotations=())
    planned = seqc.plan(clock, ten_minutes)
    assert planned.timing.kept
    return seqc.foresee(clock, planned, DAY_US, 40.0)


def test_a_whole_day_is_declared_in_a_line(clock: Machine) -> None:
    (day,) = clock.programmes
    assert len(day.frames) == 86_400
    assert [grid.name for grid in clock.grids] == [f"numeral_{n}" for n in range(1, 7)]
    # Five rows and three columns of fifteen cells, and one gate for all: nine for each numeral.
    assert len(clock.actuators) == 6 * (5 + 3 + 1)


@pytest.mark.thorough
def test_the_faster_numeral_works_harder(clock: Machine, result: Forecast) -> None:
    pulses = Counter(
        {
            grid.name: sum(
                result.tally.pulses[actuator.index]
                for actuator in clock.actuators
                if actuator.grid.name == grid.name
            )
            for grid in clock.grids
        }
    )
    order = [name for name, _ in pulses.most_common(3)]
    assert order == ["numeral_6", "numeral_5", "numeral_4"]
    assert pulses["numeral_6"] > 8 * pulses["numeral_5"]


def test_the_clock_lasts_a_day_with_its_items_brought_back(result: Forecast) -> None:
    assert result.findings == ()
    for kind in result.stocks:
        assert kind.lasts_us is not None
        assert kind.lasts_us < DAY_US
        assert kind.lasts_recirculated_us is None


def test_coils_stay_below_their_class_and_pull_in(result: Forecast) -> None:
    for state in result.coils:
        assert state.steady_c is not None
        # IEC 60085: insulation class B is 130 C.
        assert 40 <= state.steady_c < 130
        assert state.pulls_in_us is not None
        assert state.pulls_in_us < state.actuator.coil.travel_us


def test_magnets_keep_away_from_the_lanes(clock: Machine) -> None:
    assert clock.clearance
    assert len(clock.clearance.magnets) == 9
    assert clearance_findings(clock.clearance) == ()
    nearest = min(
        distance_um(field, cell, magnet.centre) - magnet.least_um
        for field in clock.clearance.fields
        for cell in field.grid.cells
        for magnet in clock.clearance.magnets
    )
    assert 0 <= nearest < 20_000
