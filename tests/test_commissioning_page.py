"""The page of commissioning in a browser: bring-up by mouse and keys, a stop when it is left."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from commissioned import Bench, made, until
from firmware.emulated import TOOLS, build_emulator, controller
from firmware.host import needs, target
from firmware.wired import Wired

from seqc.commission.browser import Browser
from seqc.commission.emulated import Emulated
from seqc.commission.orders import Orders
from seqc.commission.ports import SerialPort
from seqc.commission.record import Record
from seqc.commission.session import Session

sync_api = pytest.importorskip("playwright.sync_api")

pytestmark = needs("chromium")


@pytest.fixture
def session(tmp_path: Path) -> Iterator[tuple[Session, Browser]]:
    emulated = Emulated(made().machine, made().table_set)
    record = Record(tmp_path / "record.jsonl", made().machine.name)
    told: list[str] = []
    found = Session([(made(),)], record, lambda: emulated, told.append)
    page = Browser(Orders(found, lambda: emulated.pictures))
    page.start()
    found.start()
    until(lambda: found.state == "off")
    yield found, page
    found.close()
    page.close()


@pytest.fixture(scope="module")
def chromium() -> Iterator[object]:
    with sync_api.sync_playwright() as started:
        browser = started.chromium.launch(
            executable_path=shutil.which("chromium"), args=["--no-sandbox"]
        )
        yield browser
        browser.close()


@pytest.mark.thorough
def test_a_machine_is_brought_up_by_mouse_and_keys(
    session: tuple[Session, Browser], chromium: object
) -> None:
    found, served = session
    page = chromium.new_page()  # type: ignore[attr-defined]
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
    page.goto(served.url)
    page.wait_for_selector("#steps button")
    assert "Keep hands" in page.inner_text("#cautions")
    page.keyboard.press("h")
    until(lambda: found.state == "ready")
    page.click("#steps button:has-text('Frames of one kind')")
    page.click("#tables button:has-text('all chalk')")
    page.wait_for_selector("#state:text-matches('^busy')")
    page.wait_for_selector("#state:text-matches('^ready')")
    page.click("#grid-numeral button >> nth=0")
    page.wait_for_selector("#grid-numeral button.right >> nth=0")
    page.click("#grid-numeral button >> nth=0")
    page.wait_for_selector("#grid-numeral button.wrong >> nth=0")
    seen = [entry for entry in found.record.entries if entry["what"] == "seen"]
    assert [entry["picture"][0] for entry in seen] == ["chalk", None]
    page.keyboard.press("s")
    page.wait_for_selector("#log:has-text('blocked')")
    page.click("#steps button:has-text('The programme')")
    page.click("#tables button:has-text('count every 1000 ms')")
    until(lambda: found.state == "busy")
    page.keyboard.press("Space")
    until(lambda: found.state == "stopped")
    assert complaints == []
    page.close()


@pytest.mark.thorough
def test_a_page_that_is_closed_while_it_drives_stops_the_machine(
    session: tuple[Session, Browser], chromium: object
) -> None:
    found, served = session
    page = chromium.new_page()  # type: ignore[attr-defined]
    page.goto(served.url)
    page.wait_for_selector("#steps button")
    page.keyboard.press("h")
    until(lambda: found.state == "ready")
    page.click("#steps button:has-text('The programme')")
    page.click("#tables button:has-text('count every 4000 ms')")
    until(lambda: found.state == "busy")
    page.close()
    until(lambda: found.state == "stopped")


@pytest.mark.thorough
@needs(*TOOLS)
def test_a_controller_is_brought_up_to_its_programme_from_the_page(
    tmp_path: Path, chromium: object
) -> None:
    """The firmware runs in simavr behind a port, the page in Chromium."""
    emulator = build_emulator(tmp_path)
    built = controller(
        emulator, tmp_path / "avr", target("avr"), made().machine, made().table_set, wait=False
    )
    wired = Wired(built, tmp_path)
    bench = Bench(tmp_path / "record.jsonl", lambda: SerialPort(str(wired.device)))
    served = Browser(bench.orders)
    served.start()
    page = chromium.new_page()  # type: ignore[attr-defined]
    try:
        page.goto(served.url)
        page.wait_for_selector("#steps button")
        assert not wired.edges
        page.keyboard.press("h")
        bench.until("ready")
        page.click("#steps button:has-text('Each actuator')")
        page.click("#tables button:has-text('move pick.r1')")
        bench.until("busy")
        bench.until("ready")
        edges = len(wired.edges)
        page.click("#steps button:has-text('The programme')")
        page.click("#tables button:has-text('count every 1000 ms')")
        until(lambda: len(wired.edges) > edges + 60)
        page.keyboard.press("Space")
        bench.until("stopped")
        assert wired.word == wired.idle
    finally:
        page.close()
        bench.session.close()
        served.close()
        wired.close()
