"""The needs of a load as if the cuts of all sections were its actuators.

Each cut is there as often as it weighs. No order of the needs takes more moves of the cuts than it
takes pulses.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from seqc.solver.passes.reduction import Component
from seqc.solver.positions import Positions
from seqc.solver.sections.cuts import END, PULSE, START, Cut, cuts_of
from seqc.solver.sections.load import SectionLoad
from seqc.solver.sections.section import Section


@dataclass(frozen=True, slots=True)
class CutBoard:
    """The needs, start and end; `masks` are the cuts of each section.

    A pulse is worth `per_pulse` of them. Those in `preset` are of sections with actuators that are
    counted at the start.
    """

    component: Component
    masks: tuple[int, ...]
    preset: int
    per_pulse: int

    @classmethod
    def of(cls, load: SectionLoad) -> CutBoard:
        """The board of a load."""
        several = [cuts_of(section) for section in load.sections]
        unit = math.gcd(PULSE, *(cut.weight for cuts in several for cut in cuts))
        masks, first = [], 0
        for cuts in several:
            width = sum(cut.weight for cut in cuts) // unit
            masks.append((1 << width) - 1 << first)
            first += width
        preset = sum(
            mask for section, mask in zip(load.sections, masks, strict=True) if section.preset
        )
        component = _component(load.sections, several, load.groups.needs, unit)
        return cls(component, tuple(masks), preset, PULSE // unit)


def _component(
    sections: Sequence[Section], several: Sequence[Sequence[Cut]], needs: int, unit: int
) -> Component:
    points = range(END, needs)
    known, thrown = dict.fromkeys(points, 0), dict.fromkeys(points, 0)
    index = 0
    for section, cuts in zip(sections, several, strict=True):
        wants = {START: START, END: END, **dict(enumerate(section.of_group[:needs].tolist()))}
        for cut in cuts:
            bit = (1 << cut.weight // unit) - 1 << index
            index += cut.weight // unit
            for point, want in wants.items():
                if want in cut.sides:
                    known[point] |= bit
                    thrown[point] |= bit if cut.sides[want] else 0
    at = {point: Positions(known[point], thrown[point]) for point in points}
    return Component(tuple((at[need],) for need in range(needs)), at[START], at[END])
