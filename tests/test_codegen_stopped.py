"""A build that is stopped anywhere leaves the old one, the new one, or what nothing takes."""

from __future__ import annotations

import fcntl
import json
import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from firmware import micro
from firmware.handmade import machine_of, table_set
from firmware.host import STRICT, needs, target

from seqc.codegen import render_all, targets
from seqc.codegen.folder import read_folder
from seqc.codegen.number import number_in
from seqc.codegen.writing import UNFINISHED, write_files
from seqc.machine.findings import InputError
from seqc.machine.steptable import TablesFor

MACHINE = machine_of(8, low=True)
OLD, NEW = (table_set(MACHINE, TablesFor.GLYPH, glyphs) for glyphs in (("0", "1"), ("0", "1", "2")))

STOPPED = """
import json, os, signal, sys
from pathlib import Path
from seqc.codegen.writing import write_files
files, out, left = json.load(sys.stdin), Path(sys.argv[1]), int(sys.argv[2])
STEPS = {"open", "os.rename", "os.mkdir", "os.remove", "os.rmdir", "shutil.rmtree"}
def step(event, words):
    global left
    if event in STEPS and any(str(word).startswith(str(out)) for word in words):
        left -= 1
        if left < 0:
            os.kill(os.getpid(), signal.SIGKILL)
sys.addaudithook(step)
write_files(files, out)
"""


def rendered(*names: str) -> tuple[dict[str, str], dict[str, str]]:
    """The files of the old and of the new build."""
    found = []
    for tables in (OLD, NEW):
        texts = render_all([target(name) for name in names], MACHINE, tables)
        found.append(
            {f"{name}/{file}": text for name in names for file, text in texts[name].items()}
        )
    return found[0], found[1]


def written(folder: Path) -> dict[str, str]:
    """What lies in a folder, but for what an unfinished build has left."""
    paths = [path for path in folder.rglob("*") if path.is_file()]
    found = {path.relative_to(folder).as_posix(): path for path in sorted(paths)}
    return {
        name: path.read_bytes().decode()
        for name, path in found.items()
        if not name.startswith(UNFINISHED)
    }


def write(files: Mapping[str, str], out: Path, left: int) -> bool:
    """Write files in a process that is killed after so many steps; whether it came to its end."""
    words = [sys.executable, "-c", STOPPED, str(out), str(left)]
    done = subprocess.run(words, input=json.dumps(files), text=True, capture_output=True)
    assert done.returncode in (0, -signal.SIGKILL), done.stderr
    return done.returncode == 0


def stops(
    old: Mapping[str, str], new: Mapping[str, str], root: Path, every: int = 1
) -> Iterator[Path]:
    """A folder with the old build, in which the new one was killed after each of its steps."""
    for left in range(0, 1_000, every):
        out = root / str(left)
        write_files(old, out)
        whole = write(new, out, left)
        yield out
        write_files(new, out)
        assert written(out) == new
        assert not list(out.glob(f"{UNFINISHED}*")), "the next build clears what was left"
        shutil.rmtree(out)
        if whole:
            return


def is_mixed(out: Path, old: Mapping[str, str], new: Mapping[str, str]) -> bool:
    """Whether a folder holds neither build whole; any file of it is still one of theirs."""
    found = written(out)
    assert all(text in (old[name], new[name]) for name, text in found.items())
    return found not in (dict(old), dict(new))


def are_sources_mixed(out: Path, old: Mapping[str, str]) -> bool:
    """Whether some of the files that a compiler sees are old and others are not."""
    texts = {name: text for name, text in written(out).items() if name.endswith((".c", ".h"))}
    return len({text == old[name] for name, text in texts.items()}) == 2


def compiles(folder: Path) -> bool:
    """Whether the sources of the portable player compile together."""
    sources = sorted(map(str, folder.glob("*.c")))
    words = ["gcc", *STRICT, "-fsyntax-only", *sources]
    return subprocess.run(words, capture_output=True).returncode == 0


