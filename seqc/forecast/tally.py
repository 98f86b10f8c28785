"""Everything that a run takes in a time, added up."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from seqc.forecast.usage import Draw, Magazine, Run
from seqc.machine.model import Machine


@dataclass(frozen=True)
class Tally:
    """Totals of the first frames of a run, which take `running_us`.

    `forward` and `reverse` are pulses by actuator index, `turns` the turns of each shared reverser
    by its output, `drawn` the items taken from each magazine.
    """

    running_us: int
    frames: int
    forward: tuple[int, ...]
    reverse: tuple[int, ...]
    turns: dict[int, int]
    drawn: dict[Magazine, int]

    @property
    def pulses(self) -> tuple[int, ...]:
        """Pulses of either polarity by actuator index."""
        return tuple(map(sum, zip(self.forward, self.reverse, strict=True)))


def tally(machine: Machine, run: Run, duration_us: int) -> Tally:
    """What a run takes in a time; the whole programme if it ends sooner."""
    frames = run.frames_in(duration_us)
    forward: Counter[int] = Counter()
    reverse: Counter[int] = Counter()
    turns: Counter[int] = Counter()
    for use, times in run.occurrences(frames):
        for total, part in (
            (forward, use.forward),
            (reverse, use.reverse),
            (turns, use.turns),
        ):
            for index, count in part.items():
                total[index] += count * times
    indices = range(len(machine.actuators))
    return Tally(
        run.running_us(duration_us),
        frames,
        tuple(forward[index] for index in indices),
        tuple(reverse[index] for index in indices),
        dict(sorted(turns.items())),
        drawn(machine, run, frames),
    )


def drawn(machine: Machine, run: Run, frames: int) -> dict[Magazine, int]:
    """How many items each magazine gives for the first frames of a run, in the machine's order."""
    draws: Counter[Draw] = Counter()
    for use, times in run.occurrences(frames):
        for draw in use.draws:
            draws[draw] += times
    taken: Counter[Magazine] = Counter()
    for draw, times in draws.items():
        cells = machine.lane_of(draw.grid).grid.cells
        for cell, kind in zip(cells, draw.kinds, strict=True):
            if kind is not None:
                taken[Magazine(draw.grid, cell, kind)] += times
    return {magazine: taken[magazine] for magazine in magazines(machine)}


def magazines(machine: Machine) -> list[Magazine]:
    """All magazines: grids in order, in each its kinds, and of each kind the cells."""
    return [
        Magazine(lane.grid.name, cell, item.name)
        for lane in machine.lanes
        for item in lane.items
        for cell in lane.cells_with(item)
    ]
