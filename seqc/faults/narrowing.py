"""Which table to play next, so that as few suspects as can be are left."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from seqc.faults.diagnosis import Diagnosis, Examiner
from seqc.machine.steptable import StepTable

MOST_FOLLOWED = 150
"""So many causes are followed at most, the likeliest ones."""


class NextTable(NamedTuple):
    """The candidate of that number, from 0, and in how many groups it parts the causes.

    `left` is the share of likelihood that is to be expected of those that are left, from 0 to 1.
    """

    number: int
    groups: int
    left: float


def next_table(
    examiner: Examiner, diagnosis: Diagnosis, candidates: Sequence[StepTable]
) -> NextTable | None:
    """The candidate that narrows the causes most; None where none parts them."""
    causes = [
        (share, faults)
        for suspect in diagnosis.suspects
        for faults, share in zip(suspect.causes, suspect.shares, strict=True)
    ]
    causes = sorted(causes, key=lambda cause: -cause[0])[:MOST_FOLLOWED]
    if len(causes) < 2:
        return None
    course = examiner.followed([faults for _, faults in causes])
    total = sum(share for share, _ in causes)
    best: NextTable | None = None
    for number, table in enumerate(candidates):
        longer = course.forked()
        longer.play(table)
        groups: dict[object, float] = {}
        for rank, (share, _) in enumerate(causes):
            look = tuple((s, mine[-1]) for s, mine, th in longer.words(rank) if mine[-1] != th[-1])
            groups[look] = groups.get(look, 0.0) + share
        left = sum((share / total) ** 2 for share in groups.values())
        if len(groups) > 1 and (best is None or left < best.left - 1e-9):
            best = NextTable(number, len(groups), left)
    return best
