"""How long outputs may be active, whatever the tables say: what the players' cap enforces.

A limit belongs to a set of outputs, since a coil may be fed only while several are active together.
Times are counted in ticks of the cap's own clock.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable, TableSet
from seqc.machine.wiring import Actuator

TICK_US = 1_000
MOST_TICKS = 0xFFFE


@dataclass(frozen=True, slots=True)
class Limit:
    """The outputs in `mask` are active together for at most `most` ticks, then not for `rest`."""

    mask: int
    most: int
    rest: int

    @property
    def first_byte(self) -> int:
        """The first byte of a word that has an output of it."""
        return ((self.mask & -self.mask).bit_length() - 1) // 8


def limits_of(machine: Machine) -> tuple[Limit, ...]:
    """The limits of a machine: each polarity of each coil, as its relays and its coil bear it.

    They come in the order of the bytes of a word that they begin in.
    """
    found = {limit.mask: limit for a in machine.actuators for limit in _limits(a)}
    return tuple(sorted(found.values(), key=lambda limit: limit.first_byte))


def _limits(actuator: Actuator) -> Iterator[Limit]:
    """The times count of what switches the current: the contacts, or the pulse switch."""
    drive, coil = actuator.drive, actuator.coil
    lead_us, lag_us = drive.starts.least_us, drive.stops.most_us
    most = (coil.longest_us + lead_us - lag_us) // TICK_US
    # A tick is lost on either side, since the ticks don't start with a pulse.
    rest = (lag_us + drive.gap(coil).least_us - lead_us) // TICK_US - 2
    shared = 0 if drive.switch is None else 1 << drive.switch
    for output in actuator.outputs:
        yield Limit(1 << output | shared, min(max(most, 1), MOST_TICKS), min(max(rest, 0), 1_000))


def held_too_long(
    table_set: TableSet, limits: Sequence[Limit]
) -> Iterator[tuple[StepTable, Limit, int]]:
    """Tables in which the outputs of a limit are active too long, and for how many microseconds.

    The tables are taken one after the other, so that a pulse may span two of them.
    """
    active = [0] * len(limits)
    for table in table_set:
        ends = [*(step.at_us for step in table.steps[1:]), table.length_us]
        for step, end in zip(table.steps, ends, strict=True):
            word = step.word ^ table_set.idle_word
            for rank, limit in enumerate(limits):
                on = word & limit.mask == limit.mask
                active[rank] = active[rank] + end - step.at_us if on else 0
                if active[rank] > limit.most * TICK_US:
                    yield table, limit, active[rank]
                    active[rank] = 0
