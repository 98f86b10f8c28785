"""Glyphs out of reach, as text for people: why, what repairs the machine, what comes nearest."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice

from seqc.machine.model import Machine
from seqc.machine.parts import Part
from seqc.report.pictures import beside, legend, marked_picture, picture, toned_signs
from seqc.report.words import folded
from seqc.solver.reach.causes import Cause, Reach, quoted
from seqc.solver.reach.moves import Regrouping
from seqc.solver.reach.nearest import Nearest
from seqc.solver.reach.new_linkage import NewLinkage
from seqc.solver.reach.remedy import Remedy
from seqc.solver.reach.repair import Repair

MOST_CONFLICTS = 6
MOST_PICTURES = 5


def reach_lines(
    machine: Machine, reach: Reach, remedy: Remedy, nearest: Iterable[Nearest]
) -> Iterator[str]:
    """All about one grid; of many conflicts and pictures only the first, then how many more.

    `nearest` goes with the glyphs beyond reach and is read no further than it is shown.
    """
    beyond = len(reach.beyond)
    yield f"grid {reach.grid.name}: {beyond} of {amount(len(reach.glyphs), 'glyph')} out of reach"
    for lack in reach.lacking:
        yield from folded(f"  {lack}, for {quoted(lack.glyphs)}")
    for cause in reach.causes:
        yield from _cause_lines(cause)
    if reach.causes:
        yield from _repair_lines(machine, remedy.repair)
        yield from _moves_lines(machine, remedy.regrouping)
    yield from _nearest_lines(machine, reach, nearest)


def amount(count: int, word: str) -> str:
    """A number of things: `1 glyph`, `2 glyphs`."""
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def _cause_lines(cause: Cause) -> Iterator[str]:
    yield f"  {cause}: {amount(len(cause.glyphs), 'glyph')}: {quoted(cause.glyphs)}"
    for conflict in cause.conflicts[:MOST_CONFLICTS]:
        yield f"    {conflict}: {amount(len(conflict.glyphs), 'glyph')}"
    if len(cause.conflicts) > MOST_CONFLICTS:
        yield f"    and {len(cause.conflicts) - MOST_CONFLICTS} conflicts more"


def _repair_lines(machine: Machine, repair: Repair) -> Iterator[str]:
    proof = "proven fewest" if repair.proven else f"no repair adds fewer than {repair.lower_bound}"
    more = f"{amount(repair.added, 'actuator')} and {amount(repair.outputs, 'output')} more"
    yield f"  repair by splitting, {more} ({proof}):"
    drawn = {link.part.name for link in repair.links if link.setting}
    for split in repair.splits:
        into = f"    split {split.actuator.name} into {len(split.parts)}"
        yield into if split.actuator.part.name in drawn else f"    {split}"
    for link in repair.links:
        yield from _link_lines(machine, link)


def _moves_lines(machine: Machine, regrouping: Regrouping) -> Iterator[str]:
    if regrouping.impossible:
        yield "  no regrouping of cells is enough without more actuators"
    elif not regrouping.moves:
        least = amount(regrouping.lower_bound, "cell")
        yield f"  to move cells to other groups takes {least} or more, if it can be enough"
    else:
        yield f"  or by moving {amount(len(regrouping.moves), 'cell')} (proven fewest):"
        yield from (f"    {move}" for move in regrouping.moves)
        for link in regrouping.links:
            yield from _link_lines(machine, link)


def _link_lines(machine: Machine, link: NewLinkage) -> Iterator[str]:
    own = f" that serves {link.grid.name} alone" if _is_shared(machine, link.part) else ""
    if not link.setting:
        yield f"    {link.keyword} {link.part.name}{own}: more groups than a letter map has letters"
        return
    yield f"    {link.keyword} {link.part.name}{own}, in place of {link.part.linkage}:"
    yield from (f"      {line}" for line in link.setting.split("\n"))


def _is_shared(machine: Machine, part: Part) -> bool:
    return sum(part in lane.selectors or part in lane.gates for lane in machine.lanes) > 1


def _nearest_lines(machine: Machine, reach: Reach, nearest: Iterable[Nearest]) -> Iterator[str]:
    yield f"  nearest pictures within reach, wrong cells in parentheses; {legend(machine)}"
    signs = toned_signs(machine)
    for near in islice(nearest, MOST_PICTURES):
        proof = "proven fewest" if near.proven else f"no picture has fewer than {near.lower_bound}"
        yield f"  {near.glyph.name!r}: {amount(len(near.wrong), 'cell')} wrong ({proof})"
        wanted = picture(reach.grid, near.glyph.kinds, signs)
        seen = marked_picture(reach.grid, near.kinds, near.glyph.kinds, signs)
        yield from beside((["  "] * len(wanted), wanted, seen))
    if len(reach.beyond) > MOST_PICTURES:
        yield f"  and {amount(len(reach.beyond) - MOST_PICTURES, 'glyph')} more"
