"""Example machines, ready to be read, planned and built."""

from __future__ import annotations

from importlib.resources import files

EXAMPLES = {
    "berth_board": ("berth_board.lanes", "harbour_parts.lanes"),
    "pattern_board": ("pattern_board.lanes", "harbour_parts.lanes"),
}
"""The files of each example by its name, the machine file first."""

LONG_EXAMPLES = {"harbour_clock": ("harbour_clock.lanes",)}
"""Examples with a programme too long to be built in a moment."""


def example_files(name: str) -> dict[str, str]:
    """The text of every file of an example, by file name; the machine file comes first.

    Raises KeyError when there is no example of that name.
    """
    names = (EXAMPLES | LONG_EXAMPLES)[name]
    return {file: (files(__name__) / file).read_text("utf-8") for file in names}
