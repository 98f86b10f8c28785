"""The designs of linkages as a table, and one of them drawn as letter maps."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.linkages.finding import Linkages
from seqc.linkages.offers import Offer
from seqc.linkages.question import Shape
from seqc.linkages.signatures import linked_parts
from seqc.linkages.writing import linkages_of, setting
from seqc.machine.wording import amount_of

HEAD = ("", "actuators", "relays", "passes", "period", "pulses", "linkages", "length", "in reach")

SHAPES = {
    Shape.ANY: "of any cells",
    Shape.CONNECTED: "of connected cells",
    Shape.LINE: "in a line",
    Shape.RUN: "in straight runs",
}


def linkages_lines(found: Linkages) -> Iterator[str]:
    """The list, a line for each design, with what its figures mean."""
    yield from _title(found)
    rows = [HEAD, *(_row(number, offer) for number, offer in enumerate(found.offers, 1))]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    proofs = ["fewest", *map(_proof, found.offers)]
    for row, proof in zip(rows, proofs, strict=True):
        cells = [text.rjust(width) for text, width in zip(row[:-1], widths, strict=False)]
        yield "  ".join([*cells, row[-1].ljust(widths[-1]), proof]).rstrip()
    yield from _notes(found)


def _title(found: Linkages) -> Iterator[str]:
    grid, wish = found.lane.grid, found.wish
    glyphs = amount_of(len(wish.glyphs), "glyph")
    reserve = f" and {len(wish.reserve)} in reserve" if wish.reserve else ""
    yield (
        f"{found.machine.name}: {glyphs}{reserve} of {wish.glyphs[0].font} on "
        f"{grid.rows} by {grid.columns} cells; linkages {SHAPES[wish.shape]}"
    )
    if found.draft.typical:
        yield f"typical, not yours: {', '.join(found.draft.typical)}"


def _row(number: int, offer: Offer) -> tuple[str, ...]:
    design, price = offer.found, offer.price
    period = "none" if price.period_us is None else f"{-(-price.period_us // 1000)} ms"
    pulses = "none" if price.pulses is None else str(price.pulses)
    return (
        str(number),
        str(price.actuators),
        str(price.relays),
        str(design.passes),
        period,
        pulses,
        " + ".join(map(str, design.design.sizes)),
        str(design.pitches),
        "every picture" if design.every_picture else "this font",
    )


def _proof(offer: Offer) -> str:
    """Whether it has the fewest actuators of all with its passes and reach."""
    words = [offer.found.name] if offer.found.name in ("plain", "declared", "cells") else []
    if offer.lower_bound is not None:
        words.append("proven" if offer.found.proven else f"lower bound {offer.lower_bound}")
    return ", ".join(words) or "not proven"


def _notes(found: Linkages) -> Iterator[str]:
    parts = " + ".join(part.name for part in linked_parts(found.lane))
    frames = found.offers[0].price.frames if found.offers else 0
    some = "" if frames == len(found.wish.glyphs) else f" ({frames} of them)"
    yield f"linkages: groups of {parts}; length: of all ties, in cell pitches"
    yield f"period: the longest, pulses: in all, with the glyphs in turn{some}, repeated"
    if len(found.offers) > 1:
        yield "next: --draw N shows a design, and with -o FILE writes its machine file"


def drawing_lines(found: Linkages, number: int) -> Iterator[str]:
    """The linkages of one design, each to be pasted into the block of its part."""
    design = found.offers[number - 1].found
    linkages = linkages_of(found.lane, design.design) or {}
    straight = f"{design.straight} of {design.ties} ties straight"
    yield f"design {number}: {amount_of(design.design.actuators, 'group')}, {straight}"
    for part in linked_parts(found.lane):
        keyword = "gate" if part is found.lane.metering else "selector"
        yield f"{keyword} {part.name} {{"
        yield from f"    {setting(linkages[part.name]).rstrip()}".split("\n")
        yield "}"
