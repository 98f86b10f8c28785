"""`seqc report` writes whole files or none, and says what the other commands say."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from clock_file import CLOCK, changed
from examples_on_disk import machine_file
from surveyed import example, page_of

from seqc.cli.main import COMMANDS, main
from seqc.cli.report import FORMATS, PICTURES, SHEETS
from seqc.report.drawings import choice as pictures
from seqc.report.page.model import model_document, played
from seqc.report.page.packing import unpacked
from seqc.report.page.verdict import facts
from seqc.report.sheets import choice as sheets

SMALL = changed(CLOCK, 'programme p { show "0123" every 4 s repeat }').replace(" copies 4", "")
BLOCK = re.compile(r'<script type="text/plain" id="block-(\w+)">([^<]*)</script>')


def ran(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def written(folder: Path, text: str) -> Path:
    path = folder / "quay.lanes"
    path.write_text(text, "utf-8")
    return path


def verdict(html: str) -> str:
    found = re.search(r'<div class="verdict">.*?<p>(.*?)</p>', html, re.DOTALL)
    assert found
    return unescape(found[1])


def test_the_commands_are_known_and_offer_what_there_is() -> None:
    assert {"report", "watch"} <= set(COMMANDS)
    assert PICTURES == pictures.PICTURES
    assert FORMATS == pictures.FORMATS
    assert SHEETS == sheets.SHEETS


def test_a_page_is_written_with_the_verdict_of_check(tmp_path: Path) -> None:
    file, out = machine_file("berth_board", tmp_path), tmp_path / "page.html"
    done = ran("report", file, "-o", out)
    assert done.exit_code == 0, done.output
    checked = ran("check", file).stdout.splitlines()[0].partition(": ")[2]
    assert verdict(out.read_text("utf-8")).lower() == checked
    assert sorted(tmp_path.glob("*.html")) == [out]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("every 4 s", "every 100 ms"),
        ("limit 8 A", "limit 1.4 A"),
        ("gate drop { per column", "gate drop { whole grid"),
    ],
)
def test_what_falls_short_is_told_as_check_tells_it(old: str, new: str, tmp_path: Path) -> None:
    assert old in SMALL
    two_rows = SMALL.replace("columns 1 rows 1", "columns 2 rows 1").replace("|#|", "|#.|")
    text = two_rows.replace("|.|", "|.#|").replace("per row", "whole grid").replace(old, new)
    file, out = written(tmp_path, text), tmp_path / "page.html"
    checked = ran("check", file)
    done = ran("report", file, "--for", "30s", "-o", out)
    assert (checked.exit_code, done.exit_code) == (1, 1), done.output
    told = checked.stdout.splitlines()
    first = re.sub(
        r"\s+", " ", " ".join(told[: told.index(next(t for t in told[1:] if t[2:3] != " "))])
    )
    assert verdict(out.read_text("utf-8")).lower().startswith(first.partition(": ")[2].lower()[:40])
    html = unescape(out.read_text("utf-8"))
    for finding in json.loads(ran("check", file, "--json").stdout)["findings"]:
        if finding["severity"] == "error":
            assert finding["message"] in html


def test_a_file_with_a_mistake_writes_nothing(tmp_path: Path) -> None:
    file, out = written(tmp_path, SMALL.replace("item slate", "itm slate")), tmp_path / "p.html"
    done = ran("report", file, "-o", out)
    assert done.exit_code == 2
    assert "quay.lanes:2:" in done.stderr
    assert list(tmp_path.iterdir()) == [file]


@pytest.mark.parametrize(
    "words",
    [
        (),
        ("-o", "x.svg"),
        ("-o", "x.html", "--picture", "lane"),
        ("-o", "x.svg", "--picture", "lane", "--sheet", "wiring"),
        ("-o", "x.svg", "--picture", "view"),
        ("-o", "x.pdf", "--sheet", "wiring"),
        ("-o", "gone/x.html"),
        ("-o", "x.html", "--show", "x"),
        ("-o", "x.html", "--for", "soon"),
    ],
)
def test_a_call_that_cannot_be_met_writes_nothing(
    words: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = written(tmp_path, SMALL)
    monkeypatch.chdir(tmp_path)
    done = ran("report", file, *words)
    assert done.exit_code == 2
    assert "Traceback" not in done.output
    assert list(tmp_path.iterdir()) == [file]


def test_json_tells_what_was_written(tmp_path: Path) -> None:
    file, out = written(tmp_path, SMALL), tmp_path / "p.html"
    told = json.loads(ran("report", file, "-o", out, "--json").stdout)
    assert told["file"] == str(out)
    assert told["bytes"] == out.stat().st_size
    assert isinstance(told["findings"], list)


def test_two_pages_of_a_machine_are_equal_to_the_byte(tmp_path: Path) -> None:
    file = written(tmp_path, SMALL)
    for name in ("a.html", "b.html"):
        done = ran("report", file, "--for", "30s", "-o", tmp_path / name)
        assert done.exit_code == 0, done.output
    assert (tmp_path / "a.html").read_bytes() == (tmp_path / "b.html").read_bytes()


def test_the_first_thing_on_the_page_is_the_verdict() -> None:
    html = page_of("berth_board")
    body = html[html.index("<main") :]
    assert body.index('class="verdict"') < body.index("<h2>")
    headings = re.findall(r"<h2>(.*?)</h2>", body)
    assert all(heading.endswith("?") for heading in headings)
    assert len(headings) == 6


def test_the_facts_are_those_of_the_plan() -> None:
    survey = example("berth_board")
    shown = survey.programmes[0]
    found = {fact.what.split(":")[0]: fact for fact in facts(survey)}
    cadence = found["count"]
    assert cadence.holds
    assert cadence.share == pytest.approx(shown.timing.period_us / 1_000_000)
    assert found["Font harbour"].value.startswith("10 of 10")
    assert found["count in the simulator"].value == f"no fault in {len(list(shown.tables))} tables"


def test_what_is_packed_is_unpacked_the_same() -> None:
    survey = example("berth_board")
    blocks = dict(BLOCK.findall(page_of("berth_board")))
    play = played(survey)
    assert unpacked(blocks["model"]) == json.loads(json.dumps(model_document(survey, play.scenes)))
    assert {str(n): block for n, block in enumerate(play.blocks)} == {
        name: block for name, block in blocks.items() if name != "model"
    }


def test_every_glyph_and_programme_can_be_chosen() -> None:
    survey = example("berth_board")
    titles = [scene.title for scene in played(survey).scenes]
    assert titles == ["count", *(glyph.name for glyph in survey.machine.fonts[0].glyphs)]
