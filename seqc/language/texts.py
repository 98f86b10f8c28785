"""Checks on what stands in quotes."""

from __future__ import annotations

from seqc.language.limits import MAX_TEXT
from seqc.language.source import Text
from seqc.machine.findings import Findings


def check_text(text: Text, findings: Findings) -> bool:
    """Whether a text is neither empty nor too long, and has visible characters and blanks only."""
    if not text.text:
        findings.error("empty-text", "the text is empty", text.place, "write something in it")
        return False
    if len(text.text) > MAX_TEXT:
        message = f"the text has {len(text.text)} characters, more than {MAX_TEXT}"
        findings.error("text-too-long", message, text.place, "divide it")
        return False
    hidden = next((c for c in text.text if not c.isprintable()), None)
    if hidden is not None:
        message = f"the text has the character U+{ord(hidden):04X}, which can't be seen"
        findings.error("hidden-character", message, text.place, "take it out")
        return False
    return True
