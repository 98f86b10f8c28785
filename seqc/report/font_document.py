"""The plans of a whole font for JSON: a document for each glyph, and the sums."""

from __future__ import annotations

from typing import Any

from seqc.report.font_text import FontTally
from seqc.report.plan_document import frame_document
from seqc.solver.fonts import GlyphResult


def glyph_document(result: GlyphResult) -> dict[str, Any]:
    """One glyph for JSON; null are a plan out of reach and times that weren't sought."""
    if result.plan is None:
        return {"glyph": result.glyph.name, "plan": None}
    (grid,) = result.plan
    times = {"load_time_us": grid.load_us, "lower_bound_load_time_us": grid.load_bound_us}
    return {"glyph": result.glyph.name, "plan": {**frame_document(result.plan), **times}}


def tally_document(tally: FontTally) -> dict[str, int]:
    """The sums for JSON."""
    return {
        "planned": tally.planned,
        "proven": tally.proven,
        "passes": tally.passes,
        "pulses": tally.pulses,
    }
