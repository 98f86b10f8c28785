"""A controller in simavr behind a port is brought up, and looks after itself when left alone."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from commissioned import Bench, made, until
from firmware.emulated import TOOLS, build_emulator, controller
from firmware.host import needs, target
from firmware.wired import Wired

from seqc.commission.link import SILENCE_S
from seqc.commission.ports import SerialPort

pytestmark = needs(*TOOLS)


@pytest.fixture(scope="module")
def wired(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Wired]:
    folder = tmp_path_factory.mktemp("wired")
    emulator = build_emulator(folder)
    built = controller(
        emulator, folder / "avr", target("avr"), made().machine, made().table_set, wait=False
    )
    found = Wired(built, folder)
    yield found
    found.close()


@pytest.fixture
def bench(wired: Wired, tmp_path: Path) -> Iterator[Bench]:
    found = Bench(tmp_path / "record.jsonl", lambda: SerialPort(str(wired.device)))
    yield found
    found.session.close()


@pytest.mark.thorough
def test_nothing_moves_until_home_and_then_the_programme_runs(wired: Wired, bench: Bench) -> None:
    assert not wired.edges
    assert bench.session.state == "off"
    assert bench.obey("play all slate")[0].startswith("not done: no position is known")
    assert bench.obey("home") == ["coming home"]
    bench.until("ready")
    for table in ("move pick.r1", "chalk down drop.c2", "all slate"):
        assert bench.obey(f"play {table}")[0].startswith(f"playing {table}")
        bench.until("ready")
    assert bench.noted("played") == bench.noted("ended")[1:]
    assert wired.word == wired.idle
    edges = len(wired.edges)
    assert bench.obey("play count every 1000 ms")[0].startswith("playing count every 1000 ms")
    until(lambda: len(wired.edges) > edges + 60)
    assert bench.session.state == "busy"


@pytest.mark.thorough
def test_stop_and_a_reset_are_obeyed_told_and_taken_up_again(wired: Wired, bench: Bench) -> None:
    bench.obey("home")
    bench.until("ready")
    bench.obey("play count every 1000 ms")
    until(lambda: wired.word != wired.idle)
    bench.session.stop()
    bench.until("stopped")
    assert wired.word == wired.idle
    bench.obey("home")
    bench.until("ready")
    bench.obey("play count every 1000 ms")
    until(lambda: wired.word != wired.idle)
    wired.reset()
    bench.until("off")
    assert wired.word == wired.idle
    until(lambda: "the controller was reset; `home` comes next" in bench.told)
    bench.obey("home")
    bench.until("ready")


@pytest.mark.thorough
def test_a_pulled_cable_stops_the_controller_and_the_line_is_taken_up_again(
    wired: Wired, bench: Bench
) -> None:
    bench.obey("home")
    bench.until("ready")
    bench.obey("play count every 4000 ms")
    until(lambda: wired.word != wired.idle)
    wired.pull()
    bench.until("lost")
    until(lambda: wired.word == wired.idle)
    assert bench.obey("play all slate")[0].startswith("not done: ")
    with pytest.raises(Exception, match="Cut the supply"):
        bench.session.stop()
    time.sleep(SILENCE_S + 1)
    edges = len(wired.edges)
    time.sleep(4)
    assert len(wired.edges) == edges, "it has stopped by itself"
    wired.plug()
    bench.until("stopped")
    assert wired.word == wired.idle
    bench.obey("home")
    bench.until("ready")


@pytest.mark.thorough
def test_garbage_on_the_line_is_counted_and_does_no_harm(wired: Wired, bench: Bench) -> None:
    bench.obey("home")
    bench.until("ready")
    wired.garbage = b"\x00\xffnow ready \x81\n1:status ready - 0000;00\nshow\n"
    until(lambda: bench.session.link.heard.garbage >= 3)
    assert bench.obey("play all chalk")[0].startswith("playing all chalk")
    bench.until("ready")
    assert any("made no sense" in line for line in bench.obey("status"))
