"""Paths from gate to gate: which there are, and the times that they take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seqc.language.scope import Scope
from seqc.language.settings import Settings, read_settings
from seqc.language.source import Source, Statement, Word
from seqc.machine.findings import Findings, Related
from seqc.machine.motion import Groove, Plane, Rails, Slope, Surface, fall_us
from seqc.machine.parts import SHOWN, Item, Path
from seqc.machine.span import Tolerance
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
        sound = _is_course(settings, self.findings) and settings.sound
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
        slopes: Sequence[Slope] = ()
        if entry.settings.phrase("course") == "roll":
            slopes = _slopes(entry.settings, items, self.findings)
            if not slopes:
                return None
        return self._path(start.text, end, entry, slopes)

    def _path(self, start: str, end: str, entry: PathEntry, slopes: Sequence[Slope]) -> Path:
        """A path with the time of its slowest item, and at the least that of its quickest."""
        settings = entry.settings
        times = [slope.time_us for slope in slopes] or [_fall_us(settings)]
        slowest, quickest = max(times), min(times)
        around = self._around(settings, slowest)
        spread = slowest - quickest + self._around(settings, quickest).under_us
        return Path(
            start,
            end,
            slowest,
            settings.integer("settle") or 0,
            _course(settings),
            max(slopes, key=lambda slope: slope.time_us, default=None),
            entry.statement.place,
            Tolerance(spread, around.over_us),
            self.tolerance.of(settings, "settle"),
        )

    def _around(self, settings: Settings, time_us: int) -> Tolerance:
        """The tolerance of a time of the course, as told with it or, where it is computed, not."""
        given = settings.phrase("course") == "falls in"
        if given:
            return self.tolerance.of(settings, "course")
        return self.tolerance.share(settings, time_us)

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


def _is_course(settings: Settings, findings: Findings) -> bool:
    """Whether a slope is given where items roll, and none and no surface where they fall."""
    course = settings.get("course")
    if course is None or course.entry.phrase == "roll":
        return _has_slope(settings, findings)
    further = [setting for key in ("at", "surface") for setting in settings.all(key)]
    for setting in further:
        message = f"{setting.entry.title} is for items that roll, not for {course.entry.title}"
        findings.error("excluded-setting", message, setting.place, "leave it out")
    return not further


def _has_slope(settings: Settings, findings: Findings) -> bool:
    course = settings.get("course")
    if course is None or settings.get("at") is not None:
        return course is not None
    message, hint = "`roll` needs its slope", "write `roll 120 mm at 9 deg`"
    findings.error("missing-slope", message, course.place, hint)
    return False


def _course(settings: Settings) -> str:
    """The course in the words of the file."""
    amounts = [(s.entry.phrase, s.values[0]) for k in _COURSE for s in settings.all(k)]
    return " ".join(f"{phrase} {getattr(value, 'text', '')}" for phrase, value in amounts)


_COURSE = ("course", "at", "surface")


def _fall_us(settings: Settings) -> int:
    amount = settings.needed("course")
    return amount if settings.phrase("course") == "falls in" else fall_us(amount)


def _slopes(settings: Settings, items: Sequence[Item], findings: Findings) -> Sequence[Slope]:
    """The slope as each item rolls it, or none where one can't roll; that is reported."""
    length, angle = settings.needed("course"), settings.needed("at")
    surface = _surface(settings)
    if not isinstance(surface, Rails):
        return (Slope(length, angle, surface),)
    times: dict[Slope, int] = {}
    whole = True
    for item in items:
        radius = None if item.diameter_um is None else item.diameter_um // 2
        slope = Slope(length, angle, surface, radius)
        try:
            times[slope] = slope.time_us
        except ValueError as impossible:
            _report_impossible(settings, item, str(impossible), findings)
            whole = False
    return tuple(times) if whole else ()


def _report_impossible(settings: Settings, item: Item, reason: str, findings: Findings) -> None:
    rails = settings.get("surface")
    assert rails is not None
    related = Related(item.place, "the item")
    hint = "choose rails that are nearer together"
    if item.diameter_um is None:
        hint = f"give item `{item.name}` a `diameter 8 mm`"
    message = f"item `{item.name}` can't roll here: {reason}"
    findings.error("cannot-roll", message, rails.place, hint, related)


def _surface(settings: Settings) -> Surface:
    amount = settings.integer("surface")
    if amount is None:
        return Plane()
    return Rails(amount) if settings.phrase("surface") == "on rails" else Groove(amount)
