"""The bring-up as a checklist on paper."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seqc.commission.steps import CAUTIONS, FIRST, GUIDES, Guide
from seqc.report.words import folded
from seqc.schedule.commissioning import Commissioning, Named

BOX = "[ ]"


def sheet_lines(parts: Sequence[Commissioning]) -> Iterator[str]:
    """Cautions, then each step with what to do, its tables, what to watch and what may be wrong."""
    machine = parts[0].machine
    yield f"{machine.name}: bringing it up"
    yield ""
    yield "Cautions"
    yield from (f"  {part}" for line in CAUTIONS for part in folded(line, hang=2))
    yield "  Local codes decide, and licensed practice where they ask for it."
    yield from _step(FIRST, [], parts)
    named = {one.name: one for part in parts for one in part.named}.values()
    for step, guide in GUIDES.items():
        own = [one for one in named if one.step is step]
        if own:
            yield from _step(guide, own, parts)
    yield ""
    yield "Date, name"
    yield f"  {'_' * 60}"


def sheet_document(parts: Sequence[Commissioning]) -> dict[str, object]:
    """The same for programs: the cautions, and each step with its tables."""
    named = {one.name: one for part in parts for one in part.named}.values()
    return {
        "machine": parts[0].machine.name,
        "cautions": list(CAUTIONS),
        "steps": [
            {
                "step": step,
                "title": guide.title,
                "do": list(guide.do),
                "watch": list(guide.watch),
                "if_not": list(guide.wrong),
                "tables": [
                    {"name": one.name, "grid": one.grid, "length_us": one.table.length_us}
                    for one in named
                    if one.step is step
                ],
            }
            for step, guide in GUIDES.items()
        ],
    }


def _step(guide: Guide, named: Sequence[Named], parts: Sequence[Commissioning]) -> Iterator[str]:
    yield ""
    yield guide.title
    yield from (f"  {BOX} {line}" for line in guide.do)
    for one in named:
        where = _where(one, parts)
        yield f"      {BOX} {one.name}{where}, {one.table.length_us / 1e6:.1f} s"
    yield from (f"  watch   {line}" for line in guide.watch)
    yield from (f"  if not  {line}" for line in guide.wrong)


def _where(one: Named, parts: Sequence[Commissioning]) -> str:
    if len(parts) == 1:
        return ""
    numbers = [n for n, part in enumerate(parts, 1) if part.number_of(one.name) is not None]
    return f" (part {', '.join(map(str, numbers))})"
