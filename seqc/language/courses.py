"""How the items of a lane roll or fall along a path."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seqc.language.settings import Settings
from seqc.machine.findings import Findings, Related
from seqc.machine.motion import Course, Fall, Groove, Plane, Rails, Slope, Surface
from seqc.machine.parts import Item

ROLLING = ("at", "surface", "resistance", "start speed", "first falls")
"""What only items that roll have a use for."""


@dataclass(frozen=True, slots=True)
class Courses:
    """The courses of the items that take a path, none where its time is told."""

    each: tuple[tuple[Item, Course], ...] = ()

    @property
    def slowest(self) -> Course | None:
        """That of the slowest item."""
        return max((one for _, one in self.each), key=lambda one: one.time_us, default=None)

    @property
    def least_us(self) -> int:
        """The time of the quickest, if it keeps what speed it can."""
        return min(course.least_us for _, course in self.each)

    @property
    def bounces_us(self) -> int | None:
        """How long the item bounces that does so for longest; None where no bounce is told."""
        told = [(course, item.bounce_ppm) for item, course in self.each]
        bounces = [course.bounces_us(bounce) for course, bounce in told if bounce is not None]
        return max(bounces, default=None)


def is_course(settings: Settings, findings: Findings) -> bool:
    """Whether a slope is given where items roll, and nothing of rolling where they fall."""
    course = settings.get("course")
    if course is None or course.entry.phrase == "roll":
        return _has_slope(settings, findings)
    further = [setting for key in ROLLING for setting in settings.all(key)]
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


def course_words(settings: Settings) -> str:
    """The course in the words of the file."""
    keys = ("course", *ROLLING)
    amounts = [(s.entry.phrase, s.values[0]) for key in keys for s in settings.all(key)]
    return " ".join(f"{phrase} {getattr(value, 'text', '')}" for phrase, value in amounts)


def courses_of(settings: Settings, items: Sequence[Item], findings: Findings) -> Courses | None:
    """The course of each item; None where one can't roll, which is reported."""
    if settings.phrase("course") == "falls in":
        return Courses()
    made: list[tuple[Item, Course]] = []
    reasons: set[str] = set()
    for item in items:
        course = _course(settings, item)
        try:
            assert course.time_us
            made.append((item, course))
        except ValueError as impossible:
            reason = str(impossible)
            if reason not in reasons:
                _report_impossible(settings, item, reason, findings)
            reasons.add(reason)
    return None if reasons else Courses(tuple(made))


def _course(settings: Settings, item: Item) -> Course:
    length = settings.needed("course")
    if settings.phrase("course") == "fall":
        return Fall(length, item.ball)
    surface = _surface(settings)
    on_rails = isinstance(surface, Rails) and item.diameter_um is not None
    return Slope(
        length,
        settings.needed("at"),
        surface,
        (item.diameter_um or 0) // 2 if on_rails else None,
        settings.integer("resistance") or 0,
        settings.integer("start speed") or 0,
        settings.integer("first falls") or 0,
        item.ball,
    )


def _report_impossible(settings: Settings, item: Item, reason: str, findings: Findings) -> None:
    where = settings.get("surface")
    hint = "choose rails that are nearer together"
    if where is None or "resistance" in reason:
        where, hint = settings.get("resistance"), "make the slope steeper"
    elif item.diameter_um is None:
        hint = f"give item `{item.name}` a `diameter 8 mm`"
    assert where is not None
    message = f"item `{item.name}` can't roll here: {reason}"
    related = Related(item.place, "the item")
    findings.error("cannot-roll", message, where.place, hint, related)


def _surface(settings: Settings) -> Surface:
    amount = settings.integer("surface")
    if amount is None:
        return Plane()
    return Rails(amount) if settings.phrase("surface") == "on rails" else Groove(amount)
