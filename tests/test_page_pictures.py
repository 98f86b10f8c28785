"""Pictures alone: well formed, and with their bars where the step tables have their edges."""

from __future__ import annotations

import colorsys
import json
import re
from collections.abc import Iterator
from html import unescape
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as Tree

import pytest
from boards import board, glyph, grid_of
from click.testing import CliRunner, Result
from examples_on_disk import machine_file
from surveyed import example, hostile, page_of

import seqc
from seqc.cli.main import main
from seqc.machine.electrics import DriveKind
from seqc.machine.glyphs import Frame, Programme
from seqc.machine.lifetime import Lifetime
from seqc.machine.parts import Cell
from seqc.machine.steptable import TablesFor
from seqc.report.drawings.choice import linkages_picture, timing_picture
from seqc.report.drawings.glyphs import glyph_sheet
from seqc.report.drawings.lane import lane_drawing
from seqc.report.drawings.linkages import tree
from seqc.report.drawings.svg import sheet
from seqc.report.drawings.tones import MARKS, looks_of
from seqc.report.drawings.tracks import Tracks, supply_steps, tracks_of
from seqc.report.drawings.wear import heat_chart, reached_h, stock_chart, wear_chart
from seqc.report.page.model import played
from seqc.schedule.pulses import supply_profile

NAMES = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def berth(tmp_path: Path) -> Path:
    return machine_file("berth_board", tmp_path)


