"""The watched page follows its files, and is served to its own address alone."""

from __future__ import annotations

import http.client
import json
import os
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import click
import pytest
from clock_file import CLOCK, changed
from playwright.sync_api import Browser
from surveyed import needs_browser

import seqc
from seqc.cli.common import Choice
from seqc.cli.watch import _Watch, command, stamps_of, wait_for_change
from seqc.machine.findings import Findings, InputError
from seqc.machine.opened import noted
from seqc.report.page.watched import Watched

SHORT = 'programme p { show "0123" every 4 s repeat }'
SMALL = changed(CLOCK, SHORT).replace(" copies 4", "")
CHOICE = Choice(None, None, None, None, None, seqc.LOAD_TIME, seqc.NORMAL)


@contextmanager
def watching(file: Path) -> Iterator[tuple[Watched, _Watch]]:
    """The watch of a file, made once, that makes it anew in a thread when it is told to."""
    watched = Watched(file.name)
    with watched.server, click.Context(command).scope():
        yield watched, _Watch(watched, file, CHOICE, 3_600_000_000, 40.0)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "quay.lanes"
    path.write_text(SMALL, "utf-8")
    return path


def got(watched: Watched, path: str = "") -> tuple[int, str]:
    where = urlsplit(watched.url)
    connection = http.client.HTTPConnection(where.hostname or "", where.port, timeout=10)
    with closing(connection):
        connection.request("GET", where.path + path)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()


def latest(watched: Watched) -> dict[str, str]:
    """What a page that opens now is told."""
    found = {}
    listening = watched.server.stream.listen()
    for _ in range(len(watched.server.stream._latest)):
        event = next(listening)
        assert event
        found[event.kind] = event.text
    listening.close()  # type: ignore[attr-defined]
    return found


def test_a_page_is_made_and_made_anew_and_findings_stand_in_while_it_is_wrong(file: Path) -> None:
    with watching(file) as (watched, watch):
        assert "being made" in got(watched)[1]
        watch.make()
        assert latest(watched) == {"made": "1"}
        first = got(watched)
        assert first[0] == 200
        assert "<h1>quay_clock</h1>" in first[1]
        file.write_text(SMALL.replace("machine quay_clock", "machine pier_clock"), "utf-8")
        watch.make()
        assert latest(watched) == {"made": "2"}
        assert "<h1>pier_clock</h1>" in got(watched, "page")[1]
        file.write_text(SMALL.replace("item slate", "itm slate"), "utf-8")
        watch.make()
        told = latest(watched)
        assert told.keys() == {"made", "findings"}
        assert "itm" in json.loads(told["findings"])["html"]
        assert "<h1>pier_clock</h1>" in got(watched)[1]
        file.write_text(SMALL, "utf-8")
        watch.make()
        assert latest(watched) == {"made": "3"}


def test_what_changes_nothing_makes_no_new_page(file: Path) -> None:
    with watching(file) as (watched, watch):
        watch.make()
        file.write_text(SMALL + "# a remark\n", "utf-8")
        watch.make()
        assert latest(watched) == {"made": "1"}


def test_the_page_connects_to_its_own_server_alone(file: Path) -> None:
    with watching(file) as (watched, watch):
        watch.make()
        html = got(watched)[1]
        assert "connect-src &#39;self&#39;" in html
        assert "default-src &#39;none&#39;" in html


def test_every_file_that_a_machine_came_from_is_known(tmp_path: Path) -> None:
    (tmp_path / "parts").mkdir()
    coil = next(line for line in SMALL.splitlines() if line.startswith("coil"))
    (tmp_path / "parts" / "coils.lanes").write_text(coil, "utf-8")
    main = tmp_path / "quay.lanes"
    text = SMALL.replace(coil, 'include "parts/coils.lanes"\ninclude "gone.lanes"')
    main.write_text(text, "utf-8")
    with noted() as files, pytest.raises(InputError):
        seqc.read(main, Findings())
    names = {path.relative_to(tmp_path).as_posix() for path in files}
    assert names == {"quay.lanes", "parts/coils.lanes", "gone.lanes"}


@pytest.mark.parametrize("how", ["saved", "replaced", "made"])
def test_waiting_ends_when_a_file_is_saved(how: str, file: Path) -> None:
    missing = file.parent / "gone.lanes"
    stamps = stamps_of([file, missing])
    ended = threading.Event()

    def wait() -> None:
        wait_for_change(stamps)
        ended.set()

    thread = threading.Thread(target=wait, daemon=True)
    thread.start()
    (file.parent / "other.txt").write_text("not one of them", "utf-8")
    assert not ended.wait(0.2)
    if how == "saved":
        file.write_text(SMALL + "\n", "utf-8")
    elif how == "replaced":
        other = file.parent / ".quay.swap"
        other.write_text(SMALL + "\n\n", "utf-8")
        os.replace(other, file)
    else:
        missing.write_text("", "utf-8")
    assert ended.wait(10)
    thread.join(10)


@needs_browser
@pytest.mark.thorough
def test_an_open_page_keeps_where_one_looks(browser: Browser, file: Path) -> None:
    with watching(file) as (watched, watch):
        page = browser.new_page(viewport={"width": 1000, "height": 700})
        heard: list[str] = []
        page.on("console", lambda said: heard.append(said.text))
        page.on("pageerror", lambda error: heard.append(str(error)))
        page.goto(watched.url)
        watch.make()
        page.wait_for_function("() => App.player?.scene")
        assert page.locator("nav a").count() == 6
        page.select_option("#scene", label="3")
        page.wait_for_function("() => App.player.scene.entry.title === '3'")
        page.evaluate("() => { App.player.jump(210000); window.scrollTo(0, 900); }")
        page.select_option('[data-part="zoom"]', "200000")
        file.write_text(SMALL.replace("machine quay_clock", "machine pier_clock"), "utf-8")
        watch.make()
        page.wait_for_selector("h1:text('pier_clock')")
        page.wait_for_function("() => App.player?.scene?.entry.title === '3'")
        assert page.evaluate("() => App.player.time") == 210_000
        assert page.input_value('[data-part="zoom"]') == "200000"
        assert page.evaluate("() => Math.round(scrollY)") == 900
        file.write_text(SMALL.replace("item slate", "itm slate"), "utf-8")
        watch.make()
        page.wait_for_selector("#watched .findings")
        assert page.locator("h1:text('pier_clock')").count() == 1
        file.write_text(SMALL, "utf-8")
        watch.make()
        page.wait_for_selector("h1:text('quay_clock')")
        assert page.locator("#watched .findings").count() == 0
        assert heard == []
        page.close()


def test_the_watch_ends_with_its_page(file: Path) -> None:
    with watching(file) as (watched, watch):
        watch.make()
        port = watched.server.port
    with closing(http.client.HTTPConnection("127.0.0.1", port)) as gone, pytest.raises(OSError):
        gone.request("GET", "/")
