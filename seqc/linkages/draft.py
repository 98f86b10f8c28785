"""A machine file that may lack all but its glyphs, made whole with typical parts."""

from __future__ import annotations

import pathlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.language.declared import Art
from seqc.language.files import collect, read_file
from seqc.language.parsing import parse
from seqc.language.source import Offer, Source, Statement, Word
from seqc.linkages import typical
from seqc.linkages.edits import Edits, settings_of
from seqc.machine.findings import Findings, InputError, Place
from seqc.machine.parts import SHOWN


@dataclass(frozen=True)
class Draft:
    """The text of a whole machine file; `typical` names what stands in for what was missing.

    `tied` tells that it names other files, which are found from its own folder only.
    """

    path: pathlib.Path
    text: str
    typical: tuple[str, ...]
    tied: bool


def completed(path: pathlib.Path, text: str, findings: Findings) -> Draft:
    """The draft of a text; what is wrong with its statements goes to the findings.

    Raises InputError when nothing tells what it is to show.
    """
    source = collect(text, str(path), findings)
    own, _ = parse(text, str(path), Findings())
    if findings.has_errors:
        raise InputError(findings)
    if not any(source.of("font")):
        hint = "give a machine file with a `font`, a file with one alone, or a font file"
        findings.error("missing-font", "there is no font to link cells for", _top(path), hint)
        raise InputError(findings)
    filling = _Filling(source, own, text)
    whole = filling.text()
    tied = any(statement.file for statement in own)
    return Draft(path, whole, tuple(filling.added), tied)


def read_draft(path: pathlib.Path, findings: Findings) -> Draft:
    """The draft of a file in the language; raises InputError when it can't be read."""
    text = read_file(path, _top(path), findings)
    if text is None:
        raise InputError(findings)
    return completed(path, text, findings)


def _top(path: pathlib.Path) -> Place:
    return Place(str(path), 1, 1)


