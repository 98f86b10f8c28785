"""Grids that are copies of each other: what is worked out for one holds for all of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from seqc.machine.findings import NOWHERE, Finding, Severity
from seqc.machine.glyphs import Glyph, Programme, Rotation
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.tracks import NOTHING
from seqc.machine.wiring import Actuator
from seqc.machine.wording import listed, quoted
from seqc.schedule.builder import task_name
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.pulses import Pulse, in_order
from seqc.solver.plan import GridPlan, Pass
from seqc.solver.positions import Positions, bits
from seqc.solver.rotations import Move


@dataclass(frozen=True)
class Copy:
    """One grid of a kind, and what it shows; a grid that shows nothing only comes home.

    `once` are the names of what it shows, frame by frame, until it comes round.
    """

    grid: str
    actuators: tuple[Actuator, ...]
    rotation: Rotation | None
    once: tuple[str, ...]

    @cached_property
    def outputs(self) -> tuple[int, ...]:
        """The outputs that move it, in the order of its actuators."""
        drives = [actuator.drive for actuator in self.actuators]
        own = [output for actuator in self.actuators for output in actuator.outputs]
        rail = [output for drive in drives for output in (drive.reverser, drive.switch)]
        return tuple(dict.fromkeys([*own, *(each for each in rail if each is not None)]))

    @cached_property
    def moves(self) -> tuple[Move, ...]:
        """The moves that it makes: to each glyph from home, and from each glyph to the next."""
        if self.rotation is None:
            return ()
        names = [glyph.name for glyph in self.rotation.glyphs]
        pairs = dict.fromkeys(zip(self.once, (*self.once[1:], self.once[0]), strict=True))
        moves: list[Move] = [(None, name) for name in names]
        moves += [(before, name) for before, name in pairs if before != name]
        return tuple(dict.fromkeys(moves))


@dataclass
class Kind:
    """Grids that differ in their outputs alone; the first of them is worked out.

    `pictures` has the glyphs that any of them shows, by name, as glyphs of the first.
    """

    copies: list[Copy] = field(default_factory=list)
    pictures: dict[str, Glyph] = field(default_factory=dict)

    @property
    def moves(self) -> tuple[Move, ...]:
        """Every move of any copy."""
        return tuple(dict.fromkeys(move for copy in self.copies for move in copy.moves))

    def takes(self, copy: Copy) -> bool:
        """Take a copy in, unless one of its glyphs has the name of another picture."""
        glyphs = copy.rotation.glyphs if copy.rotation else ()
        if any(self.pictures.get(g.name, g).kinds != g.kinds for g in glyphs):
            return False
        self.copies.append(copy)
        first = self.copies[0].grid
        self.pictures.update((g.name, replace(g, grid=first)) for g in glyphs)
        return True


def kinds_of(machine: Machine, programme: Programme) -> tuple[Kind, ...]:
    """The grids of a machine in kinds, those that the programme doesn't show included."""
    rotations = {rotation.grid: rotation for rotation in programme.rotations}
    alike: list[tuple[object, Kind]] = []
    for lane in machine.lanes:
        name = lane.grid.name
        own = tuple(a for a in machine.actuators if a.grid.name == name)
        rotation = rotations.get(name)
        once = [glyph.name for glyph in programme.once(rotation)] if rotation else [NOTHING]
        copy = Copy(name, own, rotation, tuple(once))
        nameless = replace(lane, grid=replace(lane.grid, name="", place=NOWHERE))
        key = nameless, [(a.part, a.cells, a.drive) for a in own]
        if not any(known == key and kind.takes(copy) for known, kind in alike):
            alike.append((key, Kind()))
            alike[-1][1].takes(copy)
    return tuple(kind for _, kind in alike)


def shared_drives(machine: Machine, programme: Programme) -> Iterator[Finding]:
    """Drives whose coils wait for each other over several grids, which so aren't independent."""
    drives = {actuator.drive.parts: actuator.drive for actuator in machine.actuators}
    for parts, drive in drives.items():
        moved = (a.grid.name for a in machine.actuators if a.drive.parts == parts)
        grids = list(dict.fromkeys(moved))
        if len(grids) > 1 and rules_of(drive).channel(drive) is not None:
            shared = "a pulse switch" if drive.switch is not None else f"a {drive.kind.value}"
            message = (
                f"programme `{programme.name}` moves grids by themselves, and "
                f"{listed(quoted(grids), 'and')} share {shared}"
            )
            hint = f"give {listed(quoted(drive.parts), 'and')} a drive for each grid, or bridges"
            yield Finding(Severity.ERROR, "shared-drive", message, programme.place, hint)


class Translation:
    """What is known of the first grid of a kind, said of another one."""

    def __init__(self, first: Copy, other: Copy) -> None:
        pairs = list(zip(first.actuators, other.actuators, strict=True))
        self._actuator = {one.index: to for one, to in pairs}
        self._tasks = {task_name(one, p): task_name(to, p) for one, to in pairs for p in Position}

    def plan(self, plan: GridPlan, glyph: Glyph) -> GridPlan:
        """A plan with the actuators of the other grid, and its own glyph."""
        return replace(
            plan,
            glyph=glyph,
            passes=tuple(
                Pass(
                    tuple((self._actuator[a.index], to) for a, to in step.set),
                    self._group(step.operate),
                )
                for step in plan.passes
            ),
            dumps=tuple(map(self._group, plan.dumps)),
            transfers=tuple(map(self._group, plan.transfers)),
            start=self._positions(plan.start),
            end=self._positions(plan.end),
        )

    def pulses(self, pulses: Iterable[Pulse], machine: Machine) -> tuple[Pulse, ...]:
        """Pulses of the other grid's actuators, as a machine has them."""
        actuators = machine.actuators
        moved = (
            replace(pulse, actuator=actuators[self._actuator[pulse.actuator.index].index])
            for pulse in pulses
        )
        return in_order(moved)

    def task(self, name: str) -> str:
        """The name of a task, with the actuator of the other grid."""
        return self._tasks.get(name, name)

    def _group(self, actuators: Sequence[Actuator]) -> tuple[Actuator, ...]:
        return tuple(self._actuator[actuator.index] for actuator in actuators)

    def _positions(self, positions: Positions) -> Positions:
        def moved(mask: int) -> int:
            return sum(1 << self._actuator[index].index for index in bits(mask))

        return Positions(moved(positions.known), moved(positions.thrown))
