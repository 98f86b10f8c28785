"""Lanes: the stations of each, from the place that is seen back to the magazines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.language.feeds import read_feed
from seqc.language.limits import MAX_GATES
from seqc.language.paths import Paths
from seqc.language.scope import Scope
from seqc.language.source import Offer, Source, Statement, Word
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.parts import SHOWN, Feed, Gate, Item, Lane, Path, walk_feed
from seqc.machine.wording import a_kind


@dataclass(frozen=True, slots=True)
class Stations:
    """The stations of a lane as written, each group from the bottom to the top."""

    below: tuple[Offer, ...]
    above: tuple[Offer, ...]
    feed: Offer


def read_lanes(source: Source, scope: Scope, paths: Paths) -> tuple[Lane, ...]:
    """The sound lanes, one for each grid, in the order of their statements."""
    lanes: list[Lane] = []
    taken: dict[str, Place] = {word.text: word.place for word in _guessed(source)}
    for statement in source.of("lane"):
        lane = _read_lane(statement, scope, paths)
        first = taken.setdefault(statement.name.text, statement.name.place)
        if first != statement.name.place:
            message = f"grid `{statement.name.text}` has two lanes"
            related = Related(first, "the first one")
            hint = "leave one out, or declare a second grid"
            scope.findings.error("second-lane", message, statement.name.place, hint, related)
        elif lane is not None:
            lanes.append(lane)
    if source.whole:
        _require_lanes(taken, scope)
    return tuple(lanes)


def _guessed(source: Source) -> Iterator[Word]:
    """The grids whose lane is there, though broken."""
    return (statement.name for statement in source.broken("lane") if statement.names)


def _require_lanes(taken: dict[str, Place], scope: Scope) -> None:
    for entry in scope.grids:
        if entry.word.text not in taken and not entry.guessed:
            message = f"grid `{entry.word.text}` has no lane"
            hint = f"add `lane {entry.word.text} = shown <- GATE <- SELECTOR(ITEM, ITEM)`"
            scope.findings.error("missing-lane", message, entry.word.place, hint)


def _read_lane(statement: Statement, scope: Scope, paths: Paths) -> Lane | None:
    grid = scope.grids.value(statement.name)
    stations = _stations(statement, scope)
    if stations is None:
        _use_all(statement, scope)
        return None
    gates = [_gate(offer, scope) for offer in (*stations.above[::-1], *stations.below[::-1])]
    feed = read_feed(stations.feed, scope)
    unique = _each_once(stations, scope.findings)
    ways = _paths(stations, feed, paths, scope) if unique else None
    if grid is None or feed is None or ways is None or not unique or None in gates:
        return None
    sound = tuple(gate for gate in gates if gate is not None)
    return Lane(grid, feed, sound, len(stations.above), ways, statement.place)


def _use_all(statement: Statement, scope: Scope) -> None:
    """Let every name of a lane count as used, though nothing is known of their roles."""
    waiting = list(statement.stations)
    while waiting:
        offer = waiting.pop()
        waiting += offer.inputs or ()
        if (entry := scope.stations.entries.get(offer.word.text)) is not None:
            entry.used = True


def _stations(statement: Statement, scope: Scope) -> Stations | None:
    """The stations in their groups, or None where the lane has not the form of one."""
    offers, findings = statement.stations, scope.findings
    shown = [index for index, offer in enumerate(offers) if offer.word.text == SHOWN]
    if len(shown) != 1:
        _report_shown(statement, shown, findings)
        return None
    at = shown[0]
    above = offers[at + 1 : -1]
    if offers[at + 1 :] and scope.stations.is_a("gate", offers[-1].word):
        read_feed(offers[-1], scope)
        return None
    if not above:
        message = f"no gate stands above `{SHOWN}`"
        hint = f"write `{SHOWN} <- GATE <- SELECTOR(ITEM, ITEM)`"
        findings.error("missing-gate", message, offers[at].word.place, hint)
        return None
    if len(offers) > MAX_GATES:
        message = f"more than {MAX_GATES} stations in one lane"
        findings.error("too-many-gates", message, statement.place, "leave some out")
        return None
    return Stations(offers[:at], above, offers[-1])


def _report_shown(statement: Statement, shown: Sequence[int], findings: Findings) -> None:
    if not shown:
        message = f"lane `{statement.name.text}` doesn't tell which place is seen"
        hint = f"write `{SHOWN}` at its place, such as `{SHOWN} <- GATE <- SELECTOR(ITEM, ITEM)`"
        findings.error("missing-shown", message, statement.name.place, hint)
        return
    first, second = (statement.stations[index].word.place for index in shown[:2])
    message = f"`{SHOWN}` stands twice in one lane"
    hint = "leave one out"
    findings.error("second-shown", message, second, hint, Related(first, "first here"))


def _gate(offer: Offer, scope: Scope) -> Gate | None:
    """The gate of a station between the feed and the place that is seen, or below it."""
    entry = scope.stations.find(offer.word)
    if entry is None:
        return None
    name = offer.word.text
    if entry.kind != "gate":
        message = f"`{name}` is {a_kind(entry.kind)}, but a gate must stand here"
        hint = "items and selectors stand at the end of a lane, as its feed"
        related = Related(entry.word.place, "declared here")
        scope.findings.error("wrong-role", message, offer.word.place, hint, related)
        return None
    if offer.inputs is not None:
        message = f"`{name}` is a gate and has no inputs to choose from"
        hint = "leave out the brackets and what is in them"
        scope.findings.error("gate-with-inputs", message, offer.word.place, hint)
    return entry.value if isinstance(entry.value, Gate) else None


def _each_once(stations: Stations, findings: Findings) -> bool:
    """Whether no gate stands twice in a lane."""
    first: dict[str, Place] = {}
    unique = True
    for offer in (*stations.below, *stations.above):
        before = first.setdefault(offer.word.text, offer.word.place)
        if before != offer.word.place:
            message = f"`{offer.word.text}` stands twice in one lane"
            related = Related(before, "first here")
            hint = "declare a second gate for the second place"
            findings.error("repeated-part", message, offer.word.place, hint, related)
            unique = False
    return unique


def _paths(
    stations: Stations, feed: Feed | None, paths: Paths, scope: Scope
) -> tuple[Path, ...] | None:
    """The path after each gate above the place that is seen, from the top."""
    items = [node for node in walk_feed(feed) if isinstance(node, Item)] if feed else []
    words = [offer.word for offer in reversed(stations.above)]
    if not all(scope.stations.is_a("gate", word) for word in words):
        return None
    ends = [*(word.text for word in words[1:]), SHOWN]
    ways = [paths.between(*pair, items) for pair in zip(words, ends, strict=True)]
    sound = tuple(way for way in ways if way is not None)
    return sound if len(sound) == len(ways) else None
