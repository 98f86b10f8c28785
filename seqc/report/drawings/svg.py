"""SVG, element by element: every text is escaped, and what XML can't hold is replaced."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import NamedTuple
from xml.etree import ElementTree as Tree
from xml.etree.ElementTree import Element

from seqc.language.rendering import plain

HEADING, MARGIN, LETTER, GAP = 30, 16, 8, 18
NAMESPACE = "http://www.w3.org/2000/svg"
RULE = re.compile(r":root \{(.*?)\}", re.DOTALL)
COLOUR = re.compile(r"(--[\w-]+): ([^;]+);")


class Drawing(NamedTuple):
    """A finished picture, with its size in CSS pixels (96 to the inch)."""

    root: Element
    width: float
    height: float

    @property
    def text(self) -> str:
        """It as part of a page, which has the style sheets."""
        return Tree.tostring(self.root, "unicode")

    @property
    def alone(self) -> str:
        """It as a file of its own: by day, with its style, on paper, under its title."""
        title = self.root.findtext("title") or ""
        whole = drawing(max(self.width, LETTER * len(title)), self.height + HEADING, title)
        whole.root.set("xmlns", NAMESPACE)
        whole.root.set("aria-label", self.root.get("aria-label", title))
        Tree.SubElement(whole.root, "style").text = styled()
        tag(whole.root, "rect", width="100%", height="100%", fill=colours()["--paper"])
        write(whole.root, MARGIN, HEADING - 8, title, "strong")
        part = Tree.fromstring(self.text)
        part.set("y", number(HEADING))
        whole.root.append(part)
        text = Tree.tostring(whole.root, "unicode")
        return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


def drawing(width: float, height: float, title: str, told: str = "") -> Drawing:
    """An empty picture with a title, and what it shows in words."""
    root = Element(
        "svg",
        {
            "class": "drawing",
            "viewBox": f"0 0 {number(width)} {number(height)}",
            "width": number(width),
            "height": number(height),
            "role": "img",
            "aria-label": plain(f"{title}: {told}" if told else title),
        },
    )
    Tree.SubElement(root, "title").text = plain(title)
    return Drawing(root, width, height)


def stacked(title: str, drawings: Sequence[Drawing]) -> Drawing:
    """Drawings one below the other; one by itself is left as it is."""
    if len(drawings) == 1:
        return drawings[0]
    width = max((each.width for each in drawings), default=1)
    height = sum(each.height + GAP for each in drawings)
    whole = drawing(width, max(1, height), title)
    y = 0.0
    for each in drawings:
        part = Tree.fromstring(each.text)
        part.set("y", number(y))
        whole.root.append(part)
        y += each.height + GAP
    return whole


def tag(parent: Element, name: str, kind: str = "", **attributes: object) -> Element:
    """A new element of a class; `stroke_width=2` is the attribute `stroke-width`."""
    given = {"class": kind} if kind else {}
    for key, value in attributes.items():
        word = number(value) if isinstance(value, int | float) else plain(str(value))
        given[key.rstrip("_").replace("_", "-")] = word
    return Tree.SubElement(parent, name, given)


def write(parent: Element, x: float, y: float, words: str, kind: str = "") -> Element:
    """A line of text whose baseline starts (or ends, or has its middle) at a place."""
    element = tag(parent, "text", kind, x=x, y=y)
    element.text = plain(words)
    return element


def number(value: float) -> str:
    """A coordinate with at most two decimals."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if value % 1 else str(int(value))


@cache
def sheet(name: str) -> str:
    """A style sheet of this folder."""
    return files(__package__).joinpath(name).read_text("utf-8")


@cache
def colours() -> dict[str, str]:
    """The colours by day, by their names in the style sheets."""
    found = RULE.search(sheet("colours.css"))
    assert found
    return dict(COLOUR.findall(found[1]))


@cache
def styled() -> str:
    """The style sheet of drawings with its colours by day, for readers that know no variables."""
    return re.sub(r"var\((--[\w-]+)\)", lambda used: colours()[used[1]], sheet("drawing.css"))
