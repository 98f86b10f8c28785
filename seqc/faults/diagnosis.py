"""From what was seen to what is wrong: the faults that explain all of it, likeliest first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from seqc.faults.fault import Fault, Spot
from seqc.faults.likelihood import Evidence, weights
from seqc.faults.listing import faults_of, held_in
from seqc.faults.pairs import Traits, pairs_of
from seqc.faults.sight import NOT_LOOKED, Sight, fits
from seqc.faults.trials import BEFORE, Bench, Course, Look
from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable


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
    suspected. `pairs` are only looked for where no single fault explains all; they are `cut_short`
    where there were more to try than are.
    """

    wrong: tuple[Spot, ...]
    singles: tuple[Suspect, ...]
    pairs: tuple[Suspect, ...] = ()
    cut_short: bool = False

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """All suspects: the single ones, or else the pairs."""
        return self.singles or self.pairs

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
    examined = Examined(machine, home, sights, before, evidence or Evidence())
    singles = examined.singles()
    if singles or not examined.wrong:
        return Diagnosis(examined.wrong, singles)
    pairs, cut_short = examined.pairs()
    return Diagnosis(examined.wrong, singles, pairs, cut_short)


class Examined:
    """All faults held against what was seen."""

    def __init__(
        self,
        machine: Machine,
        home: Sequence[StepTable],
        sights: Sequence[Sight],
        before: Mapping[str, Look] | None,
        evidence: Evidence,
    ) -> None:
        self.sights = sights
        self._bench = Bench(machine, home, known_before(before))
        held = [fault for number in range(len(sights)) for fault in held_in(machine, number)]
        self.faults = (*faults_of(machine), *held)
        self.weights = weights(machine, self.faults, evidence)
        self.course = self._played([(fault,) for fault in self.faults])
        spots = [(g.name, cell) for g in machine.grids for cell in range(len(g.cells))]
        self._bit = {spot: 1 << number for number, spot in enumerate(spots)}
        self.wrong = tuple(
            spot
            for spot in spots
            if not fits(tuple(p[spot[0]][spot[1]] for p in self.course.sound), self._seen(spot))
        )
        self._traits = [self._traits_of(number) for number in range(len(self.faults))]

    def singles(self) -> tuple[Suspect, ...]:
        """The single faults that explain all."""
        wrong = self._mask(self.wrong)
        if not wrong:
            return ()
        found = [
            (self.course, number, trait.weight)
            for number, trait in enumerate(self._traits)
            if not trait.unfit and not wrong & ~trait.cells
        ]
        return _grouped(found)

    def pairs(self) -> tuple[tuple[Suspect, ...], bool]:
        """The pairs that explain all, and whether there are more that might."""
        pairs = pairs_of(self._traits, self._mask(self.wrong))
        weight = dict(zip(self.faults, self.weights, strict=True))
        course = self._played([*pairs.apart, *pairs.to_run])
        found = [
            (course, number, weight[one] * weight[other])
            for number, (one, other) in enumerate(course.hypotheses)
            if number < len(pairs.apart) or self._explains(course, number)
        ]
        return _grouped(found), pairs.cut_short

    def _played(self, hypotheses: Sequence[tuple[Fault, ...]]) -> Course:
        course = Course(self._bench, hypotheses)
        for sight in self.sights:
            course.play(sight.table)
        return course

    def _explains(self, course: Course, number: int) -> bool:
        return all(fits(mine, self._seen(spot)) for spot, mine, _ in course.words(number))

    def _seen(self, spot: Spot) -> Look:
        """What was seen of a cell, sight by sight."""
        grid, cell = spot
        return tuple(
            sight.seen[grid][cell] if grid in sight.seen else NOT_LOOKED for sight in self.sights
        )

    def _traits_of(self, number: int) -> Traits:
        words = list(self.course.words(number))
        unfit = [spot for spot, mine, _ in words if not fits(mine, self._seen(spot))]
        cells = self._mask([spot for spot, _, _ in words])
        return Traits(self.faults[number], cells, self._mask(unfit), self.weights[number])

    def _mask(self, spots: Sequence[Spot]) -> int:
        return sum(self._bit[spot] for spot in spots)


def known_before(before: Mapping[str, Look] | None) -> dict[str, Look]:
    """What was there before, cells that nobody looked at left open."""
    return {
        grid: tuple(BEFORE if kind == NOT_LOOKED else kind for kind in kinds)
        for grid, kinds in (before or {}).items()
    }


def _grouped(found: Sequence[tuple[Course, int, float]]) -> tuple[Suspect, ...]:
    """Suspects of hypotheses with their weights, those together that look alike."""
    alike: dict[object, list[tuple[float, tuple[Fault, ...]]]] = {}
    for course, number, weight in found:
        looks = tuple((spot, mine) for spot, mine, theirs in course.words(number) if mine != theirs)
        alike.setdefault(looks, []).append((weight, course.hypotheses[number]))
    total = sum(weight for _, _, weight in found)
    ordered = [sorted(group, key=lambda each: -each[0]) for group in alike.values()]
    suspects = [
        Suspect(tuple(causes for _, causes in group), tuple(weight / total for weight, _ in group))
        for group in ordered
    ]
    return tuple(sorted(suspects, key=lambda suspect: -suspect.share))
