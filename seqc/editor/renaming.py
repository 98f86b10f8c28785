"""Whether a name may have another one."""

from __future__ import annotations

from pygls.exceptions import JsonRpcInvalidParams

from seqc.editor.analysis import Analysis
from seqc.editor.names import Occurrence
from seqc.language.scope import check_name
from seqc.language.source import Word
from seqc.machine.findings import Findings


def refuse(analysis: Analysis, name: Occurrence, new: str) -> None:
    """Refuse a name that is no good one, or that is taken; raises JsonRpcInvalidParams."""
    findings = Findings()
    check_name(Word(new, name.place), findings)
    for finding in findings:
        raise JsonRpcInvalidParams(f"{finding.message}: {finding.hint}")
    if any(one.keyword for one in analysis.names.of(name.space, new)):
        raise JsonRpcInvalidParams(f"the name `{new}` is taken")
