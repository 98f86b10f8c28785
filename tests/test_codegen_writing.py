"""Files are written all together or not at all, and never outside their folder."""

from __future__ import annotations

import os
from collections.abc import Callable
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
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.h", "b.c"]


@pytest.mark.parametrize("step", range(9))
@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_build_that_is_stopped_anywhere_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: int, error: BaseException
) -> None:
    out = tmp_path / "new" / "out"
    steps = 0

    def stopping(*_: object, **__: object) -> None:
        nonlocal steps
        steps += 1
        if steps == step + 1:
            raise error

    for module, name in ((os, "fsync"), (os, "replace"), (Path, "mkdir")):
        wrap(monkeypatch, module, name, stopping)
    with pytest.raises((InputError, KeyboardInterrupt)):
        write_files(FILES, out)
    assert list(tmp_path.iterdir()) == []


def wrap(
    monkeypatch: pytest.MonkeyPatch, owner: object, name: str, before: Callable[..., None]
) -> None:
    """Have something called before a function."""
    function = getattr(owner, name)

    def wrapped(*args: object, **kwargs: object) -> object:
        before(*args, **kwargs)
        return function(*args, **kwargs)

    monkeypatch.setattr(owner, name, wrapped)


@pytest.mark.parametrize("step", range(3))
def test_a_stop_by_hand_midway_leaves_the_old_build_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: int
) -> None:
    write_files(dict.fromkeys(FILES, "old"), tmp_path)
    before = {path: path.stat().st_mode for path in tmp_path.rglob("*")}
    calls: list[object] = []

    def stopping(*places: object) -> None:
        calls.append(places)
        if len(calls) == step + 1:
            raise KeyboardInterrupt

    wrap(monkeypatch, os, "replace", stopping)
    with pytest.raises(KeyboardInterrupt):
        write_files(FILES, tmp_path)
    assert contents(tmp_path) == dict.fromkeys(FILES, "old")
    assert {path: path.stat().st_mode for path in tmp_path.rglob("*")} == before


def test_a_disk_without_hard_links_will_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    wrap(monkeypatch, os, "link", refused)
    write_files({"a.h": "old"}, tmp_path)
    write_files({"a.h": "new"}, tmp_path)
    assert contents(tmp_path) == {"a.h": "new"}


def test_a_pipe_in_the_place_of_a_file_is_not_touched(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "a.h")
    with pytest.raises(InputError, match="is no plain file"):
        write_files(FILES, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["a.h"]


def test_a_folder_whose_name_is_too_long_is_reported(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="File name too long"):
        write_files(FILES, tmp_path / ("x" * 300))
    assert list(tmp_path.iterdir()) == []


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
    "name", ["../a.h", "/tmp/a.h", "a/b/c/d", "", ".hidden", "a\n", "..", "x/.."]
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
    with pytest.raises(InputError, match=r"nothing can be written into .*out: Not a directory"):
        write_files(FILES, tmp_path / "out")
