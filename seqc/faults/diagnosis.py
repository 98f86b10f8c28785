"""From what was seen to what is wrong: the faults that explain all of it, likeliest first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from seqc.faults.fault import Fault, Spot
from seqc.faults.likelihood import Evidence, weights
from seqc.faults.listing import faults_of, held_in
from seqc.faults.pairs import Traits, pairs_of
from seqc.faults.sight import NOT_LOOKED, Sight, fits
from seqc.faults.trials import BEFORE, Bench, Course, Hypothesis, Look
from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable
from seqc.simulator.lanes import UNKNOWN

OF_A_PAIR = 1e-4
"""How likely a pair is beside a single fault, of weights of one."""


@dataclass(frozen=True)
class Suspect:
    """Faults that would all be seen alike so far, likeliest first; of two at once, pairs.

    `shares` are how likely each is it, among all suspects: from 0 to 1.
    """

    causes: tuple[tuple[Fault, ...], ...]
    shares: tuple[float, ...]

    @property
    def share(self) -> float:
        """How likely one of them is it."""
        return sum(self.shares)


@dataclass(frozen=True)
class Diagnosis:
    """What explains what was seen.

    `wrong` are the cells that a sound machine doesn't explain; where there are none nothing is
    suspected. `pairs` are only looked for where no single fault explains all, or only by much luck;
    they are `cut_short` where there were more to try than are.
    """

    wrong: tuple[Spot, ...]
    singles: tuple[Suspect, ...]
    pairs: tuple[Suspect, ...] = ()
    cut_short: bool = False

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """All suspects, likeliest first."""
        return tuple(sorted((*self.singles, *self.pairs), key=lambda each: -each.share))

    @property
    def is_explained(self) -> bool:
        """Whether the sound machine, a fault or a pair explains all."""
        return not self.wrong or bool(self.suspects)


def diagnose(
    machine: Machine,
    home: Sequence[StepTable],
    sights: Sequence[Sight],
    *,
    before: Mapping[str, Look] | None = None,
    evidence: Evidence | None = None,
) -> Diagnosis:
    """What explains what was seen after tables that were played one after the other.

    `home` are the tables that were played first, from power-on with every part at rest. `before`
    is what lay in the place that is seen then, as far as it is known.
    """
    examiner = Examiner(machine, home, before=before, evidence=evidence)
    for sight in sights:
        examiner.play(sight.table)
    return examiner.diagnosed([sight.seen for sight in sights])


class Examiner:
    """All faults followed through the tables that are played, to be held against what is seen."""

    def __init__(
        self,
        machine: Machine,
        home: Sequence[StepTable],
        *,
        before: Mapping[str, Look] | None = None,
        evidence: Evidence | None = None,
    ) -> None:
        self.machine = machine
        self.bench = Bench(machine, home, known_before(before))
        self.tables: list[StepTable] = []
        self._evidence = evidence or Evidence()
        lasting = Course(self.bench, [(fault,) for fault in faults_of(machine)])
        self._courses = [lasting]
        spots = [(g.name, cell) for g in machine.grids for cell in range(len(g.cells))]
        self._bit = {spot: 1 << number for number, spot in enumerate(spots)}

    def play(self, table: StepTable) -> None:
        """Note that a table was played, after those before it."""
        held = [(fault,) for fault in held_in(self.machine, len(self.tables))]
        self._courses.append(self._courses[0].beside(held))
        for course in self._courses:
            course.play(table)
        self.tables.append(table)

    def followed(self, hypotheses: Sequence[Hypothesis]) -> Course:
        """Any hypotheses, followed through all tables that were played."""
        course = Course(self.bench, hypotheses)
        for table in self.tables:
            course.play(table)
        return course

    def diagnosed(self, seen: Sequence[Mapping[str, Look]]) -> Diagnosis:
        """What explains what was seen after each table; a missing grid wasn't looked at."""
        return _Answer(self, self._courses, seen, self._evidence, self._bit).diagnosis()


