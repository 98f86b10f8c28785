"""The page in a browser: it runs without complaint, plays by mouse and keys, and can be read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page
from surveyed import example, hostile, needs_browser, opened, page_of

from seqc.report.drawings.tones import words_of
from seqc.report.page.packing import Packer
from seqc.report.page.page import page
from seqc.report.page.sheet_page import sheet_page
from seqc.report.sheets.choice import glyphs_sheet, sheets_of

pytestmark = needs_browser

GRAVE = ("serious", "critical")


def seen(shown: Page, grid: int = 0) -> list[str]:
    """What is seen of a grid, row by row, as the page tells it."""
    return shown.locator(f'[data-seen="{grid}"] li').all_text_contents()


def player(shown: Page, what: str) -> object:
    """Something of the player."""
    return shown.evaluate(f"() => App.player.{what}")


def button(shown: Page, what: str) -> None:
    """Press a button of the player."""
    shown.click(f'[data-do="{what}"]')


@pytest.mark.thorough
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_nothing_serious_keeps_anybody_from_using_it(browser: Browser, theme: str) -> None:
    with opened(browser, page_of("berth_board"), theme=theme) as (shown, heard):
        shown.evaluate("() => document.querySelectorAll('details').forEach((d) => d.open = true)")
        found = Axe().run(shown).response["violations"]
        grave = [(one["id"], one["nodes"][0]["html"]) for one in found if one["impact"] in GRAVE]
        assert grave == []
        assert heard == []


@pytest.mark.quick(0)
@pytest.mark.parametrize("width", [390, 1920])
def test_it_fits_the_screen(browser: Browser, width: int) -> None:
    with opened(browser, page_of("berth_board"), width=width) as (shown, heard):
        assert shown.evaluate("() => document.documentElement.scrollWidth") <= width
        assert heard == []


@pytest.mark.quick(2)
@pytest.mark.parametrize(
    ("name", "count"),
    [("berth_board", 2), ("framed", 3), ("berth_board", 10), ("pattern_board", 6)],
)
def test_every_glyph_shows_the_frame_that_the_simulator_saw(
    browser: Browser, name: str, count: int
) -> None:
    survey = example(name)
    assert sum(len(font.glyphs) for font in survey.fonts) >= count
    with opened(browser, page_of(name)) as (shown, heard):
        for font in survey.fonts:
            for each in font.glyphs[:count]:
                shown.click(f'.glyph:has(.name:text-is("{each.glyph.name}"))')
                shown.wait_for_function(
                    "(name) => App.player.scene.entry.title === name", arg=each.glyph.name
                )
                button(shown, "frame")
                shown.focus("#player")
                shown.keyboard.press("End")
                told = "; ".join(line.replace(":", "") for line in seen(shown))
                assert each.run is not None
                end = font.trace.runs[each.run]
                drawn = words_of(font.font.grid, each.glyph.kinds)
                assert unrolled(told) == unrolled(drawn), end.table.name
        assert heard == []


DRAWN = """() => {
  const { planes, model } = App.player;
  const box = planes.svg.createSVGPoint();
  const grid = model.grids[0];
  return grid.cells.map((_, cell) => {
    [box.x, box.y] = planes.spot(0, grid.shown, cell);
    box.x += 0.3;
    const { x, y } = box.matrixTransform(planes.svg.getScreenCTM());
    const hit = document.elementsFromPoint(x, y).find((one) => one.matches(".item"));
    return hit ? hit.parentNode.dataset.kind : null;
  });
}"""


def test_items_are_drawn_where_they_are_seen(browser: Browser) -> None:
    survey = example("berth_board")
    letters = Packer(survey.machine).letters
    with opened(browser, page_of("berth_board")) as (shown, heard):
        shown.select_option("#scene", label="4")
        shown.wait_for_function("() => App.player.scene.entry.title === '4'")
        shown.focus("#player")
        shown.keyboard.press("End")
        shown.evaluate("() => App.player.planes.svg.scrollIntoView({ block: 'center' })")
        wanted = survey.machine.fonts[0].by_name["4"].kinds
        assert shown.evaluate(DRAWN) == [letters[kind] for kind in wanted]
        assert heard == []


def unrolled(words: str) -> list[str]:
    """Each item of a picture in words, `2 slate` as two."""
    found: list[str] = []
    for row in words.split("; "):
        for part in re.sub(r"^row \d+ ", "", row).split(", "):
            count, _, kind = part.rpartition(" ")
            found += [kind] * int(count or 1)
    return found


def test_it_plays_pauses_steps_and_jumps_by_mouse(browser: Browser) -> None:
    with opened(browser, page_of("berth_board")) as (shown, heard):
        start = player(shown, "time")
        button(shown, "play")
        shown.wait_for_function(f"() => App.player.time > {start}")
        assert shown.text_content('[data-do="play"]') == "Pause"
        button(shown, "play")
        paused = player(shown, "time")
        assert player(shown, "playing") is False
        shown.wait_for_timeout(60)
        assert player(shown, "time") == paused
        button(shown, "step")
        stepped = player(shown, "time")
        moments = player(shown, "scene.moments(App.player.run)")
        assert isinstance(moments, list)
        assert stepped == min(at for at in moments if at > paused)
        button(shown, "step-back")
        assert player(shown, "time") == max(at for at in moments if at < stepped)
        shown.fill('[data-part="jump"] input', "123.5")
        shown.click('[data-part="jump"] button')
        assert player(shown, "time - App.player.scene.starts[App.player.run]") == 123_500
        shown.click('[data-part="chart"]', position={"x": 600, "y": 100})
        assert player(shown, "time - App.player.scene.starts[App.player.run]") != 123_500
        button(shown, "critical")
        assert shown.locator(".chart .cause").count() > 3
        assert heard == []


def test_it_plays_pauses_steps_and_jumps_by_keys(browser: Browser) -> None:
    with opened(browser, page_of("berth_board")) as (shown, heard):
        shown.focus("#player")
        run, start = player(shown, "run"), player(shown, "time")
        assert isinstance(run, int)
        shown.keyboard.press("ArrowRight")
        stepped = player(shown, "time")
        shown.keyboard.press("ArrowLeft")
        assert player(shown, "time") == start != stepped
        shown.keyboard.press("PageDown")
        assert player(shown, "run") == run + 1
        shown.keyboard.press("PageUp")
        assert player(shown, "run") == run
        shown.keyboard.press("+")
        assert shown.input_value('[data-part="speed"]') == "0.25"
        shown.keyboard.press(" ")
        shown.wait_for_function(f"() => App.player.time > {start}")
        shown.keyboard.press(" ")
        assert player(shown, "playing") is False
        shown.keyboard.press("End")
        assert player(shown, "time") == player(shown, "scene.length")
        shown.keyboard.press("Home")
        assert player(shown, "run") == run
        shown.focus('[data-part="time"]')
        shown.keyboard.press("ArrowRight")
        assert player(shown, "time") == stepped
        assert heard == []


def test_keys_and_pointer_show_what_is_tied_to_a_cell(browser: Browser) -> None:
    survey = example("berth_board")
    with opened(browser, page_of("berth_board")) as (shown, heard):
        shown.focus("[data-linkages]")
        for key in ("ArrowDown", "ArrowRight", "ArrowRight"):
            shown.keyboard.press(key)
        told = shown.text_content("#cell-told-0") or ""
        assert told.startswith("Row 2 column 3:")
        tied = shown.locator(".tied").evaluate_all("all => all.map((t) => t.dataset.actuator)")
        wanted = [a.index for a in survey.machine.actuators if (2, 3) in a.cells]
        assert sorted(map(int, tied)) == wanted
        for number in wanted:
            assert survey.machine.actuators[number].name in told
        assert "shown ← swap ← drop.c3 ← pick.r2(slate, chalk)" in told
        shown.hover('[data-cell="0"] >> nth=1')
        assert (shown.text_content("#cell-told-0") or "").startswith("Row 1 column 1:")
        assert heard == []


CHART_AND_REPLAY = """() => {
  const { scene, chart } = App.player;
  const bars = [...chart.svg.querySelectorAll("[data-coil]")].map((bar) => ({
    coil: Number(bar.dataset.coil), from: Number(bar.dataset.from), to: Number(bar.dataset.to),
    polarity: bar.classList.contains("forward") ? 1 : -1 }));
  const wrong = [];
  for (let time = chart.from; time < chart.to; time += 1009) {
    const coils = scene.stateAt(time).coils;
    const drawn = new Map(bars.filter((b) => b.from <= time && time < b.to)
      .map((b) => [b.coil, b.polarity]));
    const same = coils.size === drawn.size && [...coils].every(([k, v]) => drawn.get(k) === v);
    if (!same) wrong.push(time);
  }
  return { bars: bars.length, wrong };
}"""


@pytest.mark.thorough
def test_what_is_not_looked_at_stays_packed(browser: Browser) -> None:
    with opened(browser, page_of("berth_board")) as (shown, heard):
        blocks = shown.locator('[id^="block-"]').count()
        assert blocks == 3
        assert shown.evaluate("() => Blocks.count()") == 2
        shown.select_option("#scene", label="4")
        shown.wait_for_function("() => App.player.scene.entry.title === '4'")
        assert shown.evaluate("() => Blocks.count()") == 3
        assert heard == []


@pytest.mark.thorough
def test_a_round_goes_on_without_a_jump(browser: Browser) -> None:
    """Playing past the end, what is seen at the start of the round is what was seen at its end."""
    with opened(browser, page_of("berth_board")) as (shown, heard):
        places = "() => JSON.stringify(App.player.scene.stateAt(App.player.time).places)"
        shown.evaluate("() => App.player.jump(App.player.scene.length - 1)")
        ended = shown.evaluate(places)
        button(shown, "play")
        shown.wait_for_function("() => App.player.time < App.player.scene.length - 1")
        button(shown, "play")
        loop = player(shown, "scene.entry.loop")
        shown.evaluate(f"() => App.player.jump(App.player.scene.starts[{loop}])")
        assert shown.evaluate(places) == ended
        assert heard == []


@pytest.mark.thorough
def test_without_scripts_all_but_the_replay_is_there(browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    file.write_text(page_of("berth_board"), "utf-8")
    context = browser.new_context(java_script_enabled=False)
    shown = context.new_page()
    shown.goto(file.as_uri())
    assert shown.locator(".unscripted").is_visible()
    assert not shown.locator("#player").is_visible()
    assert shown.locator(".verdict").is_visible()
    assert shown.locator(".glyph svg").count() == 10
    context.close()


def test_chart_and_replay_agree(browser: Browser) -> None:
    with opened(browser, page_of("berth_board")) as (shown, heard):
        for _ in range(3):
            found = shown.evaluate(CHART_AND_REPLAY)
            assert found["bars"] > 10
            assert found["wrong"] == []
            button(shown, "frame")
        assert heard == []


def test_evil_names_do_nothing(browser: Browser) -> None:
    survey = hostile()
    assert survey.errors == ()
    with opened(browser, page(survey)) as (shown, heard):
        for key in ("ArrowRight", "PageDown", "End"):
            shown.focus("#player")
            shown.keyboard.press(key)
        shown.focus("[data-linkages]")
        shown.evaluate("() => document.querySelectorAll('details').forEach((d) => d.open = true)")
        shown.wait_for_timeout(50)
        assert shown.evaluate("() => window.hacked") is None
        assert shown.locator("img, iframe, object, embed, [onload], [onfocus]").count() == 0
        assert shown.locator("script:not([type])").count() == 1
        assert "hacked" in (shown.text_content("h1") or "")
        assert heard == []


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["berth_board", "pattern_board"])
def test_each_sheet_is_one_page_of_a4(browser: Browser, name: str) -> None:
    survey = example(name)
    forecast = survey.programmes[0].forecast
    sheets = [*sheets_of(survey.machine, forecast), glyphs_sheet(survey.machine, survey.fonts)]
    assert {sheet.name for sheet in sheets} == {"wiring", "filling", "spares", "parts", "glyphs"}
    shown = browser.new_page()
    for sheet in sheets:
        shown.set_content(sheet_page(sheet))
        printed = shown.pdf(prefer_css_page_size=True)
        assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1, sheet.name
    shown.close()
