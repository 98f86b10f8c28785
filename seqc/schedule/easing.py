"""What is left of a cadence, spent on wider distances.

Every tick of a programme is widened by the largest factor on all tolerances at which it keeps the
cadence with its order of events: the longest chain of waits tells, and bisection finds it to a
thousandth. The least of these is what the programme keeps. Then the waits that make a tick no
longer are widened further, chain by chain, so that what is told to break first does.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from seqc.machine.model import Machine
from seqc.machine.progress import counted
from seqc.machine.tolerances import varies
from seqc.schedule.breaking import breaking_points
from seqc.schedule.scaling import MOST, ONE, Scaling, largest
from seqc.schedule.tick import Tick
from seqc.schedule.timing import ProgrammeTiming
from seqc.schedule.widening import Wait, Widening
from seqc.solver.load_time.load_timer import FOREVER

CHAINS = 4
"""So many chains of a tick are widened one after the other."""

COARSE = 200
"""Further factors are found to so many thousandths."""

LATE_SHARE = 100
"""This part of the cadence is left for a controller that looks late."""


@dataclass(frozen=True)
class Easing:
    """A programme with its distances as wide as its cadence lets them be.

    It holds for `factor` thousandths of the declared tolerances; `weakest` is what breaks first
    beyond that, nothing where that isn't known or it holds for more than is sought. What comes
    before the first tick is made for the `relaxed` machine.
    """

    timing: ProgrammeTiming
    factor: int
    weakest: str
    relaxed: Machine


def ease(timing: ProgrammeTiming) -> Easing | None:
    """A programme at its cadence, widened.

    None where no part varies, where the cadence is too short for ticks that leave a quiet machine,
    where a coil is on for as long as it may be, or where the effort isn't enough for so many ticks.
    """
    machine = timing.machine
    limit_us = timing.beat_us - timing.beat_us // LATE_SHARE
    if timing.quiet_us > limit_us or not timing.ticks or not varies(machine):
        return None
    eased = _Easing(timing, limit_us)
    pulses = sum(len(tick.pulses) for tick in eased.ticks.values())
    return eased.found() if pulses <= timing.effort.widened_pulses else None


class _Easing:
    """One programme being widened; ticks that are alike are widened once."""

    def __init__(self, timing: ProgrammeTiming, limit_us: int) -> None:
        self.timing = timing
        self.limit_us = limit_us
        self.scaling = Scaling(timing.machine, rates(timing))
        self.ticks = {id(tick): tick for tick in timing.ticks}
        self.tried = {
            # The last tick of a programme that ends may take its time.
            id(one.tick): _Tried(one, FOREVER if one.load is None else limit_us)
            for one in self._widenings(self.scaling)
        }

    def _widenings(self, scaling: Scaling) -> Iterator[Widening]:
        """All ticks to be widened, each once."""
        timing = self.timing
        steps = zip(timing.ticks, timing.changes, timing.loads, strict=True)
        known = {id(step[0]): step for step in steps}
        for tick, change, load in known.values():
            yield Widening(scaling, change, load, tick)

    def found(self) -> Easing | None:
        """The widest programme."""
        if not self.scaling.bears(ONE):
            return None
        factor = self._least()
        if factor < ONE:
            return None
        most = self.scaling.further(factor)
        lead_us = self.scaling.lead_at(most)
        made = {
            key: tried.widened(factor, most)
            for key, tried in counted("widening ticks", list(self.tried.items()))
        }
        timing = replace(
            self.timing,
            ticks=tuple(made[id(tick)] for tick in self.timing.ticks),
            quiet_us=self.limit_us,
            lead_us=lead_us,
        )
        weakest = self._weakest(made, factor) if factor < MOST else ""
        return Easing(timing, factor, weakest, self.scaling.at(most).machine)

    def _weakest(self, made: Mapping[int, Tick], factor: int) -> str:
        """What breaks first beyond a factor; of what breaks at once, what comes most often."""
        exact = Scaling(self.timing.machine, self.scaling.rates, exact=True)
        points = [
            point
            for one in self._widenings(exact)
            for point in breaking_points(
                one, one.by_task(made[id(one.tick)]), self.timing.beat_us, factor
            )
        ]
        first = min((point.factor for point in points), default=0)
        causes = Counter(point.cause for point in points if point.factor == first)
        return max(sorted(causes), key=causes.__getitem__, default="")

    def _least(self) -> int:
        """The largest factor at which all ticks fit."""
        factor = min(self.scaling.most, MOST)
        longest_first = sorted(self.ticks.values(), key=lambda tick: -tick.ready_us)
        for tick in longest_first:
            tried = self.tried[id(tick)]
            if not tried.fits(factor):
                factor = largest(tried.fits, ONE - 1, factor)
        return factor


def rates(timing: ProgrammeTiming) -> dict[int, Fraction]:
    """How many pulses a microsecond each actuator is given while a programme repeats."""
    ticks = timing.ticks[timing.repeat_from or 0 :]
    known = {id(tick): tick for tick in ticks}
    counts: Counter[int] = Counter()
    for which, times in Counter(map(id, ticks)).items():
        for pulse in known[which].pulses:
            counts[pulse.actuator.index] += times
    return {index: Fraction(count, timing.beat_us * len(ticks)) for index, count in counts.items()}


class _Tried:
    """One tick at several factors; `frozen` are the factors of the waits that can't be wider."""

    def __init__(self, widening: Widening, limit_us: int) -> None:
        self.widening = widening
        self.limit_us = limit_us
        self.frozen: dict[int, int] = {}

    def waits(self, factor: int) -> list[Wait]:
        """All waits, those that aren't frozen at a factor."""
        found = list(self.widening.waits(factor))
        for held in set(self.frozen.values()):
            narrow = self.widening.waits(held)
            for number, at in self.frozen.items():
                if at == held:
                    found[number] = narrow[number]
        return found

    def starts(self, factor: int) -> list[int] | None:
        """The starts at a factor, None where the tick doesn't end in time."""
        return self.widening.starts(self.waits(factor), self.limit_us)

    def fits(self, factor: int) -> bool:
        """Whether it ends in time at a factor."""
        return self.starts(factor) is not None

    def critical(self, factor: int) -> list[int]:
        """The numbers of the waits that keep the tick from a factor."""
        return self.widening.critical(self.waits(factor), self.limit_us)

    def widened(self, factor: int, most: int) -> Tick:
        """The tick with every wait as wide as it may be, between two factors."""
        for _ in range(CHAINS):
            factor = largest(self.fits, factor, most, COARSE)
            if factor == most:
                break
            beyond = min(factor + COARSE, most)
            held = [number for number in self.critical(beyond) if number not in self.frozen]
            if not held:
                break
            self.frozen.update(dict.fromkeys(held, factor))
        starts = self.starts(factor)
        assert starts is not None, "it fitted before"
        return self.widening.widened(starts, self._pulse_factors(factor))

    def _pulse_factors(self, factor: int) -> Mapping[int, int]:
        """The factor of each task's pulse: no longer than any frozen wait counts with."""
        waits = self.widening.waits(ONE)
        found = dict.fromkeys(range(self.widening.end + 1), factor)
        for number, at in self.frozen.items():
            for task in waits[number][:2] if waits[number].holds else ():
                found[task] = min(found[task], at)
        for group in self.widening.together:
            least = min(found[task] for task in group)
            found.update(dict.fromkeys(group, least))
        return found
