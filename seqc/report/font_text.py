"""The plans of a whole font: a line for each glyph, and the sums."""

from __future__ import annotations

import json
from dataclasses import dataclass

from seqc.machine.wording import amount_of
from seqc.report.plan_text import passes_words, proof_words
from seqc.report.words import ms
from seqc.solver.fonts import GlyphResult


def glyph_line(result: GlyphResult) -> str:
    """Passes, pulses and, where it counts, load time of one glyph, or that it is out of reach."""
    name = json.dumps(result.glyph.name)
    if result.plan is None:
        return f"{name}: out of reach"
    (grid,) = result.plan
    counts = f"{passes_words(len(grid.passes))}, {amount_of(grid.pulses, 'pulse')}"
    load = "" if grid.load_us is None else f", load {ms(grid.load_us)}"
    return f"{name}: {counts}{load} ({proof_words(result.plan)})"


@dataclass
class FontTally:
    """Counts the glyphs of a font, what they take, and how many plans are proven best."""

    glyphs: int = 0
    planned: int = 0
    proven: int = 0
    passes: int = 0
    pulses: int = 0

    def count(self, result: GlyphResult) -> None:
        """Take one more glyph into account."""
        self.glyphs += 1
        if result.plan is not None:
            self.planned += 1
            self.proven += result.plan.proven
            self.passes += sum(len(grid.passes) for grid in result.plan)
            self.pulses += result.plan.pulses

    def line(self) -> str:
        """The sums in one line."""
        lost = self.glyphs - self.planned
        beyond = f", {lost} out of reach" if lost else ""
        return (
            f"{amount_of(self.glyphs, 'glyph')}{beyond}: {passes_words(self.passes)}, "
            f"{amount_of(self.pulses, 'pulse')}; {self.proven} plans proven best"
        )
