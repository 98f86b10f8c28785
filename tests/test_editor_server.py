"""The language server, driven by a client as an editor does: a machine typed from nothing."""

from __future__ import annotations

import asyncio
import sys
import time
from collections.abc import AsyncIterator, Sequence
from importlib.resources import files
from pathlib import Path
from random import Random

import pytest
import pytest_lsp
from lsprotocol import types as lsp
from pytest_lsp import ClientServerConfig, LanguageClient, client_capabilities
from random_texts import TOKEN

from seqc.editor.context import Wanted, context_before

START = [sys.executable, "-c", "from seqc.cli.main import main; main(['language-server'])"]
CLOCK = (files("seqc.examples") / "harbour_clock.lanes").read_text("utf-8")
BERTH = (files("seqc.examples") / "berth_board.lanes").read_text("utf-8")
PARTS = (files("seqc.examples") / "harbour_parts.lanes").read_text("utf-8")


@pytest_lsp.fixture(config=ClientServerConfig(server_command=START))  # type: ignore[untyped-decorator]
async def client(lsp_client: LanguageClient) -> AsyncIterator[None]:
    """A client with the abilities of a common editor."""
    params = lsp.InitializeParams(capabilities=client_capabilities("visual-studio-code"))
    await lsp_client.initialize_session(params)
    yield
    await lsp_client.shutdown_session()


class Typist:
    """Types into one text, as an editor would tell it."""

    def __init__(self, client: LanguageClient, path: Path, text: str = "") -> None:
        self.client = client
        self.uri = path.as_uri()
        self.text = text
        self.version = 1
        item = lsp.TextDocumentItem(self.uri, "lanes", 1, text)
        client.text_document_did_open(lsp.DidOpenTextDocumentParams(item))

    def write(self, text: str) -> None:
        """Let the whole text be another one."""
        self.text = text
        self.version += 1
        self.client.text_document_did_change(
            lsp.DidChangeTextDocumentParams(
                lsp.VersionedTextDocumentIdentifier(self.version, self.uri),
                [lsp.TextDocumentContentChangeWholeDocument(text)],
            )
        )

    def type(self, text: str) -> None:
        """Add to the end of the text."""
        self.write(self.text + text)

    @property
    def document(self) -> lsp.TextDocumentIdentifier:
        return lsp.TextDocumentIdentifier(self.uri)

    def at(self, words: str, offset: int = 0) -> lsp.Position:
        """The position of some words in the text."""
        index = self.text.index(words) + offset
        before = self.text[:index]
        return lsp.Position(before.count("\n"), len(before) - before.rfind("\n") - 1)

    @property
    def end(self) -> lsp.Position:
        """The position behind the text."""
        lines = self.text.split("\n")
        return lsp.Position(len(lines) - 1, len(lines[-1]))

    async def findings(self, *codes: str) -> Sequence[lsp.Diagnostic]:
        """What is found in the text once it is these codes, or whatever comes last."""
        found: Sequence[lsp.Diagnostic] = ()
        for _ in range(600):
            found = self.client.diagnostics.get(self.uri, [])
            if sorted(str(one.code) for one in found) == sorted(codes):
                return found
            await asyncio.sleep(0.05)
        raise AssertionError([one.code for one in found])

    async def offered(self, position: lsp.Position | None = None) -> list[str]:
        """The labels of what may be written at a position, or behind the text."""
        params = lsp.CompletionParams(self.document, position or self.end)
        found = await self.client.text_document_completion_async(params)
        assert isinstance(found, list)
        return [one.label for one in found]

    async def told(self, words: str, offset: int = 0) -> str:
        """The hover at some words."""
        params = lsp.HoverParams(self.document, self.at(words, offset))
        found = await self.client.text_document_hover_async(params)
        if found is None:
            return ""
        assert isinstance(found.contents, lsp.MarkupContent)
        return found.contents.value

    async def actions(self, words: str) -> list[lsp.CodeAction]:
        """What is offered at some words."""
        here = lsp.Range(self.at(words), self.at(words))
        context = lsp.CodeActionContext([])
        params = lsp.CodeActionParams(self.document, here, context)
        found = await self.client.text_document_code_action_async(params)
        return [one for one in found or [] if isinstance(one, lsp.CodeAction)]

    def apply(self, edits: list[lsp.TextEdit]) -> None:
        """Make edits, from the last one to the first."""
        lines = self.text.split("\n")
        starts = [0]
        for line in lines:
            starts.append(starts[-1] + len(line) + 1)
        text = self.text
        ordered = sorted(edits, key=lambda one: (one.range.start.line, one.range.start.character))
        for one in reversed(ordered):
            start = starts[one.range.start.line] + one.range.start.character
            end = starts[one.range.end.line] + one.range.end.character
            text = text[:start] + one.new_text + text[end:]
        self.write(text)

    def act(self, action: lsp.CodeAction) -> None:
        """Do what is offered."""
        assert action.edit is not None
        assert action.edit.changes is not None
        self.apply(list(action.edit.changes[self.uri]))


