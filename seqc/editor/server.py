"""The language server: what an editor asks, answered from the analysis of its texts."""

from __future__ import annotations

import asyncio
from importlib.metadata import version
from pathlib import Path

from lsprotocol import types as lsp
from pygls.lsp.server import LanguageServer
from pygls.uris import from_fs_path, to_fs_path
from pygls.workspace import PositionCodec

from seqc.editor import renaming
from seqc.editor.actions import OUT_OF_REACH, Action, actions, additions, repairs
from seqc.editor.analysis import Analysis
from seqc.editor.completion import suggestions
from seqc.editor.documents import Documents
from seqc.editor.hover import hover
from seqc.editor.names import Occurrence
from seqc.editor.outline import outline
from seqc.editor.positions import Positions
from seqc.editor.protocol import completion_item, diagnostic, symbol
from seqc.language.formatting import formatted
from seqc.machine.findings import Findings

PAUSE_S = 0.3
"""How long nothing is typed before what takes longer is worked out."""


class MachineServer(LanguageServer):
    """A server with the analyses of the texts that are open."""

    def __init__(self) -> None:
        super().__init__("seqc", version("seqc"))
        self.documents = Documents()
        self.waiting: dict[str, asyncio.Task[None]] = {}

    def analysis(self, uri: str) -> Analysis:
        """What is known of an open text as it stands."""
        document = self.workspace.get_text_document(uri)
        return self.documents.analysis(uri, document.source, path_of(uri))

    def positions(self, analysis: Analysis) -> Positions:
        """The positions of a text, in the units that the editor counts."""
        return Positions(analysis.lines, self.codec)

    @property
    def codec(self) -> PositionCodec:
        """How the editor counts."""
        return self.workspace.position_codec

    def publish(self, uri: str) -> None:
        """Tell what is found in a text now."""
        analysis = self.analysis(uri)
        positions = self.positions(analysis)
        found = [
            diagnostic(one, positions, uri, analysis.file)
            for one in self.documents.findings(uri, analysis)
        ]
        self.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(uri, found))

    def publish_later(self, uri: str) -> None:
        """Tell what takes longer to find once nothing is typed for a moment."""
        before = self.waiting.pop(uri, None)
        if before is not None:
            before.cancel()
        self.waiting[uri] = asyncio.ensure_future(self._deepen(uri))

    async def _deepen(self, uri: str) -> None:
        await asyncio.sleep(PAUSE_S)
        analysis = self.analysis(uri)
        loop = asyncio.get_running_loop()
        await loop.run_in_executor(None, self.documents.deepen, uri, analysis)
        self.publish(uri)


def path_of(uri: str) -> Path:
    """The file of a text, or one in this folder where it has none."""
    return Path(to_fs_path(uri) or "untitled.lanes")


server = MachineServer()


@server.feature(lsp.TEXT_DOCUMENT_DID_OPEN)
async def did_open(ls: MachineServer, params: lsp.DidOpenTextDocumentParams) -> None:
    """A text is opened."""
    ls.publish(params.text_document.uri)
    ls.publish_later(params.text_document.uri)


@server.feature(lsp.TEXT_DOCUMENT_DID_CHANGE)
async def did_change(ls: MachineServer, params: lsp.DidChangeTextDocumentParams) -> None:
    """A text is changed."""
    ls.publish(params.text_document.uri)
    ls.publish_later(params.text_document.uri)


@server.feature(lsp.TEXT_DOCUMENT_DID_CLOSE)
async def did_close(ls: MachineServer, params: lsp.DidCloseTextDocumentParams) -> None:
    """A text is closed."""
    uri = params.text_document.uri
    waiting = ls.waiting.pop(uri, None)
    if waiting is not None:
        waiting.cancel()
    ls.documents.forget(uri)
    ls.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(uri, []))


@server.feature(lsp.TEXT_DOCUMENT_HOVER)
def on_hover(ls: MachineServer, params: lsp.HoverParams) -> lsp.Hover | None:
    """What is known of the word under the pointer."""
    analysis = ls.analysis(params.text_document.uri)
    positions = ls.positions(analysis)
    found = hover(analysis, *positions.place_at(params.position))
    if found is None:
        return None
    content = lsp.MarkupContent(lsp.MarkupKind.Markdown, found.text)
    return lsp.Hover(content, positions.range_of(found.place))


@server.feature(
    lsp.TEXT_DOCUMENT_COMPLETION, lsp.CompletionOptions(trigger_characters=[" ", "{", ",", "("])
)
def on_completion(ls: MachineServer, params: lsp.CompletionParams) -> list[lsp.CompletionItem]:
    """What may be written at a place."""
    analysis = ls.analysis(params.text_document.uri)
    positions = ls.positions(analysis)
    line, column = positions.place_at(params.position)
    found = suggestions(positions.before(params.position), analysis)
    return [
        completion_item(
            one, positions.range_between(line, max(1, column - one.typed), line, column), rank
        )
        for rank, one in enumerate(found)
    ]


def _name_at(ls: MachineServer, uri: str, position: lsp.Position) -> Occurrence | None:
    analysis = ls.analysis(uri)
    line, column = ls.positions(analysis).place_at(position)
    return analysis.names.at(analysis.file, line, column)


