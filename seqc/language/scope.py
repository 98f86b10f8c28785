"""The names that a machine file declares, and how they are found again."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Generic, TypeVar

from seqc.language.declared import FontSource
from seqc.language.general import GeneralTolerance
from seqc.language.layout import Layout
from seqc.language.limits import MAX_HINTS, MAX_NAME
from seqc.language.source import Source, Statement, Word
from seqc.machine.controller import EXACT_CONTROLLER
from seqc.machine.electrics import Bus, Coil, Relay, Supply
from seqc.machine.findings import Findings, Related
from seqc.machine.parts import SHOWN, Gate, Grid, Item, Selector
from seqc.machine.winding import AMBIENT_C, REFERENCE_C
from seqc.machine.wording import did_you_mean, nearest

T = TypeVar("T")

_GOOD_NAME = re.compile(rf"[A-Za-z_][A-Za-z0-9_]{{0,{MAX_NAME - 1}}}")


@dataclass(eq=False)
class Entry(Generic[T]):
    """A declared name.

    `value` is None when its declaration is unsound, which has been reported. A guessed one comes
    from a broken statement.
    """

    kind: str
    word: Word
    value: T | None
    used: bool = False
    guessed: bool = False


class Table(Generic[T]):
    """The names of one space, in the order of their declarations."""

    def __init__(self, kinds: str, findings: Findings, whole: bool) -> None:
        self.kinds = kinds
        self.findings = findings
        self.whole = whole
        self.entries: dict[str, Entry[T]] = {}
        self._hints = 0

    def __iter__(self) -> Iterator[Entry[T]]:
        return iter(self.entries.values())

    def values(self) -> tuple[T, ...]:
        """The values of all sound entries."""
        return tuple(entry.value for entry in self if entry.value is not None)

    def declare(self, statement: Statement, value: T | None) -> bool:
        """Enter the name of a statement; a name that is bad or taken is reported."""
        word = statement.name
        check_name(word, self.findings)
        first = self.entries.get(word.text)
        if first is None or first.guessed:
            self.entries[word.text] = Entry(statement.keyword, word, value)
            return True
        message = f"the name `{word.text}` is declared twice"
        related = Related(first.word.place, f"first declared here, as {first.kind}")
        self.findings.error("duplicate-name", message, word.place, "rename one of them", related)
        return False

    def guess(self, statement: Statement) -> None:
        """Enter the name of a broken statement, so that its uses aren't reported as unknown."""
        if statement.names and statement.name.text not in self.entries:
            entry: Entry[T] = Entry(statement.keyword, statement.name, None, True, True)
            self.entries[statement.name.text] = entry

    def unused(self) -> Iterator[tuple[str, Word]]:
        """The kind and name of every entry that nothing has asked for."""
        return ((entry.kind, entry.word) for entry in self if not entry.used)

    def find(self, word: Word, use: bool = True) -> Entry[T] | None:
        """The entry of a name; None if it is unknown, which is reported.

        It counts as used from now on, unless the asker is no proper use.
        """
        entry = self.entries.get(word.text)
        if entry is not None:
            entry.used = entry.used or use
        elif self.whole:
            self._report_unknown(word)
        return entry

    def value(self, word: Word) -> T | None:
        """The value of a name; None if it is unknown or unsound, either of which is reported."""
        entry = self.find(word)
        return entry.value if entry else None

    def is_a(self, kind: str, word: Word) -> bool:
        """Whether a name is declared as a kind of thing; nothing is reported."""
        entry = self.entries.get(word.text)
        return entry is not None and entry.kind == kind

    def _report_unknown(self, word: Word) -> None:
        self._hints += 1
        known = tuple(self.entries)
        hint = did_you_mean(word.text, known) if self._hints <= MAX_HINTS else ""
        near = nearest(word.text, known) if hint else None
        hint = hint or "declare it, or mend the name"
        if near:
            self.entries[near].used = True
        related = (Related(self.entries[near].word.place, "declared here"),) if near else ()
        message = f"no {self.kinds} is called `{word.text}`"
        self.findings.error("unknown-name", message, word.place, hint, *related)


def check_name(word: Word, findings: Findings) -> None:
    """Report a name that can't stand in generated code."""
    if word.text == SHOWN:
        message = f"`{SHOWN}` is the place that is seen, and no name for anything else"
        findings.error("reserved-name", message, word.place, "choose another name")
    elif not _GOOD_NAME.fullmatch(word.text):
        message = f"`{word.text}` is not a good name"
        hint = (
            f"a name has at most {MAX_NAME} letters from a to z, digits and `_`,"
            " and begins with a letter or `_`"
        )
        findings.error("bad-name", message, word.place, hint)


class Scope:
    """All tables of names of one machine file."""

    def __init__(self, source: Source, findings: Findings) -> None:
        def table(kinds: str, *keywords: str) -> Table[T]:
            made: Table[T] = Table(kinds, findings, source.whole)
            for statement in source.broken(*keywords):
                made.guess(statement)
            return made

        self.file = source.name
        self.findings = findings
        self.stations: Table[Item | Selector | Gate]
        self.stations = table("item, selector or gate", "item", "selector", "gate")
        self.grids: Table[Grid] = table("grid", "grid")
        self.coils: Table[Coil] = table("coil", "coil")
        self.relays: Table[Relay] = table("relay", "relay")
        self.buses: Table[Bus] = table("bus of outputs", "outputs")
        self.supplies: Table[Supply] = table("supply", "supply")
        self.fonts: Table[FontSource] = table("font", "font")
        self.copies: dict[str, int] = {}
        self.layout = Layout(findings)
        self.tolerance = GeneralTolerance(source, findings)
        self.controller = EXACT_CONTROLLER
        self.coldest_c, self.hottest_c = REFERENCE_C, AMBIENT_C

    def warn_unplaced(self) -> None:
        """Warn of every item, selector and gate of the machine file that stands in no lane."""
        for kind, word in self._own(self.stations.unused()):
            message = f"{kind} `{word.text}` stands in no lane"
            self.findings.warning("unused", message, word.place, "leave it out, or use it")

    def warn_unused(self) -> None:
        """Warn of all else there that nothing speaks of; fonts and programmes stand alone."""
        unused = itertools.chain(
            self.coils.unused(),
            self.relays.unused(),
            self.buses.unused(),
            self.supplies.unused(),
        )
        for kind, word in self._own(unused):
            message = f"nothing uses {kind} `{word.text}`"
            self.findings.warning("unused", message, word.place, "leave it out, or use it")

    def _own(self, unused: Iterable[tuple[str, Word]]) -> Iterator[tuple[str, Word]]:
        """Those of the machine file itself: what it includes may be shared with other machines."""
        return ((kind, word) for kind, word in unused if word.place.file == self.file)
