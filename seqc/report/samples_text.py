"""What drawn machines and the bounds of all of them do to step tables, for people."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.language.rendering import plain
from seqc.machine.model import Machine
from seqc.machine.wording import amount_of
from seqc.simulator import Fault, Replay, Samples, Weakness

MOST_SHOWN = 12


def samples_lines(
    machine: Machine, once: Samples, anew: Samples, within: Replay, seed: int
) -> Iterator[str]:
    """The verdict, the share of machines with any fault, and what breaks first."""
    holds = not (once.faulty or anew.faulty or within.faults)
    verdict = "holds for every draw of parts" if holds else "some draws of parts break it"
    yield f"{plain(machine.name)}: {verdict}"
    yield f"  drawn once a piece        {_share(once)} with a fault (seed {seed})"
    yield f"  drawn anew at each use    {_share(anew)} with a fault"
    broken = amount_of(len(within.faults), "fault")
    yield f"  any draw, by the bounds   {broken} that could be"
    for title, samples in (("once a piece", once), ("anew at each use", anew)):
        yield from _weaknesses(title, samples)
    if within.faults and not (once.faulty or anew.faulty):
        yield "What could be, though it was not drawn"
        yield from (f"  {plain(str(fault))}" for fault in within.faults[:MOST_SHOWN])


def _share(samples: Samples) -> str:
    return f"{samples.faulty} of {amount_of(samples.count, 'machine')}"


def _weaknesses(title: str, samples: Samples) -> Iterator[str]:
    """The rules that break first in some machines; what follows from them isn't told."""
    first = [each for each in samples.weaknesses if each.first_in]
    if not first:
        return
    yield f"What breaks first, drawn {title}"
    for each in first[:MOST_SHOWN]:
        yield f"  {_counts(each)}"
        yield f"    worst: {plain(str(each.deepest))}"
    if len(first) > MOST_SHOWN:
        yield f"  and {len(first) - MOST_SHOWN} more"


def _counts(each: Weakness) -> str:
    name = f"{each.kind} {plain(each.about)}".rstrip()
    words = f"{name}: first in {each.first_in}, in {amount_of(each.machines, 'machine')} at all"
    return f"{words}, by up to {_ms(each.deepest)}" if each.deepest.by_us else words


def _ms(fault: Fault) -> str:
    return f"{fault.by_us / 1000:g} ms"
