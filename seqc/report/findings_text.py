"""A finding as text, with the lines of the files that it speaks of."""

from __future__ import annotations

from seqc.language.rendering import file_lines, render
from seqc.machine.findings import Finding


def finding_text(finding: Finding) -> str:
    """The finding, its source line with the place marked, and what to do about it."""
    return render(finding, file_lines)
