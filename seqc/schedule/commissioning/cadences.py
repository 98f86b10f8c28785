"""Tables of programmes, from slow to the declared cadence, and on to the least that is kept."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.machine.effort import Effort
from seqc.machine.glyphs import Programme
from seqc.machine.model import Machine
from seqc.schedule.commissioning.named import Named, Step, Trait
from seqc.schedule.commissioning.runs import Run
from seqc.solver.needs import OutOfReachError

SLOWER = (4.0, 2.0, 1.5, 1.25, 1.0)
"""The cadences at which a programme is played, over the one that is declared."""

MOST_FRAMES = 24
"""Of a longer programme only so many frames are played."""

MILLISECOND = 1_000


class Cadences:
    """Makes the tables of a machine's programmes; `left_out` names those out of reach."""

    def __init__(self, machine: Machine, effort: Effort) -> None:
        self.machine = machine
        self.left_out: list[str] = []
        self._effort = effort

    def tables(self) -> Iterator[Named]:
        """Every programme at several cadences; those above the declared one are for tuning."""
        for programme in self.machine.programmes:
            frames = programme.frames[:MOST_FRAMES]
            try:
                run = Run(self.machine, frames, self._effort)
            except OutOfReachError:
                self.left_out.append(f"programme {programme.name}: a frame is out of reach")
                continue
            if len(frames) < len(programme.frames):
                words = f"only the first {MOST_FRAMES} of its {len(programme.frames)} frames"
                self.left_out.append(f"programme {programme.name}: {words}")
            if run.period_us > programme.every_us:
                words = f"slower than declared, {run.period_us // MILLISECOND} ms at least"
                self.left_out.append(f"programme {programme.name}: {words}")
            for step, cadence_us in _cadences(programme, run.period_us):
                yield self._named(step, programme, run, cadence_us)

    def _named(self, step: Step, programme: Programme, run: Run, cadence_us: int) -> Named:
        name = f"{programme.name} every {cadence_us / MILLISECOND:.10g} ms"
        trait = Trait("programme", programme.name, "every", cadence_us)
        table = run.table(name, cadence_us)
        return Named(step, "", table, self.machine, run.shows, trait)


def _cadences(programme: Programme, period_us: int) -> Iterator[tuple[Step, int]]:
    """From slow to fast, each in whole milliseconds but the declared one."""
    told: set[int] = set()
    for scale in SLOWER:
        wanted = round(programme.every_us * scale / MILLISECOND) * MILLISECOND
        cadence = max(programme.every_us if scale == 1 else wanted, period_us)
        if cadence not in told:
            told.add(cadence)
            yield Step.PROGRAMME, cadence
    for cadence in ((programme.every_us + period_us) // 2, period_us):
        cadence = max(cadence // MILLISECOND * MILLISECOND, period_us)
        if cadence < programme.every_us and cadence not in told:
            told.add(cadence)
            yield Step.TUNING, cadence