@pytest.mark.asyncio
async def test_a_machine_is_typed_from_nothing(client: LanguageClient, tmp_path: Path) -> None:
    typist = Typist(client, tmp_path / "board.lanes")
    await typist.findings("missing-machine", "missing-grid")
    assert (await typist.offered())[:3] == ["machine", "include", "item"]
    typist.type("machine board\nitem slate { tone dark }\nitem chalk { tone light ")
    await typist.findings("unclosed-block", "missing-grid")
    assert "stock" in await typist.offered()
    assert "tone" not in await typist.offered()
    typist.type("}\ngrid numeral { columns 2  rows 2 }\nlane ")
    assert await typist.offered() == ["numeral"]
    typist.type("numeral = shown <- swap <- drop <- pick(")
    assert await typist.offered() == ["slate", "chalk"]
    typist.type("slate, chalk)\nselector pick { per row  coil small }\n")
    typist.type("gate drop { per column  coil small  open 60 ms }\n")
    typist.type("gate swap { whole grid  coil ")
    assert await typist.offered() == []
    typist.type("small  open 60")
    typist.type(" ")
    assert (await typist.offered())[:2] == ["ms", "s"]
    typist.type("ms }\ncoil small { 12 V  8 ohm  pulse 40 ms  travle 18 ms }\n")
    typist.type("path drop -> swap { falls in 300 ms }\npath ")
    assert await typist.offered() == ["drop", "swap", "shown"][:2]
    typist.type("swap -> shown { falls in 200 ms }\n")
    typist.type(
        "relay card { operate 10 ms  release 6 ms without diode }\noutputs bus { bits 10 }\n"
    )
    typist.type("drive pick, drop, swap { changeover pair  relay card  from bus }\n")
    await typist.findings("unknown-setting", "missing-supply")
    (mend,) = await typist.actions("travle")
    assert mend.title == "Change to `travel`"
    typist.act(mend)
    (add,) = await typist.actions("drive pick")
    typist.act(add)
    await typist.findings("no-tolerance")
    assert "supply bench { 12 V limit 4 A margin 20 % }" in typist.text
    write, _ = await typist.actions("machine board")
    typist.act(write)
    await typist.findings()
    assert "tolerance 5 %\n" in typist.text


@pytest.mark.asyncio
async def test_hover_tells_the_reference_and_what_is_worked_out(
    client: LanguageClient, tmp_path: Path
) -> None:
    (tmp_path / "harbour_parts.lanes").write_text(PARTS, "utf-8")
    typist = Typist(client, tmp_path / "berth.lanes", BERTH)
    await typist.findings()
    assert "holds what waits above it" in await typist.told("gate     drop")
    opened = await typist.told("open 45 ms", 1)
    assert "How long it stays thrown" in opened
    assert "1 us to 60 s" in opened
    # 12 V over 15 ohm by Ohm's law.
    small = await typist.told("coil small", 6)
    assert "800 mA and 9.6 W" in small
    assert "10 actuators: pick, drop" in small
    assert "6 actuators, 4 cells each" in await typist.told("selector pick", 10)
    assert "22 of 24 outputs used" in await typist.told("outputs bus", 9)
    assert "24 magazines above grid numeral" in await typist.told("item slate", 6)
    assert "transit" in await typist.told("path drop", 1)
    assert await typist.told("# Berth") == ""


