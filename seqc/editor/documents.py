"""The analyses of the texts that are open, each kept until its text changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import seqc
from seqc.editor.analysis import Analysis, analyse, deeper
from seqc.language.rendering import file_lines
from seqc.machine.findings import Finding


@dataclass
class _Open:
    """An analysis, and what was found later on, if it was looked for already."""

    analysis: Analysis
    later: tuple[Finding, ...] = ()
    lost: tuple[seqc.Beyond, ...] = ()


class Documents:
    """What is known of each open text, by its address."""

    def __init__(self) -> None:
        self._open: dict[str, _Open] = {}

    def analysis(self, uri: str, text: str, path: Path) -> Analysis:
        """The analysis of a text as it stands."""
        known = self._open.get(uri)
        if known is None or known.analysis.text != text:
            known = self._open[uri] = _Open(analyse(text, path))
        return known.analysis

    def deepen(self, uri: str, analysis: Analysis) -> None:
        """Look for what takes longer, unless the text has changed in the meantime."""
        found, lost = deeper(analysis)
        known = self._open.get(uri)
        if known is not None and known.analysis is analysis:
            known.later, known.lost = found, lost

    def findings(self, uri: str, analysis: Analysis) -> list[Finding]:
        """All that is found in a text so far, in order of place."""
        known = self._open.get(uri)
        later = known.later if known and known.analysis is analysis else ()
        return sorted((*analysis.findings, *later), key=lambda one: one.place)

    def lost(self, uri: str, analysis: Analysis) -> tuple[seqc.Beyond, ...]:
        """The grids with glyphs out of reach, as far as they are known."""
        known = self._open.get(uri)
        return known.lost if known and known.analysis is analysis else ()

    def forget(self, uri: str) -> None:
        """Let a text go that is closed."""
        self._open.pop(uri, None)

    def lines_of(self, file: str) -> Sequence[str]:
        """The lines of a file that a text includes."""
        return file_lines(file) or [""]
