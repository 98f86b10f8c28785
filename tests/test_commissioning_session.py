"""Commissioning with an emulated controller: orders, the record, what is found of secret faults."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from click.testing import CliRunner
from commissioned import EXAMPLE, SPEED, Bench, bench, berth, made, until
from hypothesis import given
from hypothesis import strategies as st

import seqc
from seqc.cli.main import main
from seqc.commission.emulated import Emulated
from seqc.commission.operations import counts_of, operations
from seqc.commission.orders import Orders
from seqc.commission.protocol import answer, command
from seqc.commission.record import Record, read
from seqc.commission.session import Session
from seqc.commission.windows import line_to_paste, windows
from seqc.faults import FaultKind, faults_of
from seqc.machine.findings import InputError
from seqc.machine.steptable import TablesFor
from seqc.schedule.commissioning import Step
from seqc.simulator import Simulator

ART = "###./...#/.##./...#/...#/###."


def test_what_is_played_is_expected_and_seen(tmp_path: Path) -> None:
    with bench(tmp_path / "record.jsonl") as found:
        assert found.session.expected.pictures["numeral"] == ("?",) * 24
        found.do("home", "play show 3")
        assert found.do("expected")[1:] == [f"  {row}" for row in ART.split("/")]
        assert found.do("look")[1:] == [f"  {row}" for row in ART.split("/")]
        assert "all is as it should be" in found.do("suspects")[0]
        assert found.session.expected.pictures == found.emulated.pictures  # type: ignore[union-attr]
        assert found.noted("ended") == ["home", "show 3"]


class HeldBack:
    """A port whose answers come late and together: that to a motion along with its end."""

    def __init__(self, port: Emulated) -> None:
        self._port, self._said, self._moves = port, b"", False

    def read(self, most_s: float) -> bytes:
        self._said += self._port.read(most_s)
        if self._moves and b"now ready" not in self._said:
            return b""
        said, self._said, self._moves = self._said, b"", False
        return said

    def write(self, data: bytes) -> None:
        self._moves |= b"show" in data or b"home" in data
        self._port.write(data)

    def close(self) -> None:
        self._port.close()


def test_what_ends_before_its_answer_is_read_is_noted_in_order(tmp_path: Path) -> None:
    emulated = Emulated(berth(), made().table_set, speed=SPEED)
    found = Bench(tmp_path / "record.jsonl", lambda: HeldBack(emulated), emulated)
    found.until("off")
    for order, table in (("home", "home"), ("play show 3", "show 3")):
        found.obey(order)
        found.until("ready")
        assert found.noted("ended")[-1] == table
        assert found.session.playing is None
    assert found.noted("played") == found.noted("ended")[1:]
    found.session.close()


def test_what_can_t_be_done_is_told_and_does_nothing(tmp_path: Path) -> None:
    with bench(tmp_path / "record.jsonl") as found:
        answers = {
            "play all slate": "no position is known",
            "again": "nothing has been played yet",
            "ok": "nothing has been played yet",
            "suspects": "nothing was marked",
            "tune": "no value was judged yet",
            "see ##": "6 rows of 4 marks",
            f"see {ART.replace('#', 'q')}": "'q' is no mark",
            "mark 9 9 slate": "there is no cell in row 9",
            "mark 1 1 gold": "'gold' is no kind",
            "mark": "there is no cell",
            "play show 33": "there is no table 'show 33'; `show 3`?",
            "step nothing": "there is no step",
            "replaced the cat": "there is no part 'the cat'",
        }
        for order, words in answers.items():
            assert words in found.obey(order)[0], order
        assert found.obey("plya x") == ["unknown: 'plya'; `play`?"]
        assert {entry["what"] for entry in found.record.entries} <= {"record", "halted"}


@pytest.mark.quick(1)
@pytest.mark.parametrize(
    "kind", [FaultKind.STUCK, FaultKind.LANE_BLOCKED, FaultKind.WIRES_SWAPPED, FaultKind.OUTPUT_OFF]
)
def test_a_secret_fault_is_among_the_suspects(kind: FaultKind, tmp_path: Path) -> None:
    secret = next(fault for fault in faults_of(berth()) if fault.kind is kind)
    with bench(tmp_path / "record.jsonl", [secret]) as found:
        for table in ("all slate", "all chalk", "show 3", "show 5"):
            found.do(*(["home"] if table == "all slate" else []), f"play {table}", "look")
        diagnosis, _ = found.session.sights.examined(found.session.sights.looked_at(), {}, True, ())
        assert any(secret in pair for suspect in diagnosis.singles for pair in suspect.causes)


def test_a_controller_with_other_tables_is_told_apart(tmp_path: Path) -> None:
    other = seqc.tables(berth(), seqc.asked(berth(), "01"), TablesFor.GLYPH)
    with bench(tmp_path / "record.jsonl", tables=other) as found:
        found.until("other tables")
        assert "tables for glyph of berth_board" in found.obey("play all slate")[0]


def test_of_tables_in_parts_the_flashed_one_is_known_by_its_checksum(tmp_path: Path) -> None:
    whole = made()
    halves = whole.part(whole.named[:30]), whole.part(whole.named[30:])
    emulated = Emulated(berth(), halves[1].table_set)
    record = Record(tmp_path / "record.jsonl", berth().name)
    session = Session([(whole,), halves], record, lambda: emulated, lambda _: None)
    session.start()
    until(lambda: session.part)
    assert session.part is halves[1]
    answers = Orders(session).obey(f"play {whole.named[0].name}")
    assert answers == [f"not done: table {whole.named[0].name!r} is in part 1: flash that one"]
    session.close()


def test_a_record_is_taken_up_again_with_what_it_has(tmp_path: Path) -> None:
    path = tmp_path / "record.jsonl"
    with bench(path) as found:
        found.do("home", "play all slate", "ok", "replaced coil of swap")
        before = found.session.operations
    with path.open("ab") as stream:
        stream.write(b'{"what": "seen", "tab')
    with bench(path) as found:
        assert found.session.operations == before
        assert "all slate" in "".join(line for line in found.obey("list") if "right" in line)
        found.obey("note after the break")
    kept = [entry["what"] for entry in read(path, berth().name)]
    assert kept.count("record") == 1
    assert "note" in kept


def test_a_file_that_is_no_record_of_this_machine_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "other.jsonl"
    Record(path, "tide_gauge").close()
    kept = path.read_bytes()
    with pytest.raises(InputError, match="tide_gauge"):
        Record(path, "berth_board")
    path.with_name("art.jsonl").write_text("#..#\n")
    with pytest.raises(InputError, match="no record"):
        Record(path.with_name("art.jsonl"), "berth_board")
    assert path.read_bytes() == kept


@pytest.mark.thorough
def test_nothing_seen_is_lost_when_the_program_is_killed(tmp_path: Path) -> None:
    words = [sys.executable, "-c", KILLED, str(tmp_path / "record.jsonl")]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parent)}
    with subprocess.Popen(
        words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(f"home\nwait\nplay show 3\nwait\nsee {ART}\n")
        process.stdin.flush()
        assert any("taken down" in line for line in process.stdout)
        process.send_signal(signal.SIGKILL)
    entries = list(read(tmp_path / "record.jsonl", "berth_board"))
    assert [entry["picture"][:2] for entry in entries if entry["what"] == "seen"] == [["slate"] * 2]


@pytest.mark.thorough
def test_a_key_stops_at_once_while_an_order_is_waited_for(tmp_path: Path) -> None:
    ours, theirs = os.openpty()
    words = [sys.executable, "-c", KILLED, str(tmp_path / "record.jsonl")]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parent)}
    said = ""

    def hear(text: str) -> None:
        nonlocal said
        while text not in said:
            said += os.read(ours, 1000).decode()
        said = said.partition(text)[2]

    with subprocess.Popen(
        words, stdin=theirs, stdout=theirs, stderr=theirs, env=environment, start_new_session=True
    ) as process:
        os.close(theirs)
        hear("stops at once")
        os.write(ours, b"home\r")
        hear("every part is at rest")
        os.write(ours, b"plax\x7fy count every 4000 ms\rwait\r")
        hear("playing count every 4000 ms")
        os.write(ours, b"!")
        hear("stopped: every output is inactive")
        os.write(ours, b"quit\r")
        assert process.wait(timeout=20) == 0
    os.close(ours)
    assert "stop" in [entry["what"] for entry in read(tmp_path / "record.jsonl", "berth_board")]


KILLED = """
import sys
from pathlib import Path
from commissioned import made
import seqc
seqc.desk(made(), Path(sys.argv[1])).run()
"""


def test_operations_are_those_that_the_simulator_counts() -> None:
    found = made()
    entries: list[dict[str, object]] = []
    simulator = Simulator(found.machine, stock=False)
    for table in (found.frame.home, found.frame.clear):
        if table:
            simulator.run(table)
    entries.append({"what": "home", **counts_of(found.machine, found.frame, None)})
    for one in found.named[:30]:
        simulator.run(one.table)
        entries.append({"what": "played", **counts_of(found.machine, found.frame, one.table)})
    counted = operations(found.machine, json.loads(json.dumps(entries)))
    pulses = {name: n for name, n in counted.items() if name.startswith("coil of ")}
    assert pulses == {f"coil of {name}": n for name, n in simulator.pulses.items()}
    closings = Counter(dict(simulator.closings))
    for actuator in found.machine.actuators:
        forward, reverse = actuator.outputs
        assert counted[f"forward relay of {actuator.name}"] == closings[forward]
        assert counted[f"reverse relay of {actuator.name}"] == closings[reverse]
    again: list[dict[str, object]] = [*entries, {"what": "replaced", "part": "coil of swap"}]
    assert operations(found.machine, again)["coil of swap"] == 0


def test_a_window_is_where_every_play_was_right_and_its_line_can_be_pasted() -> None:
    pulses = [one for one in made().named if one.name.startswith("coil small pulse ")]
    right = {18: [False], 21: [True, False], 24: [True, True], 27: [True], 30: [True], 34: [False]}
    entries = [
        {"what": "judged", "table": f"coil small pulse {ms} ms", "right": one}
        for ms, several in right.items()
        for one in several
    ]
    (window,) = windows(pulses, entries)
    assert window.low is not None
    assert window.high is not None
    assert (window.low.value_us, window.high.value_us) == (24_000, 30_000)
    assert window.proposed_us is not None
    assert 24_000 < window.proposed_us < 30_000
    found = line_to_paste(berth(), window)
    assert found is not None
    place, line = found
    assert f"pulse {window.proposed_us // 1000} ms" in line
    was = Path(place.file).read_text("utf-8").splitlines()[place.line - 1].strip()
    assert line == was.replace("pulse 30 ms", f"pulse {window.proposed_us // 1000} ms")


def test_the_sheet_names_every_table_once() -> None:
    lines = seqc.commissioning_sheet(made())
    boxes = [line for line in lines if line.startswith("      [ ] ")]
    names = [line[10:].rpartition(",")[0] for line in boxes]
    assert sorted(names) == sorted(one.name for one in made().named)
    assert lines[2] == "Cautions"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--emulated", "--port", "x"], "exclude each other"),
        (["--faults", "2", "--port", "x"], "--faults needs --emulated"),
    ],
)
def test_calls_that_contradict_themselves_are_refused(words: list[str], message: str) -> None:
    result = CliRunner().invoke(main, ["commission", str(EXAMPLE), *words])
    assert result.exit_code == 2
    assert message in result.output


@given(st.binary(max_size=80))
def test_garbage_is_never_taken_for_an_answer(data: bytes) -> None:
    found = answer(data)
    assert found is None or found.checksum <= 0xFFFF


@given(st.integers(0, 99_999), st.integers(0, 31))
def test_an_answer_with_any_bit_turned_over_is_none(number: int, bit: int) -> None:
    line = command(number, "show ready 3 E00B").rstrip(b"\n")
    assert answer(line) is not None
    at, turned = bit // 8 % len(line), 1 << bit % 8
    damaged = bytes([*line[:at], line[at] ^ turned, *line[at + 1 :]])
    assert answer(damaged) is None


def test_steps_are_in_the_order_of_bring_up() -> None:
    steps = [one.step for one in made().named if one.grid]
    ordered = [step for step in Step if step in steps and step is not Step.TUNING]
    assert list(dict.fromkeys(step for step in steps if step is not Step.TUNING)) == ordered