@pytest.mark.thorough
@needs("gcc")
@pytest.mark.parametrize("every", [pytest.param(1, marks=pytest.mark.thorough), 7])
def test_killed_at_any_step_sources_are_of_one_build_or_do_not_compile(
    every: int, tmp_path: Path
) -> None:
    old, new = rendered("c99")
    mixed = 0
    steps = 0
    for out in stops(old, new, tmp_path, every):
        steps += every
        if is_mixed(out, old, new):
            mixed += 1
            assert are_sources_mixed(out, old) != compiles(out / "c99")
            with pytest.raises(InputError, match="is of build"):
                read_folder(out / "c99", targets())
        else:
            assert read_folder(out / "c99", targets()) in (OLD, NEW)
    assert steps > 30
    assert mixed >= (len(new) - 1) // every


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["json", "csv", "ihex", "micropython"])
def test_killed_at_any_step_tables_are_of_one_build_or_refused(name: str, tmp_path: Path) -> None:
    old, new = rendered(name)
    mixed = 0
    for out in stops(old, new, tmp_path):
        if is_mixed(out, old, new):
            mixed += 1
            with pytest.raises(InputError, match="is of build"):
                read_folder(out / name, targets())
        else:
            assert read_folder(out / name, targets()) in (OLD, NEW)
    assert mixed >= len(new) - 1


@pytest.mark.thorough
def test_a_first_build_that_is_killed_leaves_no_half_of_a_file(tmp_path: Path) -> None:
    _, new = rendered("json")
    for left in range(1, 40, 9):
        out = tmp_path / str(left)
        write(new, out, left)
        assert all(text == new[name] for name, text in written(out).items())
        write_files(new, out)
        assert written(out) == new


@pytest.mark.parametrize("name", ["c99", "avr", "arduino", "avr_i2c"])
def test_every_source_stops_the_compiler_where_the_tables_are_of_another_build(name: str) -> None:
    for mixed, text in rendered(name)[0].items():
        if mixed.endswith("Makefile"):
            assert re.search(rf"SEQC_MAKEFILE_BUILD=0x{number_in(text)}UL", text)
        elif not mixed.endswith(("seqc_tables.h", ".md")):
            assert f"#if SEQC_BUILD != 0x{number_in(text)}UL\n#error" in text


@pytest.mark.thorough
def test_every_module_of_another_build_is_not_imported(tmp_path: Path) -> None:
    old, new = rendered("micropython")
    for mixed in (file for file in new if file.endswith(".py")):
        text = old[mixed]
        if Path(mixed).stem not in ("seqc_tables", "seqc_player", "seqc_line"):
            check = f'if seqc_tables.BUILD != "{number_in(text)}":\n    raise ImportError('
            assert check in text
            continue
        folder = tmp_path / Path(mixed).stem
        folder.mkdir()
        for name, text in {**new, mixed: old[mixed]}.items():
            (folder / Path(name).name).write_text(text)
        code = "import sys\nsys.path.append('/input')\ntry:\n import seqc_player, seqc_line\n"
        code += " print('imported')\nexcept ImportError as e:\n print(e)\n"
        assert "is of another build than seqc_tables" in micro.raw(folder, code)


def test_every_file_of_every_target_of_ours_has_the_number() -> None:
    ours = targets()
    texts = render_all(ours, MACHINE, NEW)
    numbers = {
        (name, file): number_in(text)
        for name, files in texts.items()
        for file, text in files.items()
    }
    assert None not in numbers.values(), [key for key, number in numbers.items() if not number]
    assert len(set(numbers.values())) == 1
    assert texts == render_all(ours, MACHINE, NEW)


def test_two_builds_at_once_do_not_meet(tmp_path: Path) -> None:
    descriptor = os.open(tmp_path, os.O_RDONLY)
    fcntl.flock(descriptor, fcntl.LOCK_EX)
    with pytest.raises(InputError, match="another build is writing there"):
        write_files({"a.h": "x"}, tmp_path)
    os.close(descriptor)
    write_files({"a.h": "x"}, tmp_path)
