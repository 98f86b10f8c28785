"""The numbers that the player of tracks is compiled with."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.codegen.image import Image
from seqc.codegen.track_image import TrackPart

SECOND_US = 1_000_000
DAY_US = 86_400 * SECOND_US


def track_constants(image: Image, tracks: TrackPart) -> Iterator[tuple[str, int, str]]:
    """Name, value and meaning of each."""
    yield "SEQC_GRIDS_AT", image.at("grids"), "where the fields of all tracks start"
    yield "SEQC_KINDS_AT", image.at("kinds"), "where the kinds of grids start"
    yield "SEQC_MOVES_AT", image.at("moves"), "where the moves start"
    yield "SEQC_TRACKS_AT", image.at("tracks"), "where the tracks start"
    yield "SEQC_MAPS_AT", image.at("maps"), "where the outputs of the tracks start"
    yield "SEQC_SHOWS_AT", image.at("shows"), "where the frames of the tracks start"
    yield "SEQC_HOME_US", tracks.home_length_us, "how long home takes"
    yield "SEQC_FIRST_US", tracks.first_length_us, "how long the first load takes"
    yield "SEQC_CLOCK_TICK_US", tracks.tick_us, "microseconds of a tick of the tracks"
    yield "SEQC_CLOCK_TICKS", tracks.ticks, "ticks until all is as it was"
    yield "SEQC_IS_CLOCK", int(tracks.is_clock), "1 where a tick tells the time of day"
    yield "SEQC_QUIET", int(tracks.quiet is not None), "1 where some ticks are quiet"
    if tracks.is_clock:
        yield "SEQC_TICKS_A_DAY", DAY_US // tracks.tick_us, "ticks of a day"
        yield "SEQC_TICKS_A_SECOND", max(1, SECOND_US // tracks.tick_us), "or 1 if it takes longer"
        yield "SEQC_SECONDS_A_TICK", max(1, tracks.tick_us // SECOND_US), "or 1 if it is shorter"
