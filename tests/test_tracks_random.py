"""Random machines whose grids change independently: whatever comes together keeps every rule."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from boards import board
from strategies import Limits, loadable_glyph, random_feed, random_grid, random_linkage
from test_schedule_tolerances import with_relay_coils

import seqc
from seqc.machine.electrics import DriveKind
from seqc.machine.findings import ShortfallError
from seqc.machine.glyphs import Glyph, Programme, Rotation
from seqc.machine.model import Machine
from seqc.machine.steptable import TablesFor
from seqc.machine.tolerances import with_tolerance
from seqc.machine.tracks import NOTHING, TrackSet, merged

LIMITS = Limits(rows=3, columns=3, kinds=3)
EVERY_US = 2_000_000


def random_board(random: Random) -> Machine:
    """Up to three grids alike, on drives that the grids don't share the switching parts of."""
    first = random_grid(random, LIMITS, "one")
    names = ("one", "two", "three")[: random.randint(1, 3)]
    grids = [replace(first, name=name) for name in names]
    feed, kinds = random_feed(random, first, LIMITS)
    dumps = random.randint(0, 1)
    gates = ["drop", "swap", "pass"][: random.randint(1, 3)] + ["dump"] * dumps
    drives = (DriveKind.CHANGEOVER_PAIR, DriveKind.BRIDGE)
    alone = len(grids) == 1
    machine = board(
        grids,
        kinds=kinds,
        feed=feed,
        gates={name: random_linkage(random, first, LIMITS) for name in gates},
        dumps=dumps,
        kind=random.choice((*drives, DriveKind.SHARED_REVERSER) if alone else drives),
        limit_ua=random.choice((3_500_000, 6_000_000, 20_000_000)),
        active_low=random.random() < 0.5,
        fall_us=random.choice((60_000, 300_000)),
        pulse_switch=alone and random.random() < 0.5,
    )
    ppm, clock_ppm = random.choice((0, 20_000, 50_000)), random.choice((0, 50, 10_000))
    return with_tolerance(machine, ppm, clock_ppm)


def random_programme(random: Random, machine: Machine) -> Programme:
    """What each grid shows by itself; some show nothing, and some the same over and over."""
    pictures = [loadable_glyph(random, machine, name) for name in "abcd"]
    rotations = [
        Rotation(
            grid.name,
            tuple(on(grid.name, random.choice(pictures)) for _ in range(random.randint(1, 4))),
            random.choice((1, 1, 2, 3)),
        )
        for grid in machine.grids
        if grid.name == "one" or random.random() < 0.8
    ]
    return Programme.of_rotations("all", rotations, EVERY_US)


def on(grid: str, glyph: Glyph) -> Glyph:
    """The same picture on another grid."""
    return replace(glyph, grid=grid)


def tracks_of(machine: Machine, programme: Programme) -> TrackSet | None:
    """The programme as it is built, None where a supply is too weak for it."""
    try:
        built = seqc.built_tables(machine, programme, TablesFor.PROGRAMME, True, effort="quick")
    except ShortfallError:
        return None
    assert isinstance(built, TrackSet)
    return built


@pytest.mark.quick(3, 20)
@pytest.mark.parametrize("seed", range(120))
def test_whatever_comes_together_keeps_every_rule(seed: int) -> None:
    random = Random(seed)
    machine = random_board(random)
    if seed % 2:
        machine = with_relay_coils(random, machine)
    programme = random_programme(random, machine)
    built = tracks_of(machine, programme)
    if built is None:
        assert seed % 2, "only the coils of relays may be too much for a supply"
        return
    for tables in (built, merged(built)):
        nominal = seqc.replay(machine, tables, programme)
        assert not nominal.faults, str(machine)
        assert not nominal.unchecked
        assert not seqc.replay_bounds(machine, tables, programme).faults, str(machine)


@pytest.mark.quick(3, 20)
@pytest.mark.parametrize("seed", range(120))
def test_every_tick_shows_what_the_programme_does(seed: int) -> None:
    random = Random(seed)
    machine = random_board(random)
    programme = random_programme(random, machine)
    built = tracks_of(machine, programme)
    assert built
    assert built.ticks <= len(programme.frames)
    shown = [dict(table.shows) for table in merged(built).tables[1:]]
    for tick, shows in enumerate(shown):
        frame = programme.frames[tick % len(programme.frames)]
        assert shows == {glyph.grid: glyph.name for glyph in frame}
    still = {track.grid for track in built.tracks if track.shows == (NOTHING,)}
    assert still == {grid.name for grid in machine.grids} - set(shown[0])
