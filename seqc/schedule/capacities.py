"""What supplies have left for coils, once the coils of the relays that switch them are fed.

A relay draws from a while before its pulse until a while after it. Of some instants, as far apart
as pulses are long, one is within the pulse of each relay that is on at a time. So relays are at
most as many as the coils that may be fed at once, times the instants that both whiles hold.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from seqc.machine.electrics import ceil_div
from seqc.machine.wiring import Actuator
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.durations import Durations

Groups = Mapping[str, Sequence[Actuator]]
"""Actuators by the name of a supply."""


def capacities_ua(durations: Durations) -> dict[str, int]:
    """What the coils on each supply may draw at one time, by its name."""
    return _worked_out(durations)[0]


def overdrawn(durations: Durations) -> list[str]:
    """The supplies that can't feed the coils of relays beside what these switch."""
    return _worked_out(durations)[1]


def _worked_out(durations: Durations) -> tuple[dict[str, int], list[str]]:
    left = {supply.name: supply.usable_ua for supply in durations.machine.supplies}
    lacking = []
    for name, fed in fed_relays(durations).items():
        held = _with_relays(durations, name, _by_supply(fed), left)
        lacking += [] if held else [name]
        left = held or left
    return left, lacking


def fed_relays(durations: Durations) -> Groups:
    """The actuators whose relays' own coils a supply feeds."""
    found: dict[str, list[Actuator]] = {}
    for actuator in durations.machine.actuators:
        relay = actuator.drive.relay
        if relay is not None and relay.coil_supply is not None and relay.coil_ua:
            found.setdefault(relay.coil_supply.name, []).append(actuator)
    return found


def relays_ua(durations: Durations, fed: Sequence[Actuator], at_once: int = 1) -> int:
    """The most that relays draw while so many coils of each supply are pulsed at once."""
    own = sum(_own_ua(durations, group, at_once) for group in _by_supply(fed).values())
    turned = {a.drive.reverser: _coil_ua(a) for a in fed if a.drive.reverser is not None}
    return own + sum(turned.values())


def _by_supply(actuators: Sequence[Actuator]) -> Groups:
    found: dict[str, list[Actuator]] = {}
    for actuator in actuators:
        found.setdefault(actuator.drive.supply.name, []).append(actuator)
    return found


def _coil_ua(actuator: Actuator) -> int:
    assert actuator.drive.relay is not None
    return actuator.drive.relay.coil_ua


def _own_ua(durations: Durations, group: Sequence[Actuator], at_once: int) -> int:
    """What the relays of some coils draw, without reversers."""
    around_us = max(_around_us(durations, actuator) for actuator in group)
    shortest_us = min(durations.of(actuator).length_us for actuator in group)
    instants = ceil_div(around_us, shortest_us) + 1
    return min(len(group), instants * at_once) * max(map(_coil_ua, group))


def _around_us(durations: Durations, actuator: Actuator) -> int:
    """How long before and after its pulse an actuator's relays are on in all, at most."""
    lead_us = rules_of(actuator.drive).lead_us(actuator.drive, durations.clock)
    return lead_us + durations.of(actuator).clear_us


def _with_relays(
    durations: Durations, name: str, groups: Groups, left: Mapping[str, int]
) -> dict[str, int]:
    """What is left for coils where so many are pulsed at once that most is left for them.

    Nothing where the supply can't feed the relays of enough for the largest coil.
    """
    fed = [actuator for group in groups.values() for actuator in group]
    weakest = {supply: min(a.peak_ua for a in group) for supply, group in groups.items()}
    most = max(left[supply] // weakest[supply] for supply in groups)
    largest: dict[str, int] = {}
    for actuator in durations.machine.actuators:
        supply = actuator.drive.supply.name
        largest[supply] = max(largest.get(supply, 0), actuator.peak_ua)
    best: dict[str, int] = {}
    found = -1
    for at_once in range(most, 0, -1):
        relays = relays_ua(durations, fed, at_once)
        held = {s: min(left[s], (at_once + 1) * weakest[s] - 1) for s in groups}
        held[name] = min(left[name] - relays, held.get(name, left[name]))
        able = all(ua >= largest.get(supply, 0) for supply, ua in held.items())
        if able and min(held[supply] for supply in groups) > found:
            found = min(held[supply] for supply in groups)
            best = {**left, **held}
    return best
