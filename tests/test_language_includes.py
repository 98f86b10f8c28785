"""A machine may be spread over several files of one folder, and over no others."""

from __future__ import annotations

import os
import pathlib
from collections.abc import Mapping

import pytest
from malformed import BOARD

from seqc.language import Declared, read
from seqc.machine.findings import Findings

LINES = BOARD.split("\n")
ELECTRICS = "\n".join(line for line in LINES if line.startswith(("coil", "relay", "supply")))
REST = "\n".join(line for line in LINES if not line.startswith(("coil", "relay", "supply")))


def read_files(folder: pathlib.Path, files: Mapping[str, str]) -> tuple[Declared | None, Findings]:
    """Write files and read the first of them."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    findings = Findings()
    return read(folder / next(iter(files)), findings), findings


def codes(findings: Findings) -> list[str]:
    return [finding.code for finding in findings]


def test_included_statements_count_as_if_written_there(tmp_path: pathlib.Path) -> None:
    files = {
        "board.lanes": f'include "shared/parts.lanes"\n{REST}',
        "shared/parts.lanes": ELECTRICS,
    }
    declared, findings = read_files(tmp_path, files)
    assert codes(findings) == []
    assert declared is not None
    coil = declared.machine.selectors[0].coil
    assert coil.place.file == str(tmp_path / "shared" / "parts.lanes")
    assert coil.place.line == 1


def test_what_is_shared_may_be_more_than_one_machine_uses(tmp_path: pathlib.Path) -> None:
    spare = (
        "coil spare { 12 V 8 ohm pulse 40 ms travel 18 ms }\n"
        "relay spare { operate 10 ms release 6 ms }\n"
        "item amber { tone gold }\n"
    )
    files = {
        "board.lanes": f'include "parts.lanes"\n{REST}',
        "parts.lanes": f"{ELECTRICS}\n{spare}",
    }
    _, findings = read_files(tmp_path, files)
    assert codes(findings) == []
    _, findings = read_files(tmp_path, {"board.lanes": f"{BOARD}\n{spare}"})
    assert codes(findings) == ["unused"] * 3


def test_names_are_relative_to_the_file_that_holds_them(tmp_path: pathlib.Path) -> None:
    files = {
        "board.lanes": f'include "a/one.lanes"\n{REST}',
        "a/one.lanes": 'include "b/two.lanes"\n',
        "a/b/two.lanes": 'include "../../three.lanes"\n',
        "three.lanes": ELECTRICS,
    }
    declared, findings = read_files(tmp_path, files)
    assert codes(findings) == []
    assert declared is not None


def test_font_file_is_relative_to_the_file_that_names_it(tmp_path: pathlib.Path) -> None:
    font = 'font other for g from "o.bdf" { ink slate paper chalk }'
    files = {"board.lanes": f'include "fonts/all.lanes"\n{BOARD}', "fonts/all.lanes": font}
    declared, findings = read_files(tmp_path, files)
    assert codes(findings) == []
    assert declared is not None
    file = declared.fonts[0].file
    assert file is not None
    assert file.path == tmp_path / "fonts" / "o.bdf"


def test_file_that_is_included_by_two_routes_is_read_once(tmp_path: pathlib.Path) -> None:
    files = {
        "board.lanes": f'include "one.lanes"\ninclude "two.lanes"\n{REST}',
        "one.lanes": 'include "parts.lanes"\n',
        "two.lanes": 'include "./parts.lanes"\n',
        "parts.lanes": ELECTRICS,
    }
    declared, findings = read_files(tmp_path, files)
    assert codes(findings) == []
    assert declared is not None


def test_loop_shows_every_link(tmp_path: pathlib.Path) -> None:
    files = {
        "board.lanes": f'include "a.lanes"\n{BOARD}',
        "a.lanes": '# first\ninclude "b.lanes"\n',
        "b.lanes": 'include "c.lanes"\n',
        "c.lanes": '\n\ninclude "a.lanes"\n',
    }
    _, findings = read_files(tmp_path, files)
    (loop,) = findings
    assert loop.code == "include-loop"
    assert (pathlib.Path(loop.place.file).name, loop.place.line) == ("c.lanes", 3)
    links = [(pathlib.Path(r.place.file).name, r.place.line, r.note) for r in loop.related]
    assert links == [("a.lanes", 2, "includes `b.lanes`"), ("b.lanes", 1, "includes `c.lanes`")]


def test_file_that_includes_itself_is_a_loop(tmp_path: pathlib.Path) -> None:
    _, findings = read_files(tmp_path, {"board.lanes": f'{BOARD}include "board.lanes"\n'})
    assert codes(findings) == ["include-loop"]


def test_missing_include_floods_no_unknown_names(tmp_path: pathlib.Path) -> None:
    declared, findings = read_files(tmp_path, {"board.lanes": f'include "parts.lanes"\n{REST}'})
    assert declared is None
    assert codes(findings) == ["file-not-found"]


@pytest.mark.parametrize(
    "name",
    [
        "/etc/passwd",
        "../secret.lanes",
        "a/../../secret.lanes",
        "..\\\\secret.lanes",
        "C:/secret.lanes",
    ],
)
def test_no_file_outside_the_folder_is_read(name: str, tmp_path: pathlib.Path) -> None:
    (tmp_path / "secret.lanes").write_text(ELECTRICS, encoding="utf-8")
    (tmp_path / "home" / "a").mkdir(parents=True)
    files = {"board.lanes": f'include "{name}"\n{REST}'}
    declared, findings = read_files(tmp_path / "home", files)
    assert declared is None
    assert codes(findings) == ["file-outside"]


def test_no_link_leads_outside(tmp_path: pathlib.Path) -> None:
    (tmp_path / "secret.lanes").write_text(ELECTRICS, encoding="utf-8")
    (tmp_path / "home").mkdir()
    os.symlink(tmp_path / "secret.lanes", tmp_path / "home" / "parts.lanes")
    files = {"board.lanes": f'include "parts.lanes"\n{REST}'}
    _, findings = read_files(tmp_path / "home", files)
    assert codes(findings) == ["file-outside"]


def test_pipe_is_not_opened(tmp_path: pathlib.Path) -> None:
    os.mkfifo(tmp_path / "parts.lanes")
    _, findings = read_files(tmp_path, {"board.lanes": f'include "parts.lanes"\n{REST}'})
    assert codes(findings) == ["file-not-found"]


def test_mark_at_the_beginning_of_a_file_is_no_text(tmp_path: pathlib.Path) -> None:
    declared, findings = read_files(tmp_path, {"board.lanes": "\ufeff" + BOARD})
    assert codes(findings) == []
    assert declared is not None


def test_an_allowed_folder_is_looked_into_for_files_and_fonts(tmp_path: pathlib.Path) -> None:
    home, shared = tmp_path / "home", tmp_path / "shared"
    font = 'font q for g from "fonts/q.bdf" { ink slate paper chalk }'
    read_files(home, {"board.lanes": f'include "parts.lanes"\n{REST}\n{font}'})
    read_files(shared, {"parts.lanes": ELECTRICS, "fonts/q.bdf": ""})
    findings = Findings()
    declared = read(home / "board.lanes", findings, allowed=[shared])
    assert codes(findings) == []
    assert declared is not None
    file = declared.fonts[-1].file
    assert file is not None
    assert file.path == shared / "fonts/q.bdf"
    assert read(home / "board.lanes", (lone := Findings())) is None
    assert "file-not-found" in codes(lone)


def test_the_own_folder_comes_before_an_allowed_one(tmp_path: pathlib.Path) -> None:
    home, shared = tmp_path / "home", tmp_path / "shared"
    read_files(home, {"board.lanes": f'include "parts.lanes"\n{REST}', "parts.lanes": ELECTRICS})
    read_files(shared, {"parts.lanes": "nonsense"})
    findings = Findings()
    assert read(home / "board.lanes", findings, allowed=[shared]) is not None
    assert codes(findings) == []


def test_a_file_leads_nowhere_by_itself_out_of_an_allowed_folder(tmp_path: pathlib.Path) -> None:
    home, shared = tmp_path / "home", tmp_path / "shared"
    (tmp_path / "secret.lanes").write_text(ELECTRICS, "utf-8")
    read_files(home, {"board.lanes": f'include "parts.lanes"\n{REST}'})
    read_files(shared, {"parts.lanes": 'include "../secret.lanes"'})
    findings = Findings()
    assert read(home / "board.lanes", findings, allowed=[shared]) is None
    assert codes(findings) == ["file-outside"]
    assert "--include DIR" in next(iter(findings)).hint
