"""What is left of the cadence of tracks, spent on wider distances.

All tables and delays are made once more for parts that vary by some times as much; the largest
factor at which they still end within their tick is found by bisection.
"""

from __future__ import annotations

from dataclasses import dataclass

from seqc.machine.findings import ShortfallError
from seqc.machine.tolerances import varies
from seqc.schedule.easing import LATE_SHARE, Easing, rates
from seqc.schedule.scaling import MOST, ONE, Scaling, largest
from seqc.schedule.tracks.timing import TracksTiming, time_tracks

STEP = 200
"""Factors are found to so many thousandths."""


@dataclass(frozen=True)
class TracksEasing(Easing):
    """The same of tracks."""

    tracks: TracksTiming


def ease_tracks(tracks: TracksTiming) -> TracksEasing | None:
    """Tracks at their cadence, widened.

    None where no part varies, where the cadence leaves nothing, or where a coil is on for as long
    as it may be.
    """
    timing = tracks.timing()
    limit_us = timing.beat_us - timing.beat_us // LATE_SHARE
    if timing.period_us > limit_us or not varies(tracks.machine):
        return None
    scaling = Scaling(tracks.machine, rates(timing))
    if not scaling.bears(ONE):
        return None
    known = {ONE: tracks}

    def fits(factor: int) -> bool:
        try:
            made = time_tracks(tracks.machine, tracks.planned, tracks.effort, scaling.at(factor))
        except ShortfallError:
            return False
        known[factor] = made
        return made.period_us <= limit_us

    factor = largest(fits, ONE, min(scaling.most, MOST), STEP)
    eased = known[factor]
    return TracksEasing(eased.timing(), factor, "", eased.topology.machine, eased)
