"""`seqc forecast` as a user runs it: what it prints, and how it ends."""

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from examples_on_disk import machine_file

from seqc.cli.main import main
from seqc.examples import EXAMPLES


@pytest.fixture
def berth(tmp_path: Path) -> Path:
    """The machine file of the berth board."""
    return machine_file("berth_board", tmp_path)


def run(path: Path, *words: str) -> Result:
    result = CliRunner().invoke(main, ["forecast", str(path), *words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def changed(path: Path, *pairs: tuple[str, str]) -> Path:
    text = path.read_text("utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, "utf-8")
    return path


def plenty(path: Path) -> Path:
    """With a stock that lasts for hours."""
    return changed(path, ("stock 260", "stock 2000000"))


def exact(path: Path) -> Path:
    """Its parts exact: pulses are as long as they are asked for, and no longer."""
    return changed(path, ("tolerance 5 %", "tolerance 0 %"), ("+- 0.5 %", "+- 0 %"))


def spent(path: Path) -> Path:
    """With no item brought back."""
    return changed(path, ("  recirculate 15 s", ""))


@pytest.mark.quick(1)
@pytest.mark.parametrize("example", EXAMPLES)
def test_the_examples_last_a_day(example: str, tmp_path: Path) -> None:
    result = run(machine_file(example, tmp_path))
    assert (result.exit_code, result.stderr) == (0, "")
    assert "without end" in result.stdout


def documents(path: Path, *durations: str) -> list[dict[str, object]]:
    found = []
    for duration in durations:
        document = json.loads(run(path, "--for", duration, "--json").stdout)
        found.append({key: value for key, value in document.items() if key != "duration_us"})
    return found


@pytest.mark.quick(1)
@pytest.mark.parametrize("show", ["1", "0123456789" * 6])
def test_a_programme_that_ends_is_taken_over_the_time_that_it_runs(show: str, berth: Path) -> None:
    parts = berth.parent / "harbour_parts.lanes"
    changed(parts, ("duty 10 %", "duty 10 %  insulation class B"))
    changed(berth, ('show "0123456789"  every 1 s  repeat', f'show "{show}"  every 1 s'))
    own, day = documents(exact(berth), f"{len(show)}s", "1d")
    assert day == own
    assert day["running_us"] == len(show) * 1_000_000
    if len(show) > 1:
        # As hot as the same pulses make it that come again and again.
        small = next(c for c in day["coils"] if c["actuator"] == "drop.c1")  # type: ignore[attr-defined]
        assert small["duty"] == pytest.approx(0.06)


@pytest.mark.thorough
def test_a_time_shorter_than_a_frame_is_taken_for_a_frame(berth: Path) -> None:
    short, frame = documents(berth, "100ms", "1s")
    assert short == frame
    text = run(berth, "--for", "100ms").stdout
    assert "  1 frame, cadence 1 s" in text
    assert "4.9 A" not in text


def test_a_programme_that_ends_says_so(berth: Path) -> None:
    text = run(berth, "--show", "01", "--for", "1d").stdout
    assert "2 frames, cadence 1 s; it ends after 2 s" in text


@pytest.mark.thorough
def test_large_energies_are_in_figures_for_people(berth: Path) -> None:
    words = ("--for", "365d", "--price", "30")
    text = run(exact(berth), *words).stdout
    assert re.search(r"Supply, 51\.\d kWh in the coils, cost 1,5\d\d\.\d\d\n", text)
    assert "e+" not in text
    error = run(berth, *words, "--budget", "1").stderr
    assert re.search(
        r"the energy costs 1,5\d\d\.\d\d, 1,5\d\d\.\d\d more than the budget of 1", error
    )


@pytest.mark.thorough
def test_what_falls_short_is_called_an_error_and_what_does_not_a_warning(berth: Path) -> None:
    short = run(spent(berth), "--for", "1min")
    assert short.exit_code == 1
    assert "error: slate runs out" in short.stderr
    parts = berth.parent / "harbour_parts.lanes"
    changed(parts, ("  contact life", "  rating 2 A  contact life"))
    doubtful = run(plenty(berth), "--for", "1min")
    assert "warning: coil large draws 1.46 A through relay card" in doubtful.stderr
    assert doubtful.exit_code == 0


@pytest.mark.thorough
def test_a_board_that_lasts_ends_well(berth: Path) -> None:
    result = run(plenty(berth), "--for", "12h")
    assert result.exit_code == 0
    assert result.stderr == ""
    assert "for 12 h: lasts\n  43,200 frames, cadence 1 s" in result.stdout
    # 10^5 operations on the contacts (makers' data sheets), one a second: 27.8 h.
    assert (
        "Rated life (a statistic, not a promise)\n  drop, swap   10 relays   27.7 h"
        in result.stdout
    )
    words = " ".join(result.stdout.split())
    assert "With a pulse switch the contacts switch no current: 115.7 d." in words
    # 10^6 pulses of the coil, two a second, are 5.79 d, 5 times as long.
    assert "First is then the coil of swap, after 5.7 d, 5 times as long" in words


@pytest.mark.thorough
def test_a_pulse_switch_is_advised_with_what_it_costs(berth: Path) -> None:
    words = " ".join(run(plenty(berth)).stdout.split())
    found = re.search(r"(\d+) ms instead of (\d+) ms a frame is then enough", words)
    assert found
    periods = [period_ms(berth)]
    switched = changed(berth, ("changeover pair  relay", "changeover pair  pulse switch  relay"))
    periods.insert(0, period_ms(switched))
    after, before = map(float, found.groups())
    assert before == pytest.approx(periods[1], abs=1)
    # It is looked for quickly: enough, and hardly more than is needed.
    assert periods[0] - 1 <= after <= 1.02 * periods[0]
    (first, *_) = json.loads(run(switched, "--json").stdout)["parts"]
    assert (first["part"], round(first["hours"])) == ("coil of swap", 139)


def test_a_pulse_switch_that_breaks_the_cadence_says_so(berth: Path) -> None:
    result = run(changed(plenty(berth), ("every 1 s", "every 0.6 s")), "--show", "0123456789")
    assert ", but the cadence is not kept" in " ".join(result.stdout.split())


def period_ms(path: Path) -> float:
    result = CliRunner().invoke(main, ["plan", str(path), "--json"])
    period_us: int = json.loads(result.stdout)["period_us"]
    return period_us / 1000


def test_the_small_current_of_a_board_that_hardly_moves(berth: Path) -> None:
    result = run(changed(exact(plenty(berth)), ("every 1 s", "every 2 h")), "--for", "30d")
    assert result.exit_code == 0
    assert "mean 0.068 mA; fuse: time-lag, 0.0315 A or the next rating" in result.stdout


def test_worn_relays_fall_short(berth: Path) -> None:
    result = run(plenty(berth), "--for", "2d")
    assert result.exit_code == 1
    assert (
        "reaches its contact life of 100,000, a statistic, after 27.7 h: 72,800 operations more"
        in result.stderr
    )


@pytest.mark.thorough
def test_a_pulse_switch_mends_that(berth: Path) -> None:
    switched = changed(
        plenty(berth),
        ("changeover pair  relay", "changeover pair  pulse switch  relay"),
        ("every 1 s", "every 2 s"),
    )
    result = run(switched, "--for", "2d")
    assert result.exit_code == 0, result.stderr
    assert re.search(r"not a promise\)\n  swap +1 coil", result.stdout)
    assert "contact life" not in result.stdout


@pytest.mark.thorough
def test_an_empty_magazine_falls_short(berth: Path) -> None:
    result = run(spent(berth), "--for", "1min")
    assert result.exit_code == 1
    assert re.search(r"slate runs out after \d+ s, \d+ s before the time is over", result.stderr)
    assert "more than the stock of 260 are needed" in result.stderr
    assert "39 are enough if each is at once" in result.stderr


def test_a_missed_cadence_falls_short(berth: Path) -> None:
    fast = changed(plenty(berth), ("every 1 s", "every 0.4 s"))
    result = run(fast, "--for", "1min")
    assert result.exit_code == 1
    assert "ms a frame, but its cadence is 400 ms; write `every " in result.stderr


def test_too_much_duty_falls_short(berth: Path) -> None:
    parts = berth.parent / "harbour_parts.lanes"
    changed(parts, ("duty 10 %", "duty 5 %"))
    result = run(plenty(berth), "--for", "1h")
    assert result.exit_code == 1
    assert "more than the 5.00% that coil small bears" in result.stderr


@pytest.mark.thorough
def test_too_dear_falls_short(berth: Path) -> None:
    words = ("--for", "12h", "--price", "0.4")
    assert run(plenty(berth), *words, "--budget", "1").exit_code == 0
    result = run(berth, *words, "--budget", "0.01")
    assert result.exit_code == 1
    assert re.search(r"the energy costs [\d.]+, [\d.]+ more than the budget", result.stderr)


def test_one_document(berth: Path) -> None:
    result = run(plenty(berth), "--for", "90 min", "--json")
    document = json.loads(result.stdout)
    assert document["duration_us"] == 5_400_000_000
    assert document["frames"] == 5_400
    assert document["findings"] == []
    assert document["parts"][0]["limit"] == "contact life"
    used = {item["item"]: item["used"] for item in document["items"]}
    assert sum(used.values()) == 24 * 5_400


@pytest.mark.thorough
def test_advice_names_what_to_exchange(berth: Path) -> None:
    scarce = changed(
        spent(berth), ("chalk { tone light  stock 260", "chalk { tone light  stock 100")
    )
    assert "Exchange" not in run(scarce, "--for", "1min").stdout
    result = run(scarce, "--for", "1min", "--advise")
    assert "Exchange chalk for slate, slate for chalk" in result.stdout


@pytest.mark.parametrize(
    "words", ["soon", "24", "5 weeks", "0 s", "-1h", "9999999d", "9" * 400 + "s"]
)
def test_a_time_that_cannot_be_read_is_a_wrong_call(words: str, berth: Path) -> None:
    result = run(berth, f"--for={words}")
    assert result.exit_code == 2
    assert "--for" in result.stderr


def test_a_budget_needs_a_price(berth: Path) -> None:
    result = run(berth, "--budget", "1")
    assert result.exit_code == 2
    assert "--price" in result.stderr