class _Filling:
    """Adds what a source lacks, settings in place and statements at the end."""

    def __init__(self, source: Source, own: Sequence[Statement], text: str) -> None:
        self.source, self.own = source, own
        self.edits = Edits(text)
        self.lines: list[str] = []
        self.added: list[str] = []
        self.names = {
            statement.name.text: statement.keyword
            for statement in source.of("item", "selector", "gate", "grid", "coil", "supply")
        }

    def text(self) -> str:
        """The text with all that was missing."""
        self._add_linkages()
        self._add_head()
        for grid in dict.fromkeys(s.names[1].text for s in self.source.of("font")):
            self._add_grid(grid)
        self._add_drives()
        self._add_coils()
        if not self.lines:
            return self.edits.result()
        text = self.edits.result().rstrip("\n")
        return "\n".join([text, "", *self.lines, ""])

    def _add(self, what: str, line: str) -> None:
        self.lines.append(line)
        if what not in self.added:
            self.added.append(what)

    def _add_linkages(self) -> None:
        """Linkages, coils and times into the blocks of parts without."""
        metering = {s.stations[-2].word.text for s in self.source.of("lane") if s.stations[1:]}
        for statement in self.own:
            if statement.keyword not in typical.SETTINGS or statement.broken:
                continue
            settings = settings_of(statement)
            if settings.get("linkage") is None:
                plain = typical.LINKAGES[statement.keyword]
                if statement.keyword == "gate" and statement.name.text not in metering:
                    plain = typical.WHOLE
                self.edits.insert(statement, plain)
            for key in ("coil", "open"):
                setting = typical.SETTINGS[statement.keyword].get(key)
                if setting and settings.get(key) is None:
                    self.edits.insert(statement, setting)
                    self.added.append(f"{statement.name.text}'s {key}")

    def _add_head(self) -> None:
        if not any(self.source.of("machine")):
            self.lines += ["machine board", typical.TOLERANCE]
        for item in self._kinds():
            if item not in self.names:
                self._item(item)

    def _item(self, item: str) -> None:
        self.names[item] = "item"
        self.lines.append(f"item {item} {{ tone {item} }}")

    def _kinds(self, grid: str = "") -> list[str]:
        """The items that the fonts speak of, of one grid or of all."""
        kinds: dict[str, None] = {}
        for font in self.source.of("font"):
            if grid in ("", font.names[1].text):
                settings = settings_of(font)
                marked = [value for mark in settings.all("mark") for value in mark.values]
                words = [settings.word("paper"), settings.word("ink"), *marked]
                kinds |= {word.text: None for word in words if isinstance(word, Word)}
        return list(kinds)

    def _add_grid(self, grid: str) -> None:
        if grid not in self.names:
            rows = self._first_art(grid)
            if rows is None:
                return
            columns = max(map(len, rows), default=0)
            self.lines.append(f"grid {grid} {{ columns {columns}  rows {len(rows)} }}")
        lane = next((s for s in self.source.of("lane") if s.name.text == grid), None)
        if lane is None:
            self._add_lane(grid)
        else:
            self._add_stations(lane)

    def _first_art(self, grid: str) -> tuple[str, ...] | None:
        for font in self.source.of("font"):
            if font.names[1].text == grid:
                for glyph in settings_of(font).all("glyph"):
                    if isinstance(glyph.values[-1], Art):
                        return glyph.values[-1].rows
        return None

    def _add_lane(self, grid: str) -> None:
        kinds = self._kinds(grid)
        if len(kinds) == 1:
            self._item("spare")
            kinds.append("spare")
        picks = [self._free(f"pick_{grid}", number) for number in range(len(kinds) - 1)]
        drop, swap = self._free(f"drop_{grid}"), self._free(f"swap_{grid}")
        self.lines.append(
            f"lane {grid} = shown <- {swap} <- {drop} <- {typical.feed(kinds, picks)}"
        )
        for pick in picks:
            self._part("selector", pick, typical.LINKAGES["selector"])
        self._part("gate", drop, typical.LINKAGES["gate"])
        self._part("gate", swap, typical.WHOLE)
        self._add("paths", typical.path(drop, swap))
        self._add("paths", typical.path(swap, SHOWN))

    def _free(self, name: str, number: int = 0) -> str:
        """A name that isn't taken: without the grid's where that will do."""
        for each in (name.split("_")[0], name):
            numbered = f"{each}{number + 1}" if number else each
            if numbered not in self.names:
                self.names[numbered] = "part"
                return numbered
        return self._free(f"{name}_", number)

    def _part(self, keyword: str, name: str, linkage: str) -> None:
        self.names[name] = keyword
        settings = "  ".join((linkage, *typical.SETTINGS[keyword].values()))
        self._add(f"{keyword}s", f"{keyword} {name} {{ {settings} }}")

    def _add_stations(self, lane: Statement) -> None:
        """The items, selectors, gates and paths that a lane names and nothing declares."""
        offers = lane.stations
        for offer in _nested(offers[-1]):
            if offer.word.text not in self.names:
                if offer.inputs is None:
                    self._item(offer.word.text)
                else:
                    self._part("selector", offer.word.text, typical.LINKAGES["selector"])
        gates = [offer.word.text for offer in offers[:-1]]
        for name in gates:
            if name not in self.names and name != SHOWN:
                plain = typical.LINKAGES["gate"] if name == gates[-1] else typical.WHOLE
                self._part("gate", name, plain)
        seen = gates.index(SHOWN) if SHOWN in gates else len(gates)
        known = {tuple(word.text for word in s.names) for s in self.source.of("path")}
        for target, start in zip(gates[seen:], gates[seen + 1 :], strict=False):
            if (start, target) not in known:
                known.add((start, target))
                self._add("paths", typical.path(start, target))

    def _add_drives(self) -> None:
        driven = {word.text for drive in self.source.of("drive") for word in drive.names}
        parts = [name for name, keyword in self.names.items() if keyword in ("selector", "gate")]
        left = [part for part in parts if part not in driven]
        if not left:
            return
        relay, bus, supply = (self._free(name) for name in ("card", "bus", "bench"))
        if not any(self.source.of("supply")):
            self._add("a supply", f"supply {supply} {{ {typical.SUPPLY} }}")
        else:
            supply = next(self.source.of("supply")).name.text
        self._add("drives", f"relay {relay} {{ {typical.RELAY} }}")
        self._add("drives", f"outputs {bus} {{ bits {typical.BITS}  shift register }}")
        what = f"changeover pair  relay {relay}  from {bus}  on {supply}"
        self._add("drives", f"drive {', '.join(left)} {{ {what} }}")

    def _add_coils(self) -> None:
        used = [settings_of(s).word("coil") for s in self.source.of("selector", "gate")]
        named = {word.text for word in used if word is not None}
        if "coil small" in " ".join((*self.lines, *(new for _, _, new in self.edits.made))):
            named.add("small")
        for name in sorted(named - {s.name.text for s in self.source.of("coil")}):
            self._add("coils", f"coil {name} {{ {typical.COIL} }}")


def _nested(offer: Offer) -> Iterator[Offer]:
    waiting = [offer]
    while waiting:
        node = waiting.pop(0)
        yield node
        waiting += node.inputs or ()
