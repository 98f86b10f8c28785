"""Imports run one way through the house, those for types included."""

from __future__ import annotations

import ast
import importlib.util
import pathlib
from collections.abc import Iterator

import pytest

ROOMS = (
    "cli",
    "editor",
    "face",
    "commission",
    "report",
    "linkages",
    "faults",
    "codegen",
    "simulator",
    "forecast",
    "schedule",
    "solver",
    "fonts",
    "language",
    "machine",
)
STRANGERS = {
    frozenset(pair)
    for pair in (
        ("simulator", "forecast"),
        ("simulator", "codegen"),
        ("forecast", "codegen"),
        ("simulator", "solver"),
        ("forecast", "solver"),
        ("codegen", "solver"),
        ("simulator", "schedule"),
        ("simulator", "fonts"),
        ("simulator", "language"),
    )
}
PACKAGE = pathlib.Path(__file__).parent.parent / "seqc"
DATA_ROOMS = {"examples", "grammars", "targets"}


def imports_of(file: pathlib.Path) -> Iterator[str]:
    """Every module of the project that a file imports, under any condition."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name.split(".")[0] == "seqc")
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}: relative import"
            if node.module and node.module.split(".")[0] == "seqc":
                names = [f"{node.module}.{alias.name}" for alias in node.names]
                yield from (n if _is_module(n) else node.module for n in names)


def _is_module(name: str) -> bool:
    path = PACKAGE.parent.joinpath(*name.split("."))
    return path.is_dir() or path.with_suffix(".py").is_file()


def room_of(module: str) -> str:
    """The room of a module, nothing for the face of the library."""
    words = module.split(".")
    return words[1] if len(words) > 1 else ""


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_imports_only_from_rooms_below(room: str) -> None:
    files = sorted((PACKAGE / room).rglob("*.py"))
    assert files, f"no room {room}"
    for file in files:
        for module in imports_of(file):
            other = room_of(module)
            if other in DATA_ROOMS or other == room:
                continue
            if not other:
                assert room in ("cli", "editor"), f"{file} imports all of the face"
                continue
            assert ROOMS.index(other) > ROOMS.index(room), f"{file} imports {module}"
            assert frozenset((room, other)) not in STRANGERS, f"{file} imports {module}"


def test_commands_call_the_face_and_nothing_deeper() -> None:
    for file in (PACKAGE / "cli").rglob("*.py"):
        rooms = {room_of(module) for module in imports_of(file)}
        assert rooms <= {"", "cli", "editor", "report", "machine", "examples"}, f"{file}: {rooms}"


def test_every_folder_is_a_known_room() -> None:
    folders = {entry.name for entry in PACKAGE.iterdir() if entry.is_dir()}
    assert folders - {"__pycache__"} <= set(ROOMS) | {"examples"}


def test_the_rooms_can_be_found_as_installed() -> None:
    for name in ("grammars", "targets", "examples"):
        assert importlib.util.find_spec(f"seqc.{name}")