def ran(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.mark.parametrize("kind", ["timing", "glyphs", "linkages", "lane", "wear"])
def test_every_picture_is_a_well_formed_file(kind: str, berth: Path, tmp_path: Path) -> None:
    out = tmp_path / "x.svg"
    done = ran("report", berth, "--picture", kind, "--show", "4", "-o", out)
    assert done.exit_code == 0, done.output
    root = Tree.parse(out).getroot()
    assert root.tag == f"{NAMES}svg"
    assert root.find(f"{NAMES}title") is not None
    assert "var(" not in out.read_text("utf-8")


def test_bars_stand_at_the_edges_of_the_table_in_the_files(berth: Path, tmp_path: Path) -> None:
    """The edges are read back from what a build has written."""
    built = ran(
        "build",
        berth,
        "--show",
        "4",
        "--tables-for",
        "glyph",
        "--target",
        "json",
        "--out",
        tmp_path,
    )
    assert built.exit_code == 0, built.output
    tables = json.loads((tmp_path / "json" / "seqc_tables.json").read_text("utf-8"))
    out = tmp_path / "x.svg"
    assert ran("report", berth, "--picture", "timing", "--show", "4", "-o", out).exit_code == 0
    drawn = sorted(
        (
            int(bar.get("data-from", "")),
            int(bar.get("data-to", "")),
            int(bar.get("data-output", "")),
        )
        for bar in Tree.parse(out).iter(f"{NAMES}rect")
        if bar.get("data-output")
    )
    assert drawn == sorted(active_spans(tables))
    assert len(drawn) > 10


def active_spans(tables: dict[str, object]) -> Iterator[tuple[int, int, int]]:
    """When each output is active, from a table set as JSON; a word may be a number or a text."""
    idle = _word(tables["idle_word"])
    listed = tables["tables"]
    assert isinstance(listed, list)
    table = next(one for one in listed if one["name"] == "4")
    steps = [(step["at_us"], _word(step["word"]) ^ idle) for step in table["steps"]]
    began: dict[int, int] = {}
    for (_, before), (at_us, now) in pairwise([(0, 0), *steps]):
        for output in range((before ^ now).bit_length()):
            if now & ~before & 1 << output:
                began[output] = at_us
            elif before & ~now & 1 << output:
                yield began.pop(output), at_us, output
    assert not began


def _word(value: object) -> int:
    return int(value, 0) if isinstance(value, str) else int(str(value))


@pytest.mark.parametrize("kind", list(DriveKind))
def test_bars_stand_at_the_edges_whatever_drives_the_coils(kind: DriveKind) -> None:
    grid = grid_of(2, 2)
    machine = board([grid], kind=kind, pulse_switch=True)
    programme = Programme("p", (Frame((glyph(grid, "01", "10"),)),), 4_000_000)
    tables = seqc.tables(machine, programme, TablesFor.GLYPH)
    last = list(tables)[-1]
    chart = timing_picture(machine, seqc.traced(machine, tables), len(list(tables)) - 1, "x")
    drawn = {
        (
            int(bar.get("data-from", "")),
            int(bar.get("data-to", "")),
            int(bar.get("data-output", "")),
        )
        for bar in Tree.fromstring(chart.alone).iter(f"{NAMES}rect")
        if bar.get("data-output")
    }
    steps = [(step.at_us, step.word ^ machine.idle_word) for step in last.steps]
    edges = {edge for start, end, n in drawn for edge in ((start, n, 1), (end, n, 0))}
    wanted = {
        (at_us, output, now >> output & 1)
        for (_, before), (at_us, now) in pairwise([(0, 0), *steps])
        for output in range((before ^ now).bit_length())
        if (before ^ now) >> output & 1
    }
    assert edges == wanted


def test_the_links_that_limit_a_programme_follow_one_another_in_its_scene() -> None:
    survey = example("berth_board")
    timing = survey.programmes[0].timing
    scene = played(survey).scenes[0]
    spans = [(start, end) for start, end, _, _ in scene.causes]
    assert spans[-1][1] - spans[0][0] == timing.period_us
    assert all(one[1] == other[0] for one, other in pairwise(spans))
    runs = [run.table.length_us for run in survey.programmes[0].trace.runs]
    starts = [sum(runs[:number]) for number in range(len(runs))]
    assert 0 <= spans[0][0] - max(at for at in starts if at <= spans[0][0]) < 100_000


def tracks_of_a_glyph() -> Tracks:
    font = example("berth_board").fonts[0]
    run = font.glyphs[4].run
    assert run is not None
    return tracks_of(example("berth_board").machine, font.trace, font.trace.runs[run : run + 1])


EARLIER_US = 1_000
"""So much sooner may one relay operate than another, both nominal."""


def test_coils_and_current_are_those_that_were_scheduled() -> None:
    """The schedule's own pulses, put off by the lead that its table has."""
    survey = example("berth_board")
    shown = survey.fonts[0].glyphs[4]
    assert shown.timing
    tracks = tracks_of_a_glyph()
    found = [(n, s.value, s.start_us, s.end_us) for n, every in tracks.coils.items() for s in every]
    put_off = min(start for _, _, start, _ in found) - shown.timing.pulses[0].start_us
    pulses = [pulse.later(put_off) for pulse in shown.timing.pulses]
    wanted = [
        (p.actuator.index, 1 if p.position.value == "thrown" else -1, p.start_us, p.end_us)
        for p in pulses
    ]
    # A pulse is scheduled from the earliest start to the latest end that its parts may have.
    for (*coil, start_us, end_us), (*same, earliest_us, latest_us) in zip(
        sorted(found), sorted(wanted), strict=True
    ):
        assert coil == same
        assert earliest_us - EARLIER_US <= start_us < end_us <= latest_us
    supply = survey.machine.supplies[0].name
    most_ua = max(ua for _, ua in supply_profile(pulses)[supply])
    assert 0 < max(ua for _, ua in supply_steps(survey.machine, tracks, supply)) <= most_ua


def test_evil_names_leave_every_picture_well_formed() -> None:
    survey = hostile()
    machine, font = survey.machine, survey.fonts[0]
    forecast = survey.programmes[0].forecast
    drawings = [
        linkages_picture(machine),
        lane_drawing(machine, machine.lanes[0]),
        glyph_sheet(machine, font, font.glyphs),
        timing_picture(machine, font.trace, font.glyphs[0].run or 0, machine.name),
        wear_chart(forecast),
        heat_chart(forecast),
        stock_chart(forecast),
    ]
    for drawing in drawings:
        root = Tree.fromstring(drawing.alone)
        assert not [e for e in root.iter() if e.tag.split("}")[-1] in ("script", "img", "image")]
        assert not [k for e in root.iter() for k in e.attrib if k.lower().startswith("on")]


@pytest.mark.parametrize(
    ("suffix", "magic"), [(".png", b"\x89PNG\r\n"), (".pdf", b"%PDF-"), (".svg", b"<?xml")]
)
def test_a_picture_is_written_in_each_format(
    suffix: str, magic: bytes, berth: Path, tmp_path: Path
) -> None:
    out = tmp_path / f"x{suffix}"
    assert ran("report", berth, "--picture", "linkages", "-o", out).exit_code == 0
    assert out.read_bytes().startswith(magic)


def test_kinds_are_told_apart_by_shape_alone() -> None:
    looks = looks_of(board([grid_of(1, 1)], kinds=4)).values()
    assert len({look.mark for look in looks}) == len(looks)
    assert len(set(MARKS)) == len(MARKS) >= 6


def test_the_tree_of_a_linkage_is_the_shortest() -> None:
    """Against all spanning trees of a few cells, by brute force."""
    from itertools import combinations

    cells = [Cell(1, 1), Cell(1, 3), Cell(2, 2), Cell(4, 2), Cell(4, 4)]

    def length(pairs: tuple[tuple[Cell, Cell], ...]) -> int:
        return sum((a.row - b.row) ** 2 + (a.column - b.column) ** 2 for a, b in pairs)

    def joined(pairs: tuple[tuple[Cell, Cell], ...]) -> bool:
        reached = {cells[0]}
        for _ in cells:
            reached |= {c for pair in pairs if reached & set(pair) for c in pair}
        return reached == set(cells)

    pairs = list(combinations(cells, 2))
    best = min(length(some) for some in combinations(pairs, len(cells) - 1) if joined(some))
    found = tuple(tree(cells))
    assert joined(found)
    assert length(found) == best


def test_a_share_of_lives_is_where_weibull_has_it() -> None:
    """Worked by hand: with shape 1 (exponential) half of the parts last ln 2 / -ln 0.9 of B10."""
    assert reached_h(Lifetime(100.0, 1.0), 0.5) == pytest.approx(
        100 * 0.693147 / 0.1053605, rel=1e-5
    )
    assert reached_h(Lifetime(100.0, 2.0), 0.1) == pytest.approx(100.0)


def luminance(colour: str) -> float:
    """The relative luminance of WCAG 2.2."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """The contrast ratio of WCAG 2.2."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def themes() -> Iterator[dict[str, str]]:
    """The colours by day and by night."""
    day, night = sheet("colours.css").split("@media")
    by_day = dict(re.findall(r"(--[\w-]+): (#\w+);", day))
    yield by_day
    yield {**by_day, **dict(re.findall(r"(--[\w-]+): (#\w+);", night))}


def test_texts_and_what_matters_stand_out_by_day_and_by_night() -> None:
    for known in themes():
        for text in ("--ink", "--faint", "--accent"):
            for ground in ("--paper", "--sheet"):
                assert contrast(known[text], known[ground]) >= 4.5, (text, ground)
        assert contrast(known["--on-accent"], known["--accent"]) >= 4.5
        assert contrast(known["--tone-dark"], known["--tone-light"]) >= 4.5
        for tone in ("--tone-dark", "--tone-light"):
            best = max(contrast(known[tone], known[g]) for g in ("--board", "--item-line"))
            assert best >= 3, tone


def test_there_is_one_accent() -> None:
    """Of all colours that aren't items' tones only the accent's have more than a tinge."""
    for known in themes():
        for name, colour in known.items():
            if name.startswith(("--tone", "--accent")):
                continue
            rgb = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
            assert colorsys.rgb_to_hls(*rgb)[2] < 0.35 or max(rgb) - min(rgb) < 0.1, name


def test_the_page_is_one_file_that_loads_nothing() -> None:
    html = unescape(page_of("berth_board"))
    assert not re.findall(r"""(?:src|href)\s*=\s*["']?(?!#|data:)[^"'\s>]+""", html)
    assert "default-src 'none'" in html
    assert "unsafe" not in html
    assert "http" not in html.replace("http://www.w3.org/2000/svg", "").replace("http-equiv", "")
