"""The documents agree with the tables when programs that aren't ours read them."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import jsonschema  # type: ignore[import-untyped]
import pytest
from boards import COLUMN, GRID, OWN_WIRES, ROW, board, grid_of
from firmware.handmade import frame, machine_of, random_table, table, table_set
from firmware.host import target, written
from intelhex import IntelHex  # type: ignore[import-untyped]
from vcdvcd import VCDVCD  # type: ignore[import-untyped]

from seqc.codegen import read_back, render
from seqc.codegen.crc import crc16
from seqc.codegen.intel_hex import hex_data, hex_lines
from seqc.machine.electrics import DriveKind
from seqc.machine.model import Machine
from seqc.machine.steptable import Step, StepTable, TableSet, TablesFor


def numeral_board(kind: DriveKind = DriveKind.CHANGEOVER_PAIR, switch: bool = False) -> Machine:
    return board(
        [grid_of(2, 2)],
        selectors=(ROW,),
        gates={"drop": COLUMN, "swap": GRID},
        kind=kind,
        pulse_switch=switch,
    )


# The catalogue of parametrised CRC algorithms gives 0x29B1 for this CRC-16 of the digits 1 to 9
# (from memory). In Intel's hexadecimal object file format (1988) the bytes of a record sum to 0
# modulo 256 (from memory); the records are computed from that.
def test_the_checksum_has_its_published_check_value() -> None:
    assert crc16(b"123456789") == 0x29B1


def test_intel_hex_records_are_as_published() -> None:
    assert list(hex_lines(b"")) == [":00000001FF"]
    assert hex_data(":0300000002337A4E\n:00000001FF\n") == b"\x02\x33\x7a"
    with pytest.raises(ValueError, match="checksum"):
        hex_data(":0300300002337A1F\n")
    with pytest.raises(ValueError, match="does not follow"):
        hex_data(":0300300002337A1E\n")


@pytest.mark.parametrize("size", [0, 1, 16, 17, 65_535, 65_536, 140_000])
def test_intel_hex_is_read_back_by_another_reader(tmp_path: Path, size: int) -> None:
    data = bytes(n * 7 % 251 for n in range(size))
    text = "\n".join(hex_lines(data)) + "\n"
    assert hex_data(text) == data
    (tmp_path / "x.hex").write_text(text)
    assert IntelHex(str(tmp_path / "x.hex")).tobinstr() == data


def test_the_image_in_intel_hex_is_laid_out_as_documented(tmp_path: Path) -> None:
    machine = machine_of(11, low=True)
    tables = table_set(machine, TablesFor.TRANSITION)
    files = render(target("ihex"), machine, tables)
    written(tmp_path, files)
    data = IntelHex(str(tmp_path / "seqc_tables.hex")).tobinstr()
    rows = [line.strip("| ").split(" | ") for line in files["seqc_layout.md"].splitlines()]
    at = {row[1]: int(row[0]) for row in rows if len(row) == 4 and row[0].isdigit()}
    fields = {int(row[0]): row[3] for row in rows if len(row) == 4 and row[0].isdigit()}
    assert data[:3] == b"SQ\x04"
    assert int.from_bytes(data[14:16], "little") == 11 == int(fields[14])
    assert int.from_bytes(data[20:24], "little") == tables.slack_us
    assert int.from_bytes(data[32:34], "little") == len(tables.tables)
    assert int.from_bytes(data[at["idle"] : at["pairs"]], "little") == machine.idle_word
    # Outputs 0 and 1, 2 and 3 and so on, each pair in one byte of a word.
    pairs = [[0, 3, 0, 0], [0, 12, 0, 0], [0, 48, 0, 0], [0, 192, 0, 0], [1, 3, 1, 0]]
    assert list(data[at["pairs"] : at["limits"]]) == [byte for pair in pairs for byte in pair]
    assert files["seqc_layout.md"].splitlines()[2] == f"seqc build {data[:-5:-1].hex().upper()}"
    data = data[:-4]
    assert int.from_bytes(data[at["checksum"] :], "little") == crc16(data[:-2])
    assert crc16(data[:-2] + data[:-3:-1]) == 0, "a CRC over its own value is zero"


@pytest.mark.parametrize("tables_for", list(TablesFor))
@pytest.mark.parametrize("kind", list(DriveKind))
def test_the_json_document_keeps_to_its_schema(kind: DriveKind, tables_for: TablesFor) -> None:
    machine = numeral_board(kind, switch=True)
    files = render(target("json"), machine, table_set_of_small_words(machine, tables_for))
    schema = json.loads(files["seqc_tables.schema.json"])
    document = json.loads(files["seqc_tables.json"])
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(document, schema)
    assert [entry["bit"] for entry in document["outputs"]] == list(range(machine.width))
    assert all(entry["uses"] for entry in document["outputs"])
    spoils: tuple[dict[str, object], ...] = (
        {"width": "3"},
        {"tables": []},
        {"more": 1},
        {"idle_word": "12"},
    )
    for spoil in spoils:
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate({**document, **spoil}, schema)


def table_set_of_small_words(machine: Machine, tables_for: TablesFor) -> TableSet:
    made = table_set(machine, tables_for)
    home = table(machine, "home", [1])
    shown = [table(machine, f"t{n}", [n], shows=frame(str(n))) for n in range(3)]
    return replace(made, home=home, tables=tuple(shown))


def waves(tmp_path: Path, machine: Machine, tables: TableSet) -> VCDVCD:
    written(tmp_path, render(target("vcd"), machine, tables))
    return VCDVCD(str(tmp_path / "seqc.vcd"))


def levels(dump: VCDVCD, name: str) -> list[tuple[int, str]]:
    """The values of the one signal whose name has this part, without the unknown ones."""
    (found,) = [signal for signal in dump.signals if name in signal.split("[")[0] + "."]
    return [(at, value) for at, value in dump[found].tv if value != "x"]


@pytest.mark.parametrize("low", [False, True])
def test_the_outputs_of_the_waveform_are_those_of_the_tables(tmp_path: Path, low: bool) -> None:
    machine = machine_of(9, 4, low=low)
    tables = table_set(machine)
    dump = waves(tmp_path, machine, tables)
    expected: list[list[tuple[int, str]]] = [[] for _ in range(machine.width)]
    start = 0
    for one in tables:
        for step in one.steps:
            for output, seen in enumerate(expected):
                value = str(step.word >> output & 1)
                if not seen or seen[-1][1] != value:
                    seen.append((start + step.at_us, value))
        start += one.length_us
    found = [levels(dump, f".output{output}_") for output in range(machine.width - 1)]
    assert found == expected[:-1]
    assert levels(dump, ".output12.") == expected[-1]
    assert dump.endtime == start
    assert dump.timescale["magnitude"] == 1
    assert dump.timescale["unit"] == "us"


def pulse_table(machine: Machine, name: str, *spans: tuple[int, int, int]) -> StepTable:
    """A table in which outputs are active: triples of output, first and last microsecond."""
    times = sorted({0, *(at for _, on, off in spans for at in (on, off))})
    steps = []
    for at in times:
        active = sum(1 << output for output, on, off in spans if on <= at < off)
        steps.append(Step(at, machine.idle_word ^ active))
    return StepTable(name, tuple(steps), times[-1] + 1_000, frame(name))


def test_polarities_and_positions_follow_the_relays(tmp_path: Path) -> None:
    machine = numeral_board()
    forward, reverse = machine.actuators[0].outputs
    tables = replace(
        table_set_of_small_words(machine, TablesFor.GLYPH),
        home=pulse_table(machine, "home", (reverse, 0, 40_000)),
        tables=(pulse_table(machine, "a", (forward, 500_000, 540_000)),),
    )
    dump = waves(tmp_path, machine, tables)
    start = tables.home.length_us
    # The card's contact operates after 10 ms and releases after 6 ms; the part travels for 18 ms.
    assert levels(dump, "coils.pick1_r1") == [
        (0, "0"),
        (10_000, "10"),
        (46_000, "0"),
        (start + 510_000, "1"),
        (start + 546_000, "0"),
    ]
    assert levels(dump, "positions.pick1_r1") == [(28_000, "0"), (start + 528_000, "1")]


def test_a_shared_reverser_and_a_pulse_switch_are_decoded(tmp_path: Path) -> None:
    machine = numeral_board(DriveKind.SHARED_REVERSER, switch=True)
    drive = machine.actuators[0].drive
    assert drive.reverser is not None
    assert drive.switch is not None
    own = machine.actuators[1].outputs[0]
    home = pulse_table(
        machine,
        "home",
        (own, 0, 100_000),
        (drive.reverser, 0, 100_000),
        (drive.switch, 20_000, 60_000),
    )
    shown = pulse_table(machine, "a", (own, 0, 100_000), (drive.switch, 20_000, 60_000))
    tables = replace(table_set_of_small_words(machine, TablesFor.GLYPH), home=home, tables=(shown,))
    dump = waves(tmp_path, machine, tables)
    start = home.length_us
    assert levels(dump, "coils.pick1_r2") == [
        (0, "0"),
        (20_000, "10"),
        (60_000, "0"),
        (start + 20_000, "1"),
        (start + 60_000, "0"),
    ]
    assert levels(dump, "positions.pick1_r2") == [(38_000, "0"), (start + 38_000, "1")]
    assert levels(dump, "coils.pick1_r1") == [(0, "0")]


def test_tables_and_passes_are_marked(tmp_path: Path) -> None:
    machine = numeral_board()
    drops = [a for a in machine.actuators if a.part.name == "drop"]
    (one_f, one_r), (two_f, two_r) = (a.outputs for a in drops)
    shown = pulse_table(
        machine,
        "a",
        (one_f, 0, 40_000),
        (two_f, 50_000, 90_000),
        (one_r, 200_000, 240_000),
        (two_r, 250_000, 290_000),
        (two_f, 500_000, 540_000),
        (two_r, 700_000, 740_000),
    )
    tables = replace(table_set_of_small_words(machine, TablesFor.GLYPH), tables=(shown,))
    dump = waves(tmp_path, machine, tables)
    start = tables.home.length_us
    assert levels(dump, "markers.pass") == [
        (0, "0"),
        (start + 10_000, "1"),
        (start + 510_000, "10"),
    ]
    assert levels(dump, "markers.table") == [(0, "0"), (start, "1")]


def test_names_of_the_waveform_are_distinct_and_without_spaces(tmp_path: Path) -> None:
    machine = numeral_board()
    actuators = tuple(replace(a, name="a b$end\n" + "x" * 60) for a in machine.actuators)
    machine = replace(machine, actuators=actuators)
    dump = waves(tmp_path, machine, table_set_of_small_words(machine, TablesFor.GLYPH))
    assert len(dump.signals) == 2 + machine.width + 2 * len(actuators)


def test_long_tables_have_codes_of_more_than_one_sign(tmp_path: Path) -> None:
    machine = machine_of(200)
    tables = replace(table_set(machine), tables=(random_table(machine, "a", 3, 40),))
    dump = waves(tmp_path, machine, tables)
    assert len(dump.signals) == 2 + 200 + 200


@pytest.mark.parametrize("kind", OWN_WIRES)
@pytest.mark.parametrize("switch", [False, True])
def test_the_wiring_list_has_every_output(kind: DriveKind, switch: bool) -> None:
    machine = numeral_board(kind, switch)
    tables = table_set_of_small_words(machine, TablesFor.GLYPH)
    files = render(target("wiring"), machine, tables)
    rows = list(csv.DictReader(io.StringIO(files["seqc_wiring.csv"])))
    assert [int(row["output"]) for row in rows] == list(range(machine.width))
    for actuator in machine.actuators:
        found = [row for row in rows if row["actuator"] == actuator.name]
        assert [int(row["output"]) for row in found] == list(actuator.outputs)
        assert [row["coil_terminal"][0] for row in found] == ["A", "B"][: len(found)]
        if len(found) == 2:
            assert [row["polarity"] for row in found] == ["forward to thrown", "reverse to rest"]
    assert all(row["active"] == "low" for row in rows)
    inputs = {int(row["output"]): row["driver_input"] for row in rows}
    drive = machine.actuators[0].drive
    if drive.switch is not None:
        assert inputs[drive.switch] == f"gate of switch Q{drive.switch}"
    if drive.reverser is not None:
        assert inputs[drive.reverser] == f"coil of K{drive.reverser}"
    text = files["seqc_wiring.md"]
    assert sum(line.startswith("| ") for line in text.splitlines()) == 2 + len(rows)
    for word in ("freewheel diode", "return", "fuse", "while the supply is on", "Local codes"):
        assert word in text
    assert read_back(target("wiring"), files) is None


def test_unused_outputs_are_listed_as_spare() -> None:
    machine = machine_of(5)
    files = render(target("wiring"), machine, table_set(machine))
    assert files["seqc_wiring.csv"].splitlines()[-1] == "4,bus0,4,high,,spare,,,,"


def test_hostile_names_stay_in_their_cells_of_the_wiring_list() -> None:
    machine = machine_of(4)
    evil = "<b>|`x`\n=1+1"
    actuators = tuple(replace(a, name=evil) for a in machine.actuators)
    files = render(target("wiring"), replace(machine, actuators=actuators), table_set(machine))
    rows = [line for line in files["seqc_wiring.md"].splitlines() if line.startswith("| ")]
    assert len(rows) == 2 + 4
    assert all(row.replace("\\|", "").count("|") == 10 for row in rows)
    assert "<b>" not in files["seqc_wiring.md"].replace("\\<", "")
