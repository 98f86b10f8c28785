"""Machines that aren't whole yet: what they lack, and stand-ins for it.

With the stand-ins a machine can be read and its reach and its passes worked out, since these depend
on none of them. What does depend on them can't be told.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from seqc.language.limits import MAX_ALL_OUTPUTS, MAX_OUTPUTS
from seqc.language.parsing import parse
from seqc.language.settings import Settings, read_settings
from seqc.language.source import Source, Statement, Word
from seqc.machine.findings import Findings, Place
from seqc.machine.parts import SHOWN

STAND_IN = "_stand_in"
STAND_IN_VOLTAGE = "12 V"


class Stage(Enum):
    """What can be told of a machine only once some statements are there."""

    ELECTRICS = "pulses and electrics"
    TIMES = "times"


@dataclass(frozen=True, slots=True)
class Lack:
    """Something that a machine file doesn't tell yet, and what can't be told without it.

    `what` is lacking and `name` where, such as `coil of` and `pick`.
    """

    stage: Stage
    what: str
    name: str
    place: Place


def completed(source: Source) -> tuple[Source, tuple[Lack, ...]]:
    """The statements with stand-ins for coils, times, paths and drives that aren't there yet."""
    completion = _Completion(source)
    statements = completion.statements()
    lacks = sorted(completion.lacks, key=lambda lack: lack.place)
    return replace(source, statements=statements), tuple(lacks)


class _Completion:
    def __init__(self, source: Source) -> None:
        self.source = source
        self.lacks: list[Lack] = []
        self.added: list[Statement] = []

    def statements(self) -> tuple[Statement, ...]:
        """All statements, the parts completed, and those that are added."""
        own = tuple(
            self._part(one) if one.keyword in ("selector", "gate") and not one.broken else one
            for one in self.source.statements
        )
        self._coils(own)
        self._paths()
        self._drives()
        return (*own, *self.added)

    def _lack(self, stage: Stage, what: str, word: Word) -> None:
        self.lacks.append(Lack(stage, what, word.text, word.place))

    def _add(self, text: str, place: Place) -> None:
        self.added += _at(place, text)

    def _part(self, statement: Statement) -> Statement:
        """A part with a coil, and a gate with the time that it is open."""
        settings = read_settings(statement, Findings())
        more = ""
        if settings.get("coil") is None:
            self._lack(Stage.ELECTRICS, "coil of", statement.name)
            more += f" coil {STAND_IN}"
        if statement.keyword == "gate" and settings.get("open") is None:
            self._lack(Stage.TIMES, "open of", statement.name)
            more += " open 60 ms"
        if not more:
            return statement
        (extra,) = _at(statement.name.place, f"gate x {{{more} }}")
        return replace(statement, pieces=(*statement.pieces, *extra.pieces))

    def _coils(self, own: Iterable[Statement]) -> None:
        """Coils that parts name, where no coil is declared at all, and the stand-in."""
        declared = list(self.source.of("coil"))
        parts = [one for one in own if one.keyword in ("selector", "gate") and not one.broken]
        named = [word for one in parts if (word := read_settings(one, Findings()).word("coil"))]
        for word in _once(named):
            if word.text != STAND_IN and (declared or any(self.source.broken("coil"))):
                continue
            if word.text != STAND_IN:
                self._lack(Stage.ELECTRICS, "coil", word)
            self._add(
                f"coil {word.text} {{ {STAND_IN_VOLTAGE} 12 ohm pulse 40 ms travel 20 ms }}",
                word.place,
            )

    def _paths(self) -> None:
        """The paths between the gates of every lane, and on to the place that is seen."""
        known = {tuple(word.text for word in one.names) for one in self.source.of("path")}
        for statement in self.source.of("lane"):
            names = [offer.word for offer in statement.stations]
            texts = [word.text for word in names]
            if SHOWN not in texts or any(self.source.broken("path")):
                continue
            above = names[texts.index(SHOWN) : -1]
            for end, start in itertools.pairwise(above):
                if (start.text, end.text) not in known:
                    known.add((start.text, end.text))
                    way = f"{start.text} -> {end.text}"
                    self._lack(Stage.TIMES, "path", Word(way, start.place))
                    self._add(f"path {way} {{ falls in 300 ms }}", start.place)

    def _drives(self) -> None:
        """A drive for each part that has none, and what declared drives name without its being."""
        driven = {word.text for one in self.source.of("drive") for word in one.names}
        parts = sum(1 for _ in self.source.of("selector", "gate"))
        bits = min(MAX_OUTPUTS, MAX_ALL_OUTPUTS // max(parts, 1))
        for statement in self.source.of("drive"):
            self._named(statement, read_settings(statement, Findings()))
        for statement in self.source.of("selector", "gate"):
            name = statement.name
            if name.text in driven or any(self.source.broken("drive")):
                continue
            self._lack(Stage.ELECTRICS, "drive of", name)
            own = f"{STAND_IN}_{name.text}"[:40]
            self._add(f"outputs {own} {{ bits {bits} }}", name.place)
            self._add(f"supply {own} {{ {self._voltage(statement)} limit 1000 A }}", name.place)
            self._add(
                f"drive {name.text} {{ bridge dead time 1 ms from {own} on {own} }}", name.place
            )

    def _named(self, drive: Statement, settings: Settings) -> None:
        """The outputs, relays and supplies of a declared drive, where none of their kind are."""
        forms = {
            "from": ("outputs", f"bits {MAX_OUTPUTS}"),
            "relay": ("relay", "operate 10 ms release 6 ms"),
            "on": ("supply", f"{self._voltage(drive)} limit 1000 A"),
        }
        for key, (keyword, inside) in forms.items():
            word = settings.word(key)
            if any(self.source.of(keyword)) or any(self.source.broken(keyword)):
                continue
            if word is None and (key != "on" or self._has(keyword)):
                continue
            name = word or Word(STAND_IN, drive.place)
            if any(one.keyword == keyword and one.name.text == name.text for one in self.added):
                continue
            lacking = word or Word(", ".join(one.text for one in drive.names), drive.place)
            self._lack(Stage.ELECTRICS, keyword if word else f"{keyword} of", lacking)
            self._add(f"{keyword} {name.text} {{ {inside} }}", name.place)

    def _has(self, keyword: str) -> bool:
        return any(one.keyword == keyword for one in self.added)

    def _voltage(self, statement: Statement) -> str:
        """What the coil of a part is made for, as it is written, or else that of the stand-in."""
        parts = {one.name.text: one for one in self.source.of("selector", "gate")}
        own = parts.get(statement.name.text)
        word = read_settings(own, Findings()).word("coil") if own else None
        for coil in self.source.of("coil"):
            if word is not None and coil.name.text == word.text:
                amount = read_settings(coil, Findings()).amount("voltage")
                return amount.text if amount else STAND_IN_VOLTAGE
        return STAND_IN_VOLTAGE


def _once(words: Sequence[Word]) -> Iterator[Word]:
    return iter({word.text: word for word in reversed(words)}.values())


def _at(place: Place, text: str) -> list[Statement]:
    """The statements of a text, as if all of it stood at a place of the file."""
    statements, _ = parse(text, place.file, Findings())
    return [
        replace(
            one,
            place=place,
            names=tuple(word._replace(place=place) for word in one.names),
            pieces=tuple(piece._replace(place=place) for piece in one.pieces),
        )
        for one in statements
    ]
