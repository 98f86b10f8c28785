"""The designs of linkages for JSON."""

from __future__ import annotations

from typing import Any

from seqc.linkages.finding import Linkages
from seqc.linkages.offers import Offer
from seqc.linkages.signatures import linked_parts
from seqc.linkages.writing import linkages_of
from seqc.machine.parts import Lane, LinkageKind


def linkages_document(found: Linkages) -> dict[str, Any]:
    """Every design with its actuators, period and linkages."""
    wish = found.wish
    return {
        "machine": found.machine.name,
        "font": wish.glyphs[0].font,
        "glyphs": [glyph.name for glyph in wish.glyphs],
        "reserve": [glyph.name for glyph in wish.reserve],
        "shape": wish.shape.value,
        "typical": list(found.draft.typical),
        "designs": [_design(found.lane, number, o) for number, o in enumerate(found.offers, 1)],
    }


def _design(lane: Lane, number: int, offer: Offer) -> dict[str, Any]:
    design, price = offer.found, offer.price
    linkages = linkages_of(lane, design.design) or {}
    return {
        "number": number,
        "name": design.name,
        "actuators": price.actuators,
        "lower_bound_actuators": offer.lower_bound,
        "proven": offer.lower_bound is not None and design.proven,
        "relays": price.relays,
        "outputs": price.outputs,
        "passes": design.passes,
        "period_us": price.period_us,
        "pulses": price.pulses,
        "frames_planned": price.frames,
        "every_picture": design.every_picture,
        "length_pitches": design.pitches,
        "ties": design.ties,
        "straight_ties": design.straight,
        "linkages": {
            part.name: {
                "groups": size,
                "kind": linkages[part.name].kind.value,
                **_map(linkages[part.name].kind, linkages[part.name].letters),
            }
            for part, size in zip(linked_parts(lane), design.design.sizes, strict=True)
        },
    }


def _map(kind: LinkageKind, letters: tuple[str, ...]) -> dict[str, list[str]]:
    return {"map": list(letters)} if kind is LinkageKind.MAP else {}
