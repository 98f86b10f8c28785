"""Example machines, ready to be read, planned and built."""

from __future__ import annotations

from importlib.resources import files

EXAMPLES = {
    "berth_board": ("berth_board.seqc", "harbour_parts.seqc"),
    "pattern_board": ("pattern_board.seqc", "harbour_parts.seqc"),
}
"""The files of each example by its name, the machine file first."""


def example_files(name: str) -> dict[str, str]:
    """The text of every file of an example, by file name; the machine file comes first.

    Raises KeyError when there is no example of that name.
    """
    return {file: (files(__name__) / file).read_text("utf-8") for file in EXAMPLES[name]}
