"""What each frame of a programme takes: pulses of the actuators, and items from the magazines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

from seqc.machine.electrics import ceil_div
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Position
from seqc.machine.wiring import Actuator
from seqc.schedule.encode import encode
from seqc.schedule.pulses import Pulse

Move = tuple[Actuator, Position]


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

    def running_us(self, duration_us: int) -> int:
        """How long the frames that begin in a time run: whole frames, and no longer than there are.

        So the mean of anything over it is that of the running machine, whatever time is asked for.
        """
        return self.frames_in(duration_us) * self.every_us

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


def frame_use(
    machine: Machine, frame: Frame, moves: Iterable[Move], pulses: Sequence[Pulse]
) -> FrameUse:
    """What a frame takes that is loaded and shown by these moves.

    A cell draws an item when its metering gate is thrown. `pulses` are those of the tick that
    changes to the frame, which tell how often shared reversers are turned.
    """
    forward: Counter[int] = Counter()
    reverse: Counter[int] = Counter()
    for actuator, position in moves:
        (forward if position is Position.THROWN else reverse)[actuator.index] += 1
    draws = tuple(_draw(machine, glyph, forward) for glyph in frame)
    drawing = tuple(draw for draw in draws if any(draw.kinds))
    return FrameUse(forward, reverse, drawing, _turns(machine, pulses))


def _turns(machine: Machine, pulses: Sequence[Pulse]) -> dict[int, int]:
    """How often the output of each shared reverser becomes active in the words of the pulses."""
    drives = (pulse.actuator.drive for pulse in pulses)
    reversers = sorted({drive.reverser for drive in drives if drive.reverser is not None})
    if not reversers:
        return {}
    idle = machine.idle_word
    active = [idle, *(word for _, word in encode(machine, pulses))]
    risen = [(before ^ idle, after ^ idle) for before, after in pairwise(active)]
    return {
        output: sum(~before & after & 1 << output != 0 for before, after in risen)
        for output in reversers
    }


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
