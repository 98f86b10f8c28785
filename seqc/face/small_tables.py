"""The small tables with which a machine is brought up."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seqc.face.diagnosing import find_test_frames
from seqc.face.planning import QUICK, refuse, unfit
from seqc.machine.effort import EFFORTS

if TYPE_CHECKING:
    from seqc.machine.glyphs import Glyph
    from seqc.machine.model import Machine
    from seqc.schedule.commissioning import Commissioning


def commissioning(
    machine: Machine, effort: str = QUICK, *, with_test_frames: bool = True
) -> Commissioning:
    """The small tables with which a machine is brought up; any of them may follow any, at once.

    What can't be made is left out and named. To find test frames takes the longest. Raises
    ShortfallError when a supply can't feed a coil.
    """
    from seqc.schedule import commissioning as small

    refuse(unfit(machine, ()))
    frames = _test_frames(machine) if with_test_frames else ()
    return small.commissioning(machine, frames, EFFORTS[effort])


def _test_frames(machine: Machine) -> tuple[tuple[str, Glyph], ...]:
    """The pictures of the frames that reveal faults, each with the name of its table."""
    several = len(machine.grids) > 1
    return tuple(
        (f"test {number}{f' on {glyph.grid}' if several else ''}", glyph)
        for number, frame in enumerate(find_test_frames(machine).telling, 1)
        for glyph in frame
    )