@pytest.mark.asyncio
async def test_names_are_found_and_changed_in_this_file_and_in_what_it_includes(
    client: LanguageClient, tmp_path: Path
) -> None:
    parts = tmp_path / "harbour_parts.lanes"
    parts.write_text(PARTS, "utf-8")
    typist = Typist(client, tmp_path / "berth.lanes", BERTH)
    at = typist.at("coil small", 6)
    found = await client.text_document_definition_async(lsp.DefinitionParams(typist.document, at))
    assert isinstance(found, lsp.Location)
    assert found.uri == parts.as_uri()
    assert PARTS.split("\n")[found.range.start.line].startswith("coil small")
    everywhere = await client.text_document_references_async(
        lsp.ReferenceParams(lsp.ReferenceContext(True), typist.document, at)
    )
    assert everywhere is not None
    assert len(everywhere) == 3
    renamed = await client.text_document_rename_async(lsp.RenameParams(typist.document, at, "tiny"))
    assert renamed is not None
    assert renamed.changes is not None
    assert {uri: len(edits) for uri, edits in renamed.changes.items()} == {
        typist.uri: 2,
        parts.as_uri(): 1,
    }
    slate = typist.at("item slate", 5)
    renamed = await client.text_document_rename_async(
        lsp.RenameParams(typist.document, slate, "coal")
    )
    assert renamed is not None
    assert renamed.changes is not None
    typist.apply(list(renamed.changes[typist.uri]))
    await typist.findings()
    assert "slate" not in typist.text.replace("slate or", "").replace("offers slate", "")
    for bad in ("chalk", "no name", "shown"):
        with pytest.raises(Exception, match=r"taken|name"):
            await client.text_document_rename_async(
                lsp.RenameParams(typist.document, typist.at("item coal", 5), bad)
            )


@pytest.mark.asyncio
async def test_formatting_and_outline(client: LanguageClient, tmp_path: Path) -> None:
    typist = Typist(client, tmp_path / "clock.lanes", CLOCK.replace("  coil", " coil"))
    options = lsp.FormattingOptions(4, insert_spaces=True)
    params = lsp.DocumentFormattingParams(typist.document, options)
    edits = await client.text_document_formatting_async(params)
    assert edits is not None
    typist.apply(list(edits))
    assert typist.text == CLOCK
    assert await client.text_document_formatting_async(params) is None
    symbols = await client.text_document_document_symbol_async(
        lsp.DocumentSymbolParams(typist.document)
    )
    assert symbols is not None
    named = {one.name: one for one in symbols if isinstance(one, lsp.DocumentSymbol)}
    assert list(named)[:4] == ["harbour_clock", "slate", "chalk", "numeral"]
    assert named["drop -> swap"].detail == "path"
    font = named["quay for numeral"]
    assert font.range.end.line - font.range.start.line == 14


@pytest.mark.asyncio
async def test_a_glyph_out_of_reach_is_found_and_the_repair_can_be_pasted(
    client: LanguageClient, tmp_path: Path
) -> None:
    (tmp_path / "harbour_parts.lanes").write_text(PARTS, "utf-8")
    whole = BERTH.replace("drop { per column", "drop { whole grid").replace("bits 24", "bits 40")
    typist = Typist(client, tmp_path / "berth.lanes", whole)
    found = await typist.findings("out-of-reach")
    line = typist.text.split("\n")[found[0].range.start.line]
    offered = [one for one in await typist.actions(line) if "linkage of" in one.title]
    assert offered
    typist.act(offered[0])
    await typist.findings()
    assert typist.text != whole


