"""Files are written all together or not at all, and never outside their folder."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from seqc.codegen import write_files
from seqc.machine.findings import InputError

FILES = {"a.h": "new a\n", "b.c": "new é\r\n", "sub/c.c": "new c\n"}


def contents(folder: Path) -> dict[str, str]:
    return {
        str(path.relative_to(folder)): path.read_bytes().decode()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_files_are_written_as_they_are_and_others_stay(tmp_path: Path) -> None:
    out = tmp_path / "deep" / "out"
    out.mkdir(parents=True)
    (out / "notes.txt").write_text("mine")
    (out / "a.h").write_text("old")
    paths = write_files(FILES, out)
    assert contents(out) == {**FILES, "notes.txt": "mine"}
    assert [str(path.relative_to(out)) for path in paths] == list(FILES)
    assert sorted(path.name for path in out.iterdir()) == ["a.h", "b.c", "notes.txt", "sub"]


def test_a_build_that_fails_midway_leaves_the_old_one_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.h").write_text("old a")
    (tmp_path / "b.c").write_text("old b")
    replace = os.replace
    calls = []

    def failing(source: Path, place: Path) -> None:
        calls.append(place)
        if len(calls) == 3:
            raise OSError(28, "No space left on device")
        replace(source, place)

    monkeypatch.setattr(os, "replace", failing)
    with pytest.raises(InputError, match="No space left"):
        write_files(FILES, tmp_path)
    assert contents(tmp_path) == {"a.h": "old a", "b.c": "old b"}


def test_a_build_that_cannot_be_stored_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.h").write_text("old a")

    def failing(descriptor: int) -> None:
        raise OSError(5, f"Input/output error on {descriptor:d}"[:18])

    monkeypatch.setattr(os, "fsync", failing)
    with pytest.raises(InputError, match="Input/output error"):
        write_files(FILES, tmp_path)
    assert contents(tmp_path) == {"a.h": "old a"}
    assert [path.name for path in tmp_path.iterdir()] == ["a.h"]


@pytest.mark.parametrize(
    "name", ["../a.h", "/tmp/a.h", "a/b/c", "", ".hidden", "a\n", "..", "x/.."]
)
def test_a_name_that_leads_elsewhere_is_refused(tmp_path: Path, name: str) -> None:
    out = tmp_path / "out"
    with pytest.raises(InputError, match="can't be the name of a file"):
        write_files({"good.h": "", name: ""}, out)
    assert not out.exists()


def test_a_symbolic_link_is_not_followed(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "a.h").write_text("theirs")
    (out / "a.h").symlink_to(outside / "a.h")
    with pytest.raises(InputError, match="is a symbolic link"):
        write_files({"a.h": "new"}, out)
    (out / "sub").symlink_to(outside)
    with pytest.raises(InputError, match="is a symbolic link"):
        write_files({"sub/a.h": "new"}, out)
    assert contents(outside) == {"a.h": "theirs"}


def test_a_folder_in_the_place_of_a_file_is_reported(tmp_path: Path) -> None:
    (tmp_path / "a.h").mkdir()
    with pytest.raises(InputError, match="is a folder"):
        write_files(FILES, tmp_path)


def test_a_file_in_the_place_of_the_folder_is_reported(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("x")
    with pytest.raises(InputError, match=r"out:1:1: error"):
        write_files(FILES, tmp_path / "out")
