"""All that keeps the glyphs of a font out of reach, by what ties the cells together.

A gate loads cells together and a selector moves a part in the same cells: where a glyph needs the
selector in both positions among them, the two linkages together are a cause.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from seqc.machine.findings import Finding, Related, Severity
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Grid, Part
from seqc.machine.wiring import Actuator
from seqc.solver.needs import LoadGroup, needs_of
from seqc.solver.positions import Positions, bits
from seqc.solver.reach.agreement import can_all_hold, contradiction
from seqc.solver.reach.contention import Contention, contention_of, is_offered

MOST_NAMED = 8


@dataclass(frozen=True)
class Tie:
    """A metering actuator, the selector actuators in dispute, and the glyphs that suffer."""

    metering: Actuator
    selectors: tuple[Actuator, ...]
    glyphs: tuple[Glyph, ...]

    def __str__(self) -> str:
        return " and ".join(actuator.name for actuator in (self.metering, *self.selectors))


@dataclass(frozen=True)
class Proof:
    """The fewest cells of one glyph that contradict each other under one tie."""

    glyph: Glyph
    cells: tuple[Cell, ...]
    kinds: tuple[str, ...]
    tie: Tie

    def __str__(self) -> str:
        wants = " and ".join(
            f"{kind} in {cell}" for kind, cell in zip(self.kinds, self.cells, strict=True)
        )
        selectors = ", ".join(actuator.name for actuator in self.tie.selectors)
        return (
            f"glyph {self.glyph.name!r} wants {wants}, which {self.tie.metering.name} loads "
            f"together and which need opposite positions of {selectors}"
        )


@dataclass(frozen=True)
class Cause:
    """Linkages that together keep glyphs out of reach, with every tie that does."""

    parts: tuple[Part, ...]
    glyphs: tuple[Glyph, ...]
    ties: tuple[Tie, ...]
    proof: Proof

    def __str__(self) -> str:
        words = [f"{part.name} ({part.linkage})" for part in self.parts]
        return f"{', '.join(words[:-1])} and {words[-1]}"

    def finding(self, hint: str = "") -> Finding:
        """The cause as a finding at the linkage of the gate."""
        related = [
            Related(part.linkage.place, f"{part.name} moves {part.linkage}")
            for part in self.parts[1:]
        ]
        related.append(Related(self.proof.glyph.place, f"the glyph {self.proof.glyph.name!r}"))
        message = f"{named(self.glyphs)} out of reach: {self} move cells together; {self.proof}"
        place = self.parts[0].linkage.place
        return Finding(Severity.ERROR, "out-of-reach", message, place, hint, tuple(related))


@dataclass(frozen=True)
class Lacking:
    """A kind that a lane doesn't offer, and the glyphs that want it."""

    kind: str
    grid: Grid
    glyphs: tuple[Glyph, ...]

    @property
    def finding(self) -> Finding:
        """The lack as a finding at the first of the glyphs."""
        lack = f"the lane of {self.grid.name} has no {self.kind}"
        message = f"{named(self.glyphs)} out of reach: {lack}"
        hint = f"let the lane offer {self.kind}, or draw these glyphs without it"
        place = self.glyphs[0].place
        return Finding(Severity.ERROR, "out-of-reach", message, place, hint)


@dataclass(frozen=True)
class Reach:
    """Which of the glyphs of one grid are out of reach, and why."""

    grid: Grid
    glyphs: tuple[Glyph, ...]
    beyond: tuple[Glyph, ...]
    causes: tuple[Cause, ...]
    lacking: tuple[Lacking, ...]


def named(glyphs: Sequence[Glyph]) -> str:
    """How many glyphs, and the names of the first of them, with the verb: `glyph '7' is`."""
    if len(glyphs) == 1:
        return f"glyph {quoted(glyphs)} is"
    return f"{len(glyphs)} glyphs ({quoted(glyphs)}) are"


def quoted(glyphs: Sequence[Glyph]) -> str:
    """The names of the first glyphs, and how many more there are."""
    names = ", ".join(repr(glyph.name) for glyph in glyphs[:MOST_NAMED])
    more = len(glyphs) - MOST_NAMED
    return f"{names} and {more} more" if more > 0 else names


