"""The plans of a whole font for JSON: a document for each glyph, and the sums."""

from __future__ import annotations

from typing import Any

from seqc.report.font_text import FontTally
from seqc.report.plan_document import frame_document
from seqc.solver.fonts import GlyphResult


def glyph_document(result: GlyphResult) -> dict[str, Any]:
    """One glyph for JSON; `plan` is null where it is out of reach."""
    plan = frame_document(result.plan) if result.plan else None
    return {"glyph": result.glyph.name, "plan": plan}


def tally_document(tally: FontTally) -> dict[str, int]:
    """The sums for JSON."""
    return {
        "planned": tally.planned,
        "proven": tally.proven,
        "passes": tally.passes,
        "pulses": tally.pulses,
    }
