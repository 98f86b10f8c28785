"""What the pulses of a programme draw from each supply, instant by instant: peaks and bursts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate, pairwise

from seqc.machine.electrics import MILLION
from seqc.machine.fuse import COOL_S
from seqc.machine.parts import Position
from seqc.schedule.pulses import Pulse, supply_profile
from seqc.schedule.timing import ProgrammeTiming

Profile = list[tuple[int, int]]
"""The current in microamperes from each instant on; or by how much it changes then."""


def peaks_of(timing: ProgrammeTiming) -> dict[str, int]:
    """The largest sum of currents at one instant of any tick, by the name of the supply.

    Of coils and coils of relays, taken over two ticks that follow each other, since a pulse may
    outlast its tick.
    """
    peaks: dict[str, int] = {}
    following = pairwise((*timing.ticks, *timing.ticks[:1]))
    for one, two in {(id(one), id(two)): (one, two) for one, two in following}.values():
        pulses = (*one.pulses, *(pulse.later(timing.beat_us) for pulse in two.pulses))
        for supply, profile in _profiles(pulses).items():
            highest = max((current for _, current in profile), default=0)
            peaks[supply] = max(peaks.get(supply, 0), highest)
    return peaks


def bursts_of(timing: ProgrammeTiming) -> tuple[int, dict[str, float]]:
    """How long a burst is in which a fuse doesn't cool, and its I2t by the name of the supply.

    It is as many of the heaviest ticks as begin in that time, with what a controller draws all the
    while.
    """
    ticks = -(-COOL_S * MILLION // timing.beat_us)
    profiles = [_profiles(tick.pulses) for tick in {id(t): t for t in timing.ticks}.values()]
    heaviest: dict[str, float] = {}
    for supply in timing.machine.supplies:
        always_a = supply.always_ua / MILLION
        pulsed = max((_a2s(each.get(supply.name, []), always_a) for each in profiles), default=0.0)
        steady = always_a**2 * timing.beat_us / MILLION
        heaviest[supply.name] = ticks * (pulsed + steady)
    return ticks * timing.beat_us, heaviest


def _a2s(profile: Profile, always_a: float) -> float:
    """The I2t of a profile on top of a steady current, without that of the latter alone."""
    return sum(
        ((current / MILLION + always_a) ** 2 - always_a**2) * (until - since) / MILLION
        for (since, current), (until, _) in pairwise(profile)
    )


def _profiles(pulses: Sequence[Pulse]) -> dict[str, Profile]:
    """What coils and coils of relays draw together, by the name of the supply."""
    changes: dict[str, Profile] = {}
    for supply, profile in supply_profile(pulses).items():
        levels = [0, *(current for _, current in profile)]
        steps = [after - before for before, after in pairwise(levels)]
        times = (at_us for at_us, _ in profile)
        changes[supply] = list(zip(times, steps, strict=True))
    for supply, at_us, step in _relay_changes(pulses):
        changes.setdefault(supply, []).append((at_us, step))
    return {supply: _summed(own) for supply, own in changes.items()}


def _summed(changes: Profile) -> Profile:
    ordered = sorted(changes)
    levels = accumulate(step for _, step in ordered)
    return [(at_us, level) for (at_us, _), level in zip(ordered, levels, strict=True)]


def _relay_changes(pulses: Sequence[Pulse]) -> Iterator[tuple[str, int, int]]:
    """When the coils of relays begin and end to draw, and from which supply.

    A relay is on from its operate time before the pulse to its release time before its end, and a
    reverser with it, from as long again before that to after it.
    """
    for pulse in pulses:
        drive = pulse.actuator.drive
        relay = drive.relay
        if relay is None or relay.coil_supply is None:
            continue
        lead, lag = relay.operate.most_us, relay.release.least_us
        spans = [(pulse.start_us - lead, pulse.end_us - (0 if drive.switch else lag))]
        if drive.reverser is not None and pulse.position is Position.REST:
            spans.append((pulse.start_us - 2 * lead, pulse.end_us + relay.release.most_us))
        for start, end in spans:
            yield relay.coil_supply.name, start, relay.coil_ua
            yield relay.coil_supply.name, end, -relay.coil_ua