def reach_of(machine: Machine, grid: str, glyphs: Iterable[Glyph]) -> Reach:
    """What keeps glyphs of one grid out of reach: the causes, those of the most glyphs first."""
    lane = needs_of(machine, grid)
    every = tuple(dict.fromkeys(glyphs))
    lacking = tuple(_lacking(lane.lane.grid, [set(offers) for offers in lane.offers], every))
    contention = contention_of(lane, every)
    gathered: dict[tuple[str, ...], _Gathered] = {}
    for found in _ties(contention):
        key = tuple(a.part.name for a in (found.metering, *found.selectors))
        gathered.setdefault(tuple(dict.fromkeys(key)), _Gathered()).add(found)
    causes = [each.cause(contention) for each in gathered.values()]
    lost = {glyph for cause in causes for glyph in cause.glyphs}
    beyond = tuple(glyph for glyph in every if glyph in lost or not is_offered(lane, glyph))
    ordered = tuple(sorted(causes, key=lambda cause: -len(cause.glyphs)))
    return Reach(lane.lane.grid, every, beyond, ordered, lacking)


def _lacking(grid: Grid, offered: Sequence[set[str]], glyphs: Sequence[Glyph]) -> Iterator[Lacking]:
    wanting: dict[str, dict[Glyph, None]] = {}
    for glyph in glyphs:
        for kind, kinds in zip(glyph.kinds, offered, strict=True):
            if kind not in kinds:
                wanting.setdefault(kind, {})[glyph] = None
    for kind, own in wanting.items():
        yield Lacking(kind, grid, tuple(own))


@dataclass(frozen=True)
class _Found:
    """A tie with the bit set of its glyphs, and the cells that contradict in the first of them."""

    metering: Actuator
    selectors: tuple[Actuator, ...]
    mask: int
    cells: tuple[int, ...]


@dataclass
class _Gathered:
    """The ties of one cause, by their actuators."""

    ties: dict[tuple[int, ...], _Found] = field(default_factory=dict)

    def add(self, found: _Found) -> None:
        key = tuple(actuator.index for actuator in (found.metering, *found.selectors))
        known = self.ties.get(key, found)
        mask = known.mask | found.mask
        self.ties[key] = _Found(known.metering, known.selectors, mask, known.cells)

    def cause(self, contention: Contention) -> Cause:
        ties = [
            Tie(found.metering, found.selectors, _glyphs(contention, found.mask))
            for found in self.ties.values()
        ]
        founds = list(self.ties.values())
        smallest = min(range(len(founds)), key=lambda n: len(founds[n].cells))
        parts = {a.part.name: a.part for tie in ties for a in (tie.metering, *tie.selectors)}
        mask = 0
        for found in founds:
            mask |= found.mask
        glyph = ties[smallest].glyphs[0]
        cells = founds[smallest].cells
        grid = contention.lane.lane.grid
        proof = Proof(
            glyph,
            tuple(grid.cells[cell] for cell in cells),
            tuple(glyph.kinds[cell] for cell in cells),
            ties[smallest],
        )
        return Cause(tuple(parts.values()), _glyphs(contention, mask), tuple(ties), proof)


def _glyphs(contention: Contention, mask: int) -> tuple[Glyph, ...]:
    return tuple(contention.glyphs[number] for number in bits(mask))


def _ties(contention: Contention) -> Iterator[_Found]:
    for group in contention.lane.groups:
        plain = contention.unloadable(group.cells)
        for index, mask in plain.items():
            selector = contention.lane.machine.actuators[index]
            pair = _pair(contention, group, index, mask & -mask)
            yield _Found(group.actuator, (selector,), mask, pair)
        known = 0
        for mask in plain.values():
            known |= mask
        yield from _loose_ties(contention, group, contention.loose & ~known)


def _pair(contention: Contention, group: LoadGroup, index: int, glyph: int) -> tuple[int, int]:
    """The first two cells that need a selector in opposite positions in one glyph."""
    first = [
        next(cell for cell in group.cells if contention.needs[cell][side].get(index, 0) & glyph)
        for side in (0, 1)
    ]
    return min(first), max(first)


def _loose_ties(contention: Contention, group: LoadGroup, glyphs: int) -> Iterator[_Found]:
    """The ties of glyphs in which kinds come by several routes, all of them barred."""
    lane = contention.lane
    for number in bits(glyphs):
        kinds = contention.glyphs[number].kinds
        wanted = {cell: lane.offers[cell][kinds[cell]] for cell in group.cells}
        if can_all_hold(wanted.values()):
            continue
        cells = contradiction(wanted)
        selectors = _disputed([way for cell in cells for way in wanted[cell]])
        found = tuple(lane.machine.actuators[index] for index in bits(selectors))
        yield _Found(group.actuator, found, 1 << number, tuple(sorted(cells)))


def _disputed(ways: Iterable[Positions]) -> int:
    """The actuators that some ways want at rest and others thrown."""
    rest = thrown = 0
    for way in ways:
        thrown |= way.thrown
        rest |= way.known & ~way.thrown
    return rest & thrown