class _Answer:
    """The faults held against one row of sights."""

    def __init__(
        self,
        examiner: Examiner,
        courses: Sequence[Course],
        seen: Sequence[Mapping[str, Look]],
        evidence: Evidence,
        bit: Mapping[Spot, int],
    ) -> None:
        self.examiner, self._seen, self._bit = examiner, seen, bit
        sound = courses[0].sound_word
        self.wrong = tuple(spot for spot in bit if not fits(sound(spot), self._look(spot)))
        self._mask_of_wrong = self._mask(self.wrong)
        self._kinds = {lane.grid.name: len(lane.items) for lane in examiner.machine.lanes}
        self._at = [(course, n) for course in courses for n in range(len(course.hypotheses))]
        faults = [course.hypotheses[n][0] for course, n in self._at]
        given = weights(examiner.machine, faults, evidence)
        self._weight = dict(zip(faults, given, strict=True))
        self._traits = [self._traits_of(*at) for at in self._at]

    def diagnosis(self) -> Diagnosis:
        """The single faults, and where none is likely enough the pairs."""
        if not self.wrong:
            return Diagnosis((), ())
        wrong = self._mask_of_wrong
        alone = [not trait.unfit and not wrong & ~trait.cells for trait in self._traits]
        singles = [
            (*at, trait.weight)
            for at, trait, explains in zip(self._at, self._traits, alone, strict=True)
            if explains
        ]
        likeliest = max((weight for _, _, weight in singles), default=0.0)
        if likeliest >= OF_A_PAIR:
            return Diagnosis(self.wrong, _grouped(singles, 1.0))
        traits = [t for t, explains in zip(self._traits, alone, strict=True) if not explains]
        pairs, cut_short = self._pairs(traits)
        total = sum(weight for _, _, weight in (*singles, *pairs)) or 1.0
        shares = [sum(weight for _, _, weight in some) / total for some in (singles, pairs)]
        return Diagnosis(
            self.wrong, _grouped(singles, shares[0]), _grouped(pairs, shares[1]), cut_short
        )

    def _pairs(self, traits: Sequence[Traits]) -> tuple[list[tuple[Course, int, float]], bool]:
        """The pairs that explain all, and whether there are more that might."""
        pairs = pairs_of(traits, self._mask_of_wrong)
        course = self.examiner.followed([*pairs.apart, *pairs.to_run])
        found = []
        for number, (one, other) in enumerate(course.hypotheses):
            if number < len(pairs.apart) or self._explains(course, number):
                weight = self._weight[one] * self._weight[other] * self._luck(course, number)
                found.append((course, number, weight * OF_A_PAIR))
        return found, pairs.cut_short

    def _luck(self, course: Course, number: int) -> float:
        """How likely it was that what can't be foretold looked as it did: each kind as likely."""
        luck = 1.0
        for spot, mine, _ in course.words(number):
            seen = zip(mine, self._look(spot), strict=True)
            open_ones = [would for would, was in seen if was != NOT_LOOKED]
            count = open_ones.count(UNKNOWN) + (BEFORE in open_ones)
            luck /= self._kinds[spot[0]] ** count
        return luck

    def _explains(self, course: Course, number: int) -> bool:
        return all(fits(mine, self._look(spot)) for spot, mine, _ in course.words(number))

    def _look(self, spot: Spot) -> Look:
        """What was seen of a cell, sight by sight."""
        grid, cell = spot
        return tuple(seen[grid][cell] if grid in seen else NOT_LOOKED for seen in self._seen)

    def _traits_of(self, course: Course, number: int) -> Traits:
        words = list(course.words(number))
        unfit = [spot for spot, mine, _ in words if not fits(mine, self._look(spot))]
        cells = self._mask([spot for spot, _, _ in words])
        (fault,) = course.hypotheses[number]
        weight = self._weight[fault] * self._luck(course, number)
        return Traits(fault, cells, self._mask(unfit), weight)

    def _mask(self, spots: Sequence[Spot]) -> int:
        return sum(self._bit[spot] for spot in spots)


def known_before(before: Mapping[str, Look] | None) -> dict[str, Look]:
    """What was there before, cells that nobody looked at left open."""
    return {
        grid: tuple(BEFORE if kind == NOT_LOOKED else kind for kind in kinds)
        for grid, kinds in (before or {}).items()
    }


def _grouped(found: Sequence[tuple[Course, int, float]], share: float) -> tuple[Suspect, ...]:
    """Suspects of hypotheses with their weights, those together that look alike.

    All of them together have a `share`.
    """
    alike: dict[object, list[tuple[float, tuple[Fault, ...]]]] = {}
    for course, number, weight in found:
        looks = tuple((spot, mine) for spot, mine, theirs in course.words(number) if mine != theirs)
        alike.setdefault(looks, []).append((weight, course.hypotheses[number]))
    total = sum(weight for _, _, weight in found) / (share or 1.0)
    ordered = [sorted(group, key=lambda each: -each[0]) for group in alike.values()]
    suspects = [
        Suspect(tuple(causes for _, causes in group), tuple(weight / total for weight, _ in group))
        for group in ordered
    ]
    return tuple(sorted(suspects, key=lambda suspect: -suspect.share))
