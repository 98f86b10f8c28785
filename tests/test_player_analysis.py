"""The portable player under analysers, and compiled freestanding for a small controller."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest
from firmware.handmade import machine_of, table_set
from firmware.host import STRICT, compiled, needs, target, written
from firmware.scripts import every_branch
from firmware.tracked import small_tracks

from seqc.codegen import render
from seqc.machine.steptable import TablesFor

SANITIZERS = ("-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=all")
CORTEX = ("-mcpu=cortex-m0", "-mthumb", "-ffreestanding", "-Os")
SOURCES = ("seqc_player.c", "seqc_cap.c", "seqc_image.c", "seqc_line.c")
TRACKS = "tracks"
PLAYED = [*TablesFor, TRACKS]


def sources(folder: Path, played: TablesFor | str) -> list[Path]:
    """The files of a build of the `c99` target; the sources of the player."""
    machine = machine_of(20, low=True)
    tables = small_tracks(machine) if isinstance(played, str) else table_set(machine, played)
    written(folder, render(target("c99"), machine, tables))
    more = ("seqc_tracks.c", "seqc_clock.c") if played == TRACKS else ()
    return [folder / name for name in (*SOURCES, *more)]


@needs("cppcheck")
@pytest.mark.parametrize("played", PLAYED)
def test_cppcheck_finds_nothing(tmp_path: Path, played: TablesFor | str) -> None:
    found = sources(tmp_path, played)
    done = subprocess.run(
        [
            "cppcheck",
            "--enable=warning,style,performance,portability",
            "--std=c99",
            "--error-exitcode=1",
            "--inconclusive",
            "--suppress=missingIncludeSystem",
            *map(str, found),
        ],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr


@needs("arm-none-eabi-gcc")
@pytest.mark.parametrize("played", PLAYED)
def test_the_player_compiles_freestanding_for_a_cortex_m0(
    tmp_path: Path, played: TablesFor | str
) -> None:
    for source in sources(tmp_path, played):
        words = ["arm-none-eabi-gcc", *STRICT, *CORTEX, "-c", str(source)]
        done = subprocess.run(
            [*words, "-o", str(tmp_path / "x.o")], capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr


@pytest.mark.thorough
@needs("gcc", "gcov")
def test_every_line_and_branch_is_run_and_the_sanitizers_find_nothing(tmp_path: Path) -> None:
    lines: dict[str, set[bool]] = {}
    branches: dict[str, bool] = {}
    for number, case in enumerate(every_branch()):
        folder = tmp_path / str(number)
        heard = compiled(folder, case.files(), "--coverage", "-O0").play(case.script)
        merge(folder, lines, branches)
        guarded = compiled(folder / "guarded", case.files(), *SANITIZERS).play(case.script)
        assert guarded == heard
    covered = sum(True in runs for runs in lines.values())
    taken = sum(branches.values())
    print(f"\nlines {covered} of {len(lines)}, branches {taken} of {len(branches)}")
    # What follows on a bit that turns over is run in the emulated controller.
    assert covered >= 0.95 * len(lines)
    assert taken >= 0.83 * len(branches)


def merge(folder: Path, lines: dict[str, set[bool]], branches: dict[str, bool]) -> None:
    """Add what gcov tells of one run; lines go by their text, so that builds can be merged."""
    for source in SOURCES:
        data = f"player-{source.replace('.c', '.gcda')}"
        subprocess.run(["gcov", "-b", "-c", data], cwd=folder, capture_output=True, check=True)
    for told in sorted(folder.glob("seqc_*.gcov")):
        merge_file(told, lines, branches)


def merge_file(told: Path, lines: dict[str, set[bool]], branches: dict[str, bool]) -> None:
    """Add what gcov tells of one source file."""
    here = ""
    for row in told.read_text().splitlines():
        found = re.match(r"\s*(#####|-|\d+\*?):\s*(\d+):(.*)", row)
        if found and found[1] != "-":
            here = f"{told.stem}: {found[2]} {found[3].strip()}"
            lines.setdefault(here, set()).add(found[1] != "#####")
        branch = re.match(r"branch\s+(\d+) (?:taken (\d+)|never executed)", row)
        if branch:
            key = f"{here} branch {branch[1]}"
            branches[key] = branches.get(key, False) or int(branch[2] or 0) > 0
