"""What each frame of a programme takes: pulses of the actuators, and items from the magazines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from seqc.machine.electrics import Drive, DriveKind, ceil_div
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Position
from seqc.machine.wiring import Actuator

Pulse = tuple[Actuator, Position]


class Magazine(NamedTuple):
    """The stock of one kind above one lane."""

    grid: str
    cell: Cell
    kind: str


@dataclass(frozen=True)
class Draw:
    """The items that one grid takes for a frame, in the order of its cells.

    None where a cell keeps its item.
    """

    grid: str
    kinds: tuple[str | None, ...]


@dataclass(frozen=True, eq=False)
class FrameUse:
    """What loading and showing one frame takes.

    `forward` and `reverse` count pulses by actuator index; `turns` counts how often each shared
    reverser is turned, by its output.
    """

    forward: Mapping[int, int]
    reverse: Mapping[int, int]
    draws: tuple[Draw, ...]
    turns: Mapping[int, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Run:
    """The frames of a programme, one every `every_us`.

    After the last comes number `repeat_from` again; without it the run ends. A use that occurs
    several times is best the same object each time.
    """

    frames: tuple[FrameUse, ...]
    every_us: int
    repeat_from: int | None = None

    @property
    def intro(self) -> tuple[FrameUse, ...]:
        """The frames that come once."""
        return self.frames[: self.repeat_from]

    @property
    def cycle(self) -> tuple[FrameUse, ...]:
        """The frames that come again and again."""
        return () if self.repeat_from is None else self.frames[self.repeat_from :]

    def frames_in(self, duration_us: int) -> int:
        """How many frames begin in a time; the first begins at once."""
        wanted = ceil_div(duration_us, self.every_us)
        return wanted if self.cycle else min(wanted, len(self.frames))

    def occurrences(self, count: int) -> list[tuple[FrameUse, int]]:
        """Each use among the first `count` frames, and how often it occurs."""
        turns, rest = (0, 0)
        if self.cycle:
            turns, rest = divmod(max(count - len(self.intro), 0), len(self.cycle))
        seen: Counter[FrameUse] = Counter(self.intro[:count])
        for use, times in Counter(self.cycle).items() if turns else ():
            seen[use] += times * turns
        seen.update(self.cycle[:rest])
        return list(seen.items())


def frame_use(machine: Machine, frame: Frame, pulses: Iterable[Pulse]) -> FrameUse:
    """What a frame takes whose pulses, in order of time, are these.

    A cell draws an item when its metering gate is thrown. A shared reverser stays turned between
    pulses of the same polarity.
    """
    forward: Counter[int] = Counter()
    reverse: Counter[int] = Counter()
    turned: dict[int, Position] = {}
    turns: Counter[int] = Counter()
    for actuator, position in pulses:
        (forward if position is Position.THROWN else reverse)[actuator.index] += 1
        reverser = _reverser(actuator.drive)
        if reverser is not None:
            before = turned.get(reverser, Position.THROWN)
            turns[reverser] += before is Position.THROWN and position is Position.REST
            turned[reverser] = position
    draws = tuple(_draw(machine, glyph, forward) for glyph in frame)
    return FrameUse(forward, reverse, tuple(draw for draw in draws if any(draw.kinds)), +turns)


def _reverser(drive: Drive) -> int | None:
    return drive.reverser if drive.kind is DriveKind.SHARED_REVERSER else None


def _draw(machine: Machine, glyph: Glyph, thrown: Mapping[int, int]) -> Draw:
    lane = machine.lane_of(glyph.grid)
    drawing = [
        machine.actuator_of(lane.metering, lane.grid, cell).index in thrown
        for cell in lane.grid.cells
    ]
    return Draw(
        glyph.grid,
        tuple(kind if drawn else None for kind, drawn in zip(glyph.kinds, drawing, strict=True)),
    )
