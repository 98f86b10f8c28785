"""Paths from gate to gate: which there are, and the times that they take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seqc.language.courses import Courses, course_words, courses_of, is_course
from seqc.language.quantities import TIME, in_words
from seqc.language.scope import Scope
from seqc.language.settings import Settings, read_settings
from seqc.language.source import Source, Statement, Word
from seqc.machine.findings import Related
from seqc.machine.motion import Slope
from seqc.machine.parts import SHOWN, Item, Path
from seqc.machine.span import Span, Tolerance
from seqc.machine.wording import a_kind


@dataclass(eq=False)
class PathEntry:
    """A path as declared; its time may depend on the items that run along it."""

    statement: Statement
    settings: Settings
    used: bool = False


class Paths:
    """All declared paths, by the names of their ends."""

    def __init__(self, source: Source, scope: Scope) -> None:
        self.findings = scope.findings
        self.tolerance = scope.tolerance
        self.whole = source.is_whole("path")
        self.entries: dict[tuple[str, str], PathEntry] = {}
        for statement in source.of("path"):
            self._declare(statement, scope)

    def _declare(self, statement: Statement, scope: Scope) -> None:
        start, end = statement.names
        settings = read_settings(statement, self.findings)
        sound = is_course(settings, self.findings) and settings.sound
        ends = [_is_gate(start, scope), end.text == SHOWN or _is_gate(end, scope)]
        entry = PathEntry(statement, Settings(settings.given, sound), used=not all(ends))
        first = self.entries.setdefault((start.text, end.text), entry)
        if first is not entry:
            message = f"the path from `{start.text}` to `{end.text}` is declared twice"
            related = Related(first.statement.place, "first declared here")
            self.findings.error(
                "duplicate-path", message, statement.place, "leave one out", related
            )

    def between(self, start: Word, end: str, items: Sequence[Item]) -> Path | None:
        """The path of some items from a gate to the next station; None is reported."""
        entry = self.entries.get((start.text, end))
        if entry is None:
            if self.whole:
                message = f"there is no path from `{start.text}` to `{end}`"
                hint = f"add `path {start.text} -> {end} {{ roll 120 mm at 9 deg }}`"
                self.findings.error("missing-path", message, start.place, hint)
            return None
        entry.used = True
        if not entry.settings.sound:
            return None
        courses = courses_of(entry.settings, items, self.findings)
        return None if courses is None else self._path(start.text, end, entry, courses)

    def _path(self, start: str, end: str, entry: PathEntry, courses: Courses) -> Path:
        """A path with the time of its slowest item, and at the least that of its quickest."""
        settings, slowest = entry.settings, courses.slowest
        if slowest is None:
            time = settings.needed("course")
            around = self.tolerance.of(settings, "course")
        else:
            time, least = slowest.time_us, courses.least_us
            spread = time - least + self.tolerance.share(settings, least).under_us
            around = Tolerance(spread, self.tolerance.share(settings, time).over_us)
        settle = self._settle(entry, courses)
        return Path(
            start,
            end,
            time,
            settle.nominal_us,
            course_words(settings),
            slowest if isinstance(slowest, Slope) else None,
            entry.statement.place,
            around,
            Tolerance(settle.nominal_us - settle.least_us, settle.most_us - settle.nominal_us),
            slowest is not None and slowest.is_ideal,
        )

    def _settle(self, entry: PathEntry, courses: Courses) -> Span:
        """Until the item lies still: as told, or as long as it bounces."""
        settings, bounces = entry.settings, courses.bounces_us
        told = settings.amount("settle")
        if told is None:
            return self.tolerance.share(settings, bounces or 0).of(bounces or 0)
        if bounces is not None and bounces > told.value:
            message = (
                f"items bounce for {in_words(bounces, TIME)} at the end of this path, longer than "
                f"its `settle {told.text}`"
            )
            hint = "leave `settle` out, or damp the end and tell a lower `bounce`"
            self.findings.warning("short-settle", message, told.place, hint)
        return self.tolerance.of(settings, "settle").of(told.value)

    def warn_unused(self) -> None:
        """Warn of every path that no lane takes."""
        for (start, end), entry in self.entries.items():
            if not entry.used:
                message = f"no lane leads from `{start}` to `{end}`"
                hint = "leave the path out, or mend its ends"
                self.findings.warning("unused-path", message, entry.statement.place, hint)


def _is_gate(word: Word, scope: Scope) -> bool:
    """Whether a path can begin or end at a name; else it is reported."""
    entry = scope.stations.entries.get(word.text)
    if word.text == SHOWN:
        message = f"a path can't begin at `{SHOWN}`"
        hint = "an item that leaves the place that is seen needs no path"
        scope.findings.error("wrong-role", message, word.place, hint)
    elif entry is None:
        scope.stations.find(word, use=False)
    elif entry.kind != "gate":
        message = f"`{word.text}` is {a_kind(entry.kind)}, and paths lead from gate to gate"
        related = Related(entry.word.place, "declared here")
        hint = f"name a gate, or `{SHOWN}` as the end"
        scope.findings.error("wrong-role", message, word.place, hint, related)
    return entry is not None and entry.kind == "gate"
