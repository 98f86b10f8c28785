"""A diagnosis and test frames as text for people."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence

from seqc.faults import Diagnosis, NextTable, Suspect, TestFrames, Why
from seqc.machine.cautions import IN_SHORT
from seqc.machine.glyphs import Frame
from seqc.machine.model import Machine
from seqc.machine.signs import signs_of
from seqc.machine.wording import amount_of
from seqc.report.fault_words import WHERE_TO_LOOK, fault_words, spots_words
from seqc.report.pictures import beside, legend, picture
from seqc.report.words import folded

MOST_SUSPECTS = 8
MOST_CAUSES = 6


def diagnosis_lines(
    machine: Machine,
    diagnosis: Diagnosis,
    tables: Sequence[str],
    next_frame: tuple[str, Frame, NextTable] | None,
) -> Iterator[str]:
    """The verdict, the suspects, and what to play next."""
    yield from folded(f"{machine.name}: {_verdict(diagnosis, tables)}")
    if diagnosis.wrong:
        yield from folded(f"  wrong   {spots_words(machine, diagnosis.wrong)}", hang=8)
    for number, suspect in enumerate(diagnosis.suspects[:MOST_SUSPECTS], 1):
        yield ""
        yield from _suspect_lines(machine, number, suspect, tables)
    more = len(diagnosis.suspects) - MOST_SUSPECTS
    if more > 0:
        left = sum(suspect.share for suspect in diagnosis.suspects[MOST_SUSPECTS:])
        yield f"  and {more} more, {left:.0%} together; all of them with --json"
    if diagnosis.cut_short:
        yield from folded("  more pairs share cells than are tried; see a frame more")
    yield ""
    yield from _next_lines(machine, diagnosis, next_frame)


def _verdict(diagnosis: Diagnosis, tables: Sequence[str]) -> str:
    seen = f"in {amount_of(len(tables), 'frame')}"
    if not diagnosis.wrong:
        return f"all is as it should be {seen}"
    wrong = f"{amount_of(len(diagnosis.wrong), 'cell')} wrong {seen}"
    singles, pairs = (
        sum(len(suspect.causes) for suspect in some)
        for some in (diagnosis.singles, diagnosis.pairs)
    )
    if singles and pairs:
        found = f"{amount_of(singles, 'fault')} and {amount_of(pairs, 'pair')} would explain it"
        return f"{wrong}; {found}"
    if singles:
        return f"{wrong}; {amount_of(singles, 'fault')} would explain all of it"
    if pairs:
        return f"{wrong}; no single fault explains it, {amount_of(pairs, 'pair')} would"
    return f"{wrong}; no fault and no pair of faults explains it"


def _suspect_lines(
    machine: Machine, number: int, suspect: Suspect, tables: Sequence[str]
) -> Iterator[str]:
    head = f"{number}  {_percent(suspect.share)}"
    for words in _alternatives(machine, suspect, tables):
        yield from folded(f"{head:<9}{words}", hang=3 if not head else 12)
        head = ""
    looks = dict.fromkeys(WHERE_TO_LOOK[fault.kind] for fault in suspect.causes[0])
    for look in looks:
        yield from folded(f"{'':9}look: {look}", hang=6)


def _alternatives(machine: Machine, suspect: Suspect, tables: Sequence[str]) -> Iterator[str]:
    """The causes of a suspect, one a line; of pairs those of the first fault, then the second."""
    parts = [list(dict.fromkeys(faults)) for faults in zip(*suspect.causes, strict=True)]
    if len(suspect.causes) != math.prod(map(len, parts)):
        pairs = [[fault_words(machine, each, tables) for each in pair] for pair in suspect.causes]
        yield from _listed([" and ".join(words) for words in pairs])
        return
    for rank, part in enumerate(parts):
        words = [fault_words(machine, fault, tables) for fault in part]
        yield from _listed(words, "and " if rank else "")


def _listed(words: Sequence[str], first: str = "") -> Iterator[str]:
    yield f"{first}{words[0]}"
    yield from (f"or {each}" for each in words[1:MOST_CAUSES])
    if len(words) > MOST_CAUSES:
        yield f"or one of {len(words) - MOST_CAUSES} more that look the same"


def _percent(share: float) -> str:
    return "<1 %" if share < 0.01 else f"{share:.0%}".replace("%", " %")


def _next_lines(
    machine: Machine, diagnosis: Diagnosis, next_frame: tuple[str, Frame, NextTable] | None
) -> Iterator[str]:
    if not diagnosis.wrong:
        yield "Next: show frames that haven't been seen yet, or nothing"
        return
    if not diagnosis.suspects:
        yield from folded(
            "Next: look at these frames once more, mark what isn't sure with `?`; then look for "
            "what isn't among the faults: the supply, the file against the machine"
        )
        return
    if next_frame is None:
        yield from folded("Next: no frame tells these apart; look inside, the likeliest first")
    else:
        name, frame, narrowing = next_frame
        groups = amount_of(narrowing.groups, "group")
        yield from folded(f"Next: show {name}, which parts the suspects into {groups}")
        yield from _frame_lines(machine, frame)
    yield from folded(IN_SHORT, hang=2)


def _frame_lines(machine: Machine, frame: Frame) -> Iterator[str]:
    grids = {grid.name: grid for grid in machine.grids}
    blocks = [picture(grids[g.grid], g.kinds, signs_of(machine)) for g in frame]
    yield from (f"  {line}" for line in beside(blocks))


def test_frame_lines(machine: Machine, found: TestFrames) -> Iterator[str]:
    """The test frames as a file to be filled in: comments, and the pictures that should be seen."""
    yield from _commented(_summary(machine, found))
    yield from _hidden_lines(found)
    yield from _commented(
        "Show these frames one after the other, from home on. Below each is what should be seen. "
        "Change what looks otherwise: ? where nobody looked, _ for nothing there. Then run "
        "`seqc diagnose` with this file."
    )
    yield f"# {legend(machine)}"
    for number, frame in enumerate(found.telling, 1):
        for glyph in frame:
            grid = machine.lane_of(glyph.grid).grid
            on = f" on {grid.name}" if len(machine.grids) > 1 else ""
            yield ""
            yield f"test {number}{on}"
            signs = signs_of(machine)
            at = dict(zip(grid.cells, glyph.kinds, strict=True))
            for row in range(1, grid.rows + 1):
                columns = range(1, grid.columns + 1)
                marks = (signs.get(at.get((row, column), ""), "-") for column in columns)  # type: ignore[call-overload]
                yield f"    |{''.join(marks)}|"


def _summary(machine: Machine, found: TestFrames) -> str:
    count = sum(len(group) for group in found.alike)
    revealing = len(found.revealing)
    same = found.revealing == found.telling[:revealing]
    few = "the first" if revealing == 1 else f"the first {revealing}"
    few = few if same else f"{revealing} others, with --json,"
    return (
        f"{machine.name}: {amount_of(len(found.telling), 'frame')} show {count:,} faults and tell "
        f"{len(found.alike):,} groups of them apart (no fewer than {found.least_telling} can); "
        f"{few} {'shows' if revealing == 1 else 'show'} them without telling (no fewer than "
        f"{found.least_revealing} can)."
    )


def _hidden_lines(found: TestFrames) -> Iterator[str]:
    """How many faults no frame shows, by their kinds, and why."""
    reasons = {
        Why.SOONER_OR_LATER: "Only to be seen while the picture changes, or where other items were "
        "there before",
        Why.UNSEEN: "Not to be seen at all in these frames",
    }
    for why, words in reasons.items():
        kinds = Counter(each.fault.kind for each in found.hidden if each.why is why)
        if kinds:
            counts = ", ".join(f"{count} {kind.replace('-', ' ')}" for kind, count in kinds.items())
            yield from _commented(f"{words}: {counts}.")


def _commented(text: str) -> Iterator[str]:
    for line in folded(text, hang=0):
        yield f"# {line}"
