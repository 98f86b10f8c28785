"""Findings, suggestions and headings as the protocol writes them."""

from __future__ import annotations

from lsprotocol import types as lsp

from seqc.editor.completion import Kind, Suggestion
from seqc.editor.outline import Heading
from seqc.editor.positions import Positions
from seqc.machine.findings import Finding, Place, Severity

_SEVERITY = {
    Severity.ERROR: lsp.DiagnosticSeverity.Error,
    Severity.WARNING: lsp.DiagnosticSeverity.Warning,
}
_ITEM = {
    Kind.KEYWORD: lsp.CompletionItemKind.Keyword,
    Kind.EXAMPLE: lsp.CompletionItemKind.Snippet,
    Kind.SETTING: lsp.CompletionItemKind.Property,
    Kind.NAME: lsp.CompletionItemKind.Variable,
    Kind.UNIT: lsp.CompletionItemKind.Unit,
}
_SYMBOL = {
    "machine": lsp.SymbolKind.Module,
    "item": lsp.SymbolKind.Object,
    "grid": lsp.SymbolKind.Array,
    "lane": lsp.SymbolKind.Interface,
    "font": lsp.SymbolKind.String,
    "programme": lsp.SymbolKind.Event,
    "clock": lsp.SymbolKind.Event,
    "together": lsp.SymbolKind.Event,
}


def diagnostic(finding: Finding, positions: Positions, uri: str, file: str) -> lsp.Diagnostic:
    """A finding; one in an included file stands at the top, and says where it is."""
    elsewhere = finding.place.file not in ("", file)
    place = Place(file, 1, 1, 0) if elsewhere else finding.place
    where = f"{finding.place}: " if elsewhere else ""
    hint = f"\n{finding.hint}" if finding.hint else ""
    related = [
        lsp.DiagnosticRelatedInformation(lsp.Location(uri, positions.range_of(one.place)), one.note)
        for one in finding.related
        if one.place.file == file
    ]
    return lsp.Diagnostic(
        positions.range_of(place),
        f"{where}{finding.message}{hint}",
        _SEVERITY[finding.severity],
        code=finding.code,
        source="seqc",
        related_information=related,
    )


def completion_item(one: Suggestion, where: lsp.Range, rank: int) -> lsp.CompletionItem:
    """A suggestion, kept in its order."""
    text = lsp.MarkupContent(lsp.MarkupKind.Markdown, one.text) if one.text else None
    return lsp.CompletionItem(
        one.label,
        kind=_ITEM[one.kind],
        detail=one.detail or None,
        documentation=text,
        sort_text=f"{rank:04}",
        text_edit=lsp.TextEdit(where, one.insert),
    )


def symbol(heading: Heading, positions: Positions) -> lsp.DocumentSymbol:
    """A heading of the outline."""
    place = heading.place
    last = positions.lines[heading.last_line - 1]
    whole = positions.range_between(place.line, 1, heading.last_line, len(last) + 1)
    kind = _SYMBOL.get(heading.keyword, lsp.SymbolKind.Class)
    own = positions.range_of(place)
    return lsp.DocumentSymbol(heading.title, kind, whole, own, detail=heading.keyword)
