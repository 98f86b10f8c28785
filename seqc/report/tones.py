"""The tones of items on a terminal that has colours; their signs tell them apart in any case."""

from __future__ import annotations

import os
import re
import sys
from functools import cache

PAINTS = {
    "dark": "bright_white on grey19",
    "black": "bright_white on grey19",
    "light": "grey11 on grey93",
    "white": "grey11 on grey93",
    "grey": "black on grey62",
    "gray": "black on grey62",
    "silver": "black on grey62",
    "gold": "black on dark_goldenrod",
    "amber": "black on dark_goldenrod",
    "yellow": "black on gold1",
    "green": "bright_white on dark_green",
    "red": "bright_white on dark_red",
    "blue": "bright_white on navy_blue",
    "brown": "bright_white on orange4",
    "orange": "black on dark_orange",
    "violet": "bright_white on purple4",
    "purple": "bright_white on purple4",
}
PAINT = re.compile(r"\x1b\[[0-9;]*m")


def painted(sign: str, tone: str) -> str:
    """A sign in the colours of its tone, where the terminal has any and the tone is known."""
    paint = PAINTS.get(tone.lower())
    if paint is None or not sys.stdout.isatty():
        return sign
    return _painted(sign, paint, os.environ.get("TERM"), os.environ.get("NO_COLOR"))


@cache
def _painted(sign: str, paint: str, _terminal: str | None, _plain: str | None) -> str:
    """A sign as rich paints it on such a terminal; as it is on one without colours."""
    from rich.console import Console
    from rich.text import Text

    console = Console(file=sys.stdout)
    with console.capture() as captured:
        console.print(Text(sign, paint), end="")
    return captured.get()


def width(line: str) -> int:
    """How many columns a line takes, without what only paints it."""
    return len(PAINT.sub("", line))
