"""Descriptions of targets, and what goes wrong in a target of the user's own."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from firmware.handmade import machine_of, table_set

from seqc.codegen import read_back, render, targets
from seqc.machine.findings import InputError

GOOD = """title = "Mine"
summary = "A target of my own."

[files]
"out.txt" = "out.j2"
"""


def own_target(folder: Path, description: str = GOOD, template: str = "{{ idle.c }}\n") -> Path:
    mine = folder / "mine"
    mine.mkdir()
    (mine / "target.toml").write_text(description)
    (mine / "out.j2").write_text(template)
    return folder


def test_ours_are_listed_by_name_with_a_title_and_files() -> None:
    found = targets()
    names = [target.name for target in found]
    assert names == sorted(names)
    assert {"c99", "json", "csv"} <= set(names)
    assert all(target.title and target.summary.endswith(".") and target.files for target in found)


def test_the_template_engine_is_not_imported_before_something_is_built() -> None:
    code = "import sys, seqc.codegen; seqc.codegen.targets(); print('jinja2' in sys.modules)"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout == "False\n"


def test_a_target_of_the_users_own_is_found_and_rendered(tmp_path: Path) -> None:
    folder = own_target(tmp_path)
    (mine,) = [target for target in targets(folder) if target.name == "mine"]
    machine = machine_of(8, low=True)
    assert render(mine, machine, table_set(machine)) == {"out.txt": "0xFF\n"}
    assert read_back(mine, {"out.txt": "0xFF\n"}) is None
    assert [t.name for t in targets(folder / "mine")] == [t.name for t in targets(folder)]


def test_a_target_of_the_users_own_may_use_our_common_templates(tmp_path: Path) -> None:
    folder = own_target(
        tmp_path,
        GOOD.replace('"out.txt" = "out.j2"', '"player.c" = "common/player.c.j2"'),
    )
    (mine,) = [target for target in targets(folder) if target.name == "mine"]
    machine = machine_of(8)
    assert "seqc_poll" in render(mine, machine, table_set(machine))["player.c"]


BAD = {
    "": (1, "'title' must be given as a text"),
    'title = "x\n': (1, "Illegal character"),
    'title = 3\nsummary = "s"\n[files]\n"a" = "b"\n': (1, "'title' must be given as a text"),
    GOOD + '"a b" = "red"\n': (6, "'a b' can't be the name of a file"),
    'colour = "red"\n' + GOOD: (1, "unknown key 'colour'"),
    GOOD.replace("[files]", 'reader = "xml"\n[files]'): (4, "there is no reader 'xml'"),
    GOOD.replace("[files]", 'reads = ["in.txt"]\n[files]'): (4, "'reads' names 'in.txt'"),
    GOOD.replace("[files]", "reads = 3\n[files]"): (4, "'reads' must be a list"),
    GOOD.replace("out.txt", "../out.txt"): (5, "'../out.txt' can't be the name of a file"),
    GOOD.replace("out.txt", "/etc/out.txt"): (5, "can't be the name of a file"),
    GOOD.replace("out.txt", "a/b/c"): (5, "can't be the name of a file"),
    GOOD.replace("out.txt", "a..b"): (5, "can't be the name of a file"),
    GOOD.replace("out.j2", "../out.j2"): (5, "must be the name of a file"),
    GOOD[: GOOD.index("[files]")]: (1, "'files' must give a template"),
    GOOD + "[budget]\nflash_bytes = 1\n": (1, "'player_flash_bytes' must be a number of bytes"),
    GOOD + "[budget]\nflash_bytes = -1\n": (7, "'flash_bytes' must be a number of bytes"),
    GOOD + "[budget]\nflash = 1\n": (7, "unknown key 'flash' in 'budget'"),
    GOOD + "[options]\nspeed = 1.5\n": (7, "option 'speed' must be a text"),
    GOOD.replace("[files]", "options = 1\n[files]"): (4, "'options' must be a table"),
    GOOD.replace("[files]", "budget = 1\n[files]"): (4, "'budget' must be a table"),
}


@pytest.mark.parametrize("description", BAD, ids=range(len(BAD)))
def test_a_bad_description_is_reported_with_its_place(tmp_path: Path, description: str) -> None:
    line, message = BAD[description]
    folder = own_target(tmp_path, description)
    with pytest.raises(InputError) as caught:
        targets(folder)
    found = [
        finding
        for finding in caught.value.findings
        if finding.place.line == line and message in f"{finding.message}"
    ]
    assert found, str(caught.value)
    assert all(f.place.file.endswith("mine/target.toml") for f in caught.value.findings)


def test_every_fault_of_a_description_is_reported_in_one_run(tmp_path: Path) -> None:
    folder = own_target(tmp_path, 'colour = 1\nreader = 2\n[files]\n"a b" = "x"\n')
    with pytest.raises(InputError) as caught:
        targets(folder)
    assert len(list(caught.value.findings)) == 5


def test_a_description_that_is_not_text_is_reported(tmp_path: Path) -> None:
    folder = own_target(tmp_path)
    (folder / "mine" / "target.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(InputError, match="not UTF-8"):
        targets(folder)


def test_a_folder_without_a_target_is_reported(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="has no target in it"):
        targets(tmp_path)
    with pytest.raises(InputError, match="has no target in it"):
        targets(tmp_path / "absent")


def test_a_target_of_the_users_own_may_use_the_templates_of_ours(tmp_path: Path) -> None:
    folder = own_target(tmp_path, GOOD.replace('"out.j2"', '"json/tables.json.j2"'))
    (mine,) = [target for target in targets(folder) if target.name == "mine"]
    machine = machine_of(8)
    assert render(mine, machine, table_set(machine))["out.txt"].startswith("{")


def test_an_error_in_an_included_template_is_reported_there(tmp_path: Path) -> None:
    folder = own_target(tmp_path, template="\n{% include 'part.j2' %}")
    (folder / "mine" / "part.j2").write_text("\n\n{{ build.colour }}")
    (mine,) = [target for target in targets(folder) if target.name == "mine"]
    machine = machine_of(8)
    with pytest.raises(InputError) as caught:
        render(mine, machine, table_set(machine))
    (finding,) = caught.value.findings
    assert (finding.place.file, finding.place.line) == (str(tmp_path / "mine" / "part.j2"), 3)


TEMPLATES = {
    "one\n{{ build.colour }}\n": (2, "'dict object' has no attribute 'colour'"),
    "one\ntwo\n{% for x in %}\n": (3, "Expected an expression"),
    "{{ colour }}": (1, "'colour' is undefined"),
    "\n\n\n{{ 1 // 0 }}": (4, "integer division or modulo by zero"),
    "\n{{ image.at.nowhere }}": (2, "nowhere"),
    "{% include 'absent.j2' %}": (1, "there is no template 'absent.j2'"),
    "{% include 'common/../../README.md' %}": (1, "there is no template"),
}


@pytest.mark.quick(3)
@pytest.mark.parametrize("template", TEMPLATES, ids=range(len(TEMPLATES)))
def test_an_error_in_a_template_is_reported_with_its_place(tmp_path: Path, template: str) -> None:
    line, message = TEMPLATES[template]
    (mine,) = [t for t in targets(own_target(tmp_path, template=template)) if t.name == "mine"]
    machine = machine_of(8)
    with pytest.raises(InputError) as caught:
        render(mine, machine, table_set(machine))
    (finding,) = caught.value.findings
    assert message in finding.message
    assert (finding.place.file, finding.place.line) == (str(tmp_path / "mine" / "out.j2"), line)


@pytest.mark.parametrize(
    "reach",
    ["{{ build.__class__.__mro__ }}", "{{ ''.__class__.__mro__[1].__subclasses__() }}"],
)
def test_a_strangers_template_cant_reach_beyond_what_it_lays_out(
    tmp_path: Path, reach: str
) -> None:
    folder = own_target(tmp_path, template=reach)
    (mine,) = [target for target in targets(folder) if target.name == "mine"]
    machine = machine_of(8)
    with pytest.raises(InputError) as raised:
        render(mine, machine, table_set(machine))
    assert "unsafe" in str(raised.value)
