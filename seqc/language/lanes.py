"""Lanes: the stations of each, from the place that is seen back to the magazines."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from seqc.language.declared import Art
from seqc.language.feeds import read_feed
from seqc.language.limits import MAX_GATES
from seqc.language.marks import lies_on, mark_place, marked
from seqc.language.paths import Paths
from seqc.language.scope import Scope
from seqc.language.source import Offer, Source, Statement, Word
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.parts import SHOWN, Cell, Feed, Gate, Grid, Item, Lane, Path, walk_feed
from seqc.machine.wording import a_kind


@dataclass(frozen=True, slots=True)
class Stations:
    """The stations of a lane as written, each group from the bottom to the top."""

    below: tuple[Offer, ...]
    above: tuple[Offer, ...]
    feed: Offer


@dataclass(frozen=True, slots=True)
class Reading:
    """A lane statement that has the form of one: its gates from the top, and its feed.

    What is wrong has been reported, and is None. Where a gate stands twice, nothing is `sound`.
    """

    statement: Statement
    stations: Stations
    gates: tuple[Gate | None, ...]
    feed: Feed | None
    unique: bool

    @property
    def sound(self) -> bool:
        """Whether nothing is wrong with it."""
        return self.feed is not None and self.unique and None not in self.gates

    @property
    def art(self) -> Art | None:
        """The drawing of its cells; None where it is for all that no other is for."""
        return _art(self.statement)


def _art(statement: Statement) -> Art | None:
    return next((piece for piece in statement.pieces if isinstance(piece, Art)), None)


def read_lanes(source: Source, scope: Scope, paths: Paths) -> tuple[Lane, ...]:
    """The sound lanes, one for each grid, in the order of their statements."""
    taken: dict[str, Place] = {word.text: word.place for word in _guessed(source)}
    read: dict[str, list[Reading | None]] = {}
    for statement in source.of("lane"):
        name = statement.name
        reading = _read_lane(statement, scope)
        if _art(statement) is None and taken.setdefault(name.text, name.place) != name.place:
            message = f"grid `{name.text}` has two lanes for all its cells"
            related = Related(taken[name.text], "the first one")
            hint = "leave one out, tell its cells with `on { |#..#| }`, or declare a second grid"
            scope.findings.error("second-lane", message, name.place, hint, related)
            continue
        read.setdefault(name.text, []).append(reading)
    if source.whole:
        _require_lanes(taken, read, scope)
    lanes = (_assembled(several, scope, paths) for several in read.values())
    return tuple(lane for lane in lanes if lane is not None)


def _assembled(several: Sequence[Reading | None], scope: Scope, paths: Paths) -> Lane | None:
    """The lane of a grid, of the statement for most of its cells and those for some."""
    readings = [reading for reading in several if reading is not None]
    mains = [reading for reading in readings if reading.art is None]
    if not readings:
        return None
    main = (mains or readings)[0]
    grid = scope.grids.value(main.statement.name)
    feeds = [reading.feed for reading in readings if reading.feed is not None]
    ways = _paths(main.stations, feeds, paths, scope) if main.unique else None
    whole = bool(mains) and None not in several and all(one.sound for one in readings)
    if grid is None or ways is None or not whole or main.feed is None:
        return None
    own = _own_cells(readings, main, grid, scope.findings)
    if own is None:
        return None
    gates = tuple(gate for gate in main.gates if gate is not None)
    above = len(main.stations.above)
    return Lane(grid, main.feed, gates, above, ways, main.statement.place, own)


def _own_cells(
    readings: Sequence[Reading], main: Reading, grid: Grid, findings: Findings
) -> tuple[tuple[Feed, frozenset[Cell]], ...] | None:
    """What feeds the cells that lanes of their own are for; None where that is wrong."""
    title = f"the lane of `{grid.name}` on some cells"
    taken: dict[Cell, Place] = {}
    found = []
    for reading in readings:
        if reading.art is None or reading.feed is None:
            continue
        cells = marked(reading.art, title, findings)
        if cells is None or not lies_on(reading.art, title, grid, grid.cells, findings):
            return None
        same = _same_gates(reading, main, findings)
        if not same or not _untaken(reading, cells, taken, findings):
            return None
        found.append((reading.feed, cells))
    if len(taken) == len(grid.cells):
        message = f"no cell of `{grid.name}` is left for this lane"
        hint = "leave it out, and `on` with the cells from another"
        findings.error("no-cell-left", message, main.statement.name.place, hint)
        return None
    return tuple(found)


def _same_gates(reading: Reading, main: Reading, findings: Findings) -> bool:
    same_place = len(reading.stations.above) == len(main.stations.above)
    if reading.gates == main.gates and same_place:
        return True
    message = f"the lanes of grid `{main.statement.name.text}` have different gates"
    related = Related(main.statement.place, "the lane of the other cells")
    hint = "all lanes of one grid have the same gates; declare a second grid for other ones"
    findings.error("other-gates", message, reading.statement.place, hint, related)
    return False


def _untaken(
    reading: Reading, cells: frozenset[Cell], taken: dict[Cell, Place], findings: Findings
) -> bool:
    """Whether none of the cells has a lane of its own already; from now on they have."""
    assert reading.art is not None
    for cell in sorted(cells):
        first = taken.setdefault(cell, reading.art.place)
        if first != reading.art.place:
            message = f"{cell} has two lanes of its own"
            related = Related(first, "the other one")
            hint = "leave it `.` in one of them"
            findings.error("cell-twice", message, mark_place(reading.art, cell), hint, related)
            return False
    return True


def _guessed(source: Source) -> Iterator[Word]:
    """The grids whose lane is there, though broken."""
    return (statement.name for statement in source.broken("lane") if statement.names)


def _require_lanes(taken: Mapping[str, Place], read: Collection[str], scope: Scope) -> None:
    for entry in scope.grids:
        if entry.word.text not in taken and not entry.guessed:
            others = " for its other cells" if entry.word.text in read else ""
            message = f"grid `{entry.word.text}` has no lane{others}"
            hint = f"add `lane {entry.word.text} = shown <- GATE <- SELECTOR(ITEM, ITEM)`"
            scope.findings.error("missing-lane", message, entry.word.place, hint)


def _read_lane(statement: Statement, scope: Scope) -> Reading | None:
    scope.grids.value(statement.name)
    stations = _stations(statement, scope)
    if stations is None:
        _use_all(statement, scope)
        return None
    gates = [_gate(offer, scope) for offer in (*stations.above[::-1], *stations.below[::-1])]
    feed = read_feed(stations.feed, scope)
    return Reading(statement, stations, tuple(gates), feed, _each_once(stations, scope.findings))


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
    stations: Stations, feeds: Sequence[Feed], paths: Paths, scope: Scope
) -> tuple[Path, ...] | None:
    """The path after each gate above the place that is seen, from the top, for all items."""
    items = [node for feed in feeds for node in walk_feed(feed) if isinstance(node, Item)]
    words = [offer.word for offer in reversed(stations.above)]
    if not all(scope.stations.is_a("gate", word) for word in words):
        return None
    ends = [*(word.text for word in words[1:]), SHOWN]
    ways = [paths.between(*pair, items) for pair in zip(words, ends, strict=True)]
    sound = tuple(way for way in ways if way is not None)
    return sound if len(sound) == len(ways) else None