@pytest.mark.parametrize(
    ("text", "wanted", "words"),
    [
        ("lane n = shown <- drop <- slate ", Wanted.JOINT, ("on",)),
        ("lane n = shown <- drop <- pick(slate, chalk) o", Wanted.JOINT, ("on",)),
        ("lane n = shown <- drop <- slate on ", Wanted.NOTHING, ()),
        ("lane n = shown <- drop <- slate on { |#", Wanted.NOTHING, ()),
        ("lane n = shown <- dr", Wanted.NAME, ("shown",)),
    ],
)
def test_a_lane_may_go_on_with_its_cells(text: str, wanted: Wanted, words: tuple[str, ...]) -> None:
    found = context_before(text)
    assert (found.wanted, found.words) == (wanted, words)


@pytest.mark.asyncio
async def test_a_return_can_be_declared(client: LanguageClient, tmp_path: Path) -> None:
    typist = Typist(client, tmp_path / "a.lanes", "item slate { tone dark  stock 260 }\n")
    (offered,) = await typist.actions("item slate")
    typist.act(offered)
    assert typist.text == "item slate { tone dark  stock 260  recirculate 25 s }\n"
    assert await typist.actions("item slate") == []


@pytest.mark.thorough
@pytest.mark.asyncio
async def test_characters_beyond_one_unit_shift_nothing(
    client: LanguageClient, tmp_path: Path
) -> None:
    typist = Typist(client, tmp_path / "a.lanes", 'font f for g { mark "\U0001f40b" slat }\n')
    found = await typist.findings("missing-machine", "missing-grid", "unknown-name")
    slat = next(one for one in found if "slat" in one.message)
    units = len('font f for g { mark "\U0001f40b" '.encode("utf-16-le")) // 2
    assert slat.range == lsp.Range(lsp.Position(0, units), lsp.Position(0, units + 4))


def mutated(random: Random, text: str) -> str:
    """A text with a few words or signs lost, doubled, moved or cut off."""
    words = TOKEN.split(text), TOKEN.findall(text)
    mixed = [one for pair in zip(words[0], [*words[1], ""], strict=True) for one in pair]
    for _ in range(random.randint(1, 4)):
        at = random.randrange(len(mixed))
        match random.randrange(5):
            case 0:
                del mixed[at : at + random.randint(1, 5)]
            case 1:
                mixed.insert(at, random.choice(mixed))
            case 2:
                mixed[at] = random.choice(mixed)
            case 3:
                mixed[at] = mixed[at][: len(mixed[at]) // 2]
            case _:
                mixed.insert(at, random.choice(("{", "}", '"', "|", "<-", "\U0001f40b", "é", "9")))
        mixed = mixed or ["x"]
    return "".join(mixed)


@pytest.mark.counts
@pytest.mark.asyncio
@pytest.mark.parametrize(
    "texts",
    [
        40,
        pytest.param(400, marks=pytest.mark.thorough),
        pytest.param(2_000, marks=pytest.mark.campaign),
    ],
)
async def test_mutated_texts_leave_the_server_whole(
    texts: int, client: LanguageClient, tmp_path: Path
) -> None:
    random = Random(texts)
    typist = Typist(client, tmp_path / "clock.lanes", CLOCK)
    taken: list[float] = []
    for _ in range(texts):
        typist.write(mutated(random, CLOCK))
        lines = typist.text.split("\n")
        line = random.randrange(len(lines))
        at = lsp.Position(line, random.randint(0, len(lines[line])))
        begun = time.perf_counter()
        await typist.offered(at)
        taken.append(time.perf_counter() - begun)
        await client.text_document_hover_async(lsp.HoverParams(typist.document, at))
        await client.text_document_document_symbol_async(lsp.DocumentSymbolParams(typist.document))
        here = lsp.Range(at, at)
        context = lsp.CodeActionContext([])
        await client.text_document_code_action_async(
            lsp.CodeActionParams(typist.document, here, context)
        )
        await client.text_document_definition_async(lsp.DefinitionParams(typist.document, at))
        await client.text_document_formatting_async(
            lsp.DocumentFormattingParams(typist.document, lsp.FormattingOptions(4, True))
        )
    typist.write(CLOCK)
    await typist.findings()
    print(f"{texts} texts, the middle answer after {sorted(taken)[texts // 2]:.3f} s")
    assert not [one for one in client.log_messages if one.type == lsp.MessageType.Error]
