"""A whole replay, and the pictures that were to be seen held against those that are."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from seqc.machine.model import Machine
from seqc.machine.parts import Cell
from seqc.machine.steptable import Step, StepTable
from seqc.simulator.faults import Event, Fault, FaultKind
from seqc.simulator.mishaps import Mishaps
from seqc.simulator.pieces import Pieces
from seqc.simulator.simulator import Picture, Seen, Simulator

Glyphs = Mapping[tuple[str, str], tuple[str, ...]]
"""Pictures by the name of their grid and their own, as step tables name them."""


MOST_FAULTS = 10_000
"""No further table is run once there are more faults than this."""


@dataclass(frozen=True, slots=True)
class Replay:
    """What came of a row of tables.

    `seen` has the pictures at the end of each table; `pulses` go by the name of the actuator,
    `closings` of contacts and switches by output, `taken` counts the items from the magazines by
    kind. `unchecked` names the tables that show a glyph which no font or mapping draws. A replay is
    `cut_short` when it has more than `MOST_FAULTS`.
    """

    faults: tuple[Fault, ...]
    seen: tuple[Seen, ...]
    pulses: Mapping[str, int]
    closings: Mapping[int, int]
    taken: Mapping[str, int]
    events: tuple[Event, ...] = ()
    unchecked: tuple[str, ...] = ()
    cut_short: bool = False


@dataclass
class _Judge:
    """Holds what is seen against what was to be seen."""

    machine: Machine
    glyphs: Glyphs | None
    homing: bool = False
    unchecked: dict[str, None] = field(default_factory=dict)

    def before(self, table: StepTable, now_us: int, pictures: Mapping[str, Picture]) -> list[Fault]:
        """Faults where a table starts from another picture than it needs."""
        faults = self._compared(FaultKind.WRONG_START, 0, table.name, table.after, pictures)
        return [fault.moved(now_us, table.name) for fault in faults]

    def after(self, table: StepTable, seen: Seen) -> list[Fault]:
        """Faults where a table ends with another picture than it shows."""
        kind, end = FaultKind.WRONG_KIND, seen.end_us - seen.start_us
        faults = self._compared(kind, end, table.name, table.shows, seen.pictures)
        grids = {grid for grid, _ in table.shows}
        unsure = [fault for fault in seen.unsure if fault.grid in grids]
        return [*(fault.moved(seen.start_us, table.name) for fault in faults), *unsure]

    def _drawn(self, grid: str, name: str) -> list[tuple[str, ...]]:
        if self.glyphs is not None and (grid, name) in self.glyphs:
            return [self.glyphs[grid, name]]
        fonts = [font for font in self.machine.fonts if font.grid.name == grid]
        return [font.by_name[name].kinds for font in fonts if name in font.by_name]

    def _compared(
        self,
        kind: FaultKind,
        into_us: int,
        table: str,
        frame: tuple[tuple[str, str], ...],
        pictures: Mapping[str, Picture],
    ) -> Iterator[Fault]:
        for grid, name in frame:
            drawn, seen = self._drawn(grid, name), pictures.get(grid)
            if not drawn or seen is None:
                self.unchecked[table] = None
            elif seen not in drawn:
                for cell, what in self._differences(grid, name, seen, drawn[0]):
                    yield Fault(kind, into_us, table, what, grid=grid, cell=cell)

    def _differences(
        self, grid: str, name: str, seen: Picture, drawn: tuple[str, ...]
    ) -> Iterator[tuple[Cell, str]]:
        cells = self.machine.lane_of(grid).grid.cells
        for cell, is_seen, wanted in zip(cells, seen, drawn, strict=True):
            if is_seen != wanted:
                shows = f"{cell} of {grid} shows {is_seen or 'nothing'}"
                yield cell, f"{shows}, where glyph {name!r} has {wanted}"


def replay(
    machine: Machine,
    tables: Iterable[StepTable],
    *,
    stock: bool = True,
    tolerance_us: int = 0,
    log: bool = False,
) -> Replay:
    """Run tables one after the other from power-on, without asking what they were to show."""
    simulator = Simulator(machine, stock=stock, tolerance_us=tolerance_us, log=log)
    return _replay(simulator, ((table, None) for table in tables), None)


def check(
    machine: Machine,
    tables: Iterable[StepTable],
    glyphs: Glyphs | None = None,
    *,
    stock: bool = True,
    tolerance_us: int = 0,
    log: bool = False,
    pieces: Pieces | None = None,
    mishaps: Mishaps | None = None,
    endless: bool = False,
    homing: bool = False,
) -> Replay:
    """Run tables from power-on and hold each picture against the glyph that the table shows.

    A glyph is taken from `glyphs`, or else from the machine's fonts for its grid; where several of
    them draw the same name, any of them will do. `pieces` tells how the times of parts come out,
    `mishaps` what goes wrong with items. Of what goes on for ever (`endless`) nothing is asked
    after the last table. Where any table may follow any (`homing`), each must leave a machine that
    is quiet and at home.
    """
    simulator = Simulator(
        machine, stock=stock, tolerance_us=tolerance_us, log=log, pieces=pieces, mishaps=mishaps
    )
    judge = _Judge(machine, glyphs, homing)
    return _replay(simulator, ((table, None) for table in tables), judge, endless)


def replay_edges(
    machine: Machine,
    edges: Iterable[tuple[int, int]],
    *,
    looks: Iterable[int] = (),
    stock: bool = True,
    tolerance_us: int = 0,
    log: bool = False,
) -> Replay:
    """Run a recording: output words with the time, in microseconds, from which each is there.

    `looks` are times at which to see the pictures; each ends one `Seen`, and an edge at that very
    time counts as before it. Where edges come after the last of them, their end is one more.
    """
    recorded = sorted(edges)
    ends = sorted(set(looks))
    if recorded and (not ends or ends[-1] < recorded[-1][0]):
        ends.append(recorded[-1][0])
    simulator = Simulator(machine, stock=stock, tolerance_us=tolerance_us, log=log)
    return _replay(simulator, _segments(recorded, ends), None)


def _segments(
    edges: list[tuple[int, int]], ends: list[int]
) -> Iterator[tuple[StepTable, int | None]]:
    start = taken = 0
    for end in ends:
        first = taken
        while taken < len(edges) and edges[taken][0] <= end:
            taken += 1
        steps = tuple(Step(at - start, word) for at, word in edges[first:taken])
        yield StepTable(f"recording until {end} us", steps, end - start), start
        start = end


def _replay(
    simulator: Simulator,
    tables: Iterable[tuple[StepTable, int | None]],
    judge: _Judge | None,
    endless: bool = False,
) -> Replay:
    faults: list[Fault] = []
    events: list[Event] = []
    parts: list[Seen] = []
    cut_short = False
    for table, at_us in tables:
        cut_short = len(faults) > MOST_FAULTS
        if cut_short:
            break
        if judge:
            faults += judge.before(table, simulator.now_us, simulator.pictures)
        seen = simulator.run(table, at_us)
        faults += seen.faults
        events += seen.events
        parts.append(seen)
        if judge:
            faults += judge.after(table, seen)
        if judge and judge.homing:
            faults += (fault.moved(seen.end_us, seen.table) for fault in simulator.not_at_home())
    faults += () if endless else simulator.finish()
    return Replay(
        tuple(faults),
        tuple(parts),
        simulator.pulses,
        simulator.closings,
        simulator.taken,
        tuple(events),
        tuple(judge.unchecked) if judge else (),
        cut_short,
    )