def _location(ls: MachineServer, analysis: Analysis, uri: str, one: Occurrence) -> lsp.Location:
    """Where a name stands, in this text or in a file that it includes."""
    if one.place.file == analysis.file:
        return lsp.Location(uri, ls.positions(analysis).range_of(one.place))
    lines = ls.documents.lines_of(one.place.file)
    other = from_fs_path(str(Path(one.place.file).absolute())) or uri
    return lsp.Location(other, Positions(lines, ls.codec).range_of(one.place))


@server.feature(lsp.TEXT_DOCUMENT_DEFINITION)
def on_definition(ls: MachineServer, params: lsp.DefinitionParams) -> lsp.Location | None:
    """Where a name is declared."""
    analysis = ls.analysis(params.text_document.uri)
    name = _name_at(ls, params.text_document.uri, params.position)
    declared = analysis.names.declaration(name) if name else None
    return _location(ls, analysis, params.text_document.uri, declared) if declared else None


@server.feature(lsp.TEXT_DOCUMENT_REFERENCES)
def on_references(ls: MachineServer, params: lsp.ReferenceParams) -> list[lsp.Location]:
    """Everywhere that a name stands."""
    analysis = ls.analysis(params.text_document.uri)
    name = _name_at(ls, params.text_document.uri, params.position)
    found = analysis.names.of(name.space, name.word.text) if name else []
    if not params.context.include_declaration:
        found = [one for one in found if not one.keyword]
    return [_location(ls, analysis, params.text_document.uri, one) for one in found]


@server.feature(lsp.TEXT_DOCUMENT_PREPARE_RENAME)
def on_prepare_rename(ls: MachineServer, params: lsp.PrepareRenameParams) -> lsp.Range | None:
    """The name that would be renamed."""
    analysis = ls.analysis(params.text_document.uri)
    name = _name_at(ls, params.text_document.uri, params.position)
    if name is None or analysis.names.declaration(name) is None:
        return None
    return ls.positions(analysis).range_of(name.place)


@server.feature(lsp.TEXT_DOCUMENT_RENAME, lsp.RenameOptions(prepare_provider=True))
def on_rename(ls: MachineServer, params: lsp.RenameParams) -> lsp.WorkspaceEdit | None:
    """The edits that give a name another one, in this text and in what it includes."""
    uri = params.text_document.uri
    analysis = ls.analysis(uri)
    name = _name_at(ls, params.text_document.uri, params.position)
    if name is None:
        return None
    renaming.refuse(analysis, name, params.new_name)
    changes: dict[str, list[lsp.TextEdit]] = {}
    for one in analysis.names.of(name.space, name.word.text):
        where = _location(ls, analysis, uri, one)
        changes.setdefault(where.uri, []).append(lsp.TextEdit(where.range, params.new_name))
    return lsp.WorkspaceEdit(changes=changes)


@server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
def on_symbols(ls: MachineServer, params: lsp.DocumentSymbolParams) -> list[lsp.DocumentSymbol]:
    """The statements of a text."""
    analysis = ls.analysis(params.text_document.uri)
    return [symbol(heading, ls.positions(analysis)) for heading in outline(analysis)]


@server.feature(lsp.TEXT_DOCUMENT_FORMATTING)
def on_formatting(
    ls: MachineServer, params: lsp.DocumentFormattingParams
) -> list[lsp.TextEdit] | None:
    """The text as `seqc format` lays it out; nothing while it has a syntax error."""
    analysis = ls.analysis(params.text_document.uri)
    done = formatted(analysis.text, analysis.file, Findings())
    if done is None or done == analysis.text:
        return None
    return [lsp.TextEdit(ls.positions(analysis).whole(), done)]


@server.feature(
    lsp.TEXT_DOCUMENT_CODE_ACTION,
    lsp.CodeActionOptions([lsp.CodeActionKind.QuickFix, lsp.CodeActionKind.RefactorRewrite]),
)
def on_code_action(ls: MachineServer, params: lsp.CodeActionParams) -> list[lsp.CodeAction]:
    """What may be done about the findings on some lines, and added to an item there."""
    uri = params.text_document.uri
    analysis = ls.analysis(uri)
    lines = range(params.range.start.line + 1, params.range.end.line + 2)
    here = [one for one in ls.documents.findings(uri, analysis) if one.place.line in lines]
    found: list[lsp.CodeAction] = []
    for finding in here:
        shown = diagnostic(finding, ls.positions(analysis), uri, analysis.file)
        offered = list(actions(analysis, finding))
        if finding.code == OUT_OF_REACH:
            offered += repairs(analysis, ls.documents.lost(uri, analysis))
        found += [_action(ls, analysis, uri, one, shown) for one in offered]
    for line in lines:
        found += [_action(ls, analysis, uri, one, None) for one in additions(analysis, line)]
    return found


def _action(
    ls: MachineServer, analysis: Analysis, uri: str, action: Action, about: lsp.Diagnostic | None
) -> lsp.CodeAction:
    place = ls.positions(analysis).range_of_edit(action.edit)
    edit = lsp.WorkspaceEdit(changes={uri: [lsp.TextEdit(place, action.edit.text)]})
    kind = lsp.CodeActionKind.QuickFix if about else lsp.CodeActionKind.RefactorRewrite
    return lsp.CodeAction(action.title, kind, [about] if about else None, edit=edit)


def serve() -> None:
    """Answer on standard input and output until the editor ends."""
    server.start_io()
