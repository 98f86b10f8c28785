"""Fonts as declared; their glyphs are drawn by a later stage."""

from __future__ import annotations

import pathlib

from seqc.language.declared import (
    Align,
    Art,
    DrawnGlyph,
    FontFile,
    FontSource,
    Mark,
    Seat,
)
from seqc.language.files import safe_path
from seqc.language.scope import Scope
from seqc.language.settings import Settings, read_settings
from seqc.language.source import Source, Statement, Text, Word
from seqc.language.texts import check_text
from seqc.machine.findings import Related
from seqc.machine.wording import a_kind


def declare_fonts(source: Source, scope: Scope) -> None:
    """Enter every font."""
    for statement in source.of("font"):
        settings = read_settings(statement, scope.findings)
        scope.fonts.declare(statement, _font(statement, settings, source, scope))


def _font(
    statement: Statement, settings: Settings, source: Source, scope: Scope
) -> FontSource | None:
    name, over = statement.names
    grid = scope.grids.value(over)
    marks, glyphs = _marks(settings, scope), _glyphs(settings, scope)
    file = _file(statement, settings, source, scope)
    bad = None in marks or None in glyphs or (file is None and statement.file is not None)
    if bad or grid is None or not settings.sound:
        return None
    align, seat = settings.phrase("align"), settings.phrase("seat")
    return FontSource(
        name.text,
        grid,
        tuple(mark for mark in marks if mark is not None),
        tuple(glyph for glyph in glyphs if glyph is not None),
        file,
        Align(align.split()[-1]) if align else Align.CENTRE,
        Seat(seat.split()[-1]) if seat else Seat.MIDDLE,
        settings.integer("baseline row"),
        name.place,
    )


def _marks(settings: Settings, scope: Scope) -> list[Mark | None]:
    marks: list[Mark | None] = []
    for setting in settings.all("mark"):
        match setting.values:
            case (Text() as sign, Word() as word):
                item = item_name(word, scope)
                good = check_text(sign, scope.findings)
                marks.append(Mark(sign.text, item, sign.place) if item and good else None)
    return marks


def _glyphs(settings: Settings, scope: Scope) -> list[DrawnGlyph | None]:
    glyphs: list[DrawnGlyph | None] = []
    for setting in settings.all("glyph"):
        match setting.values:
            case (Text() as name, Art() as art):
                good = check_text(name, scope.findings)
                glyphs.append(DrawnGlyph(name.text, art, name.place) if good else None)
    return glyphs


def item_name(word: Word, scope: Scope) -> str | None:
    """The name of an item; None where nothing of that name is an item, which is reported."""
    entry = scope.stations.find(word, use=False)
    if entry is None:
        return None
    if entry.kind != "item":
        message = f"`{word.text}` is {a_kind(entry.kind)}, but an item must stand here"
        related = Related(entry.word.place, "declared here")
        scope.findings.error("wrong-role", message, word.place, "name an item", related)
        return None
    return word.text


def _file(
    statement: Statement, settings: Settings, source: Source, scope: Scope
) -> FontFile | None:
    words = {key: settings.word(key) for key in ("ink", "paper")}
    items = {key: item_name(word, scope) for key, word in words.items() if word is not None}
    if statement.file is None:
        _report_without_file(settings, scope)
        return None
    folder = pathlib.Path(statement.place.file).parent
    path = safe_path(statement.file, folder, source.folders, scope.findings)
    for key, word in words.items():
        if word is None and settings.get(key) is None:
            message = f"the font is read from a file, but has no `{key}`"
            hint = "write `ink ITEM paper ITEM`: which items the dark and the light dots are"
            scope.findings.error("missing-setting", message, statement.name.place, hint)
    ink, paper = items.get("ink"), items.get("paper")
    if path is None or ink is None or paper is None:
        return None
    return FontFile(path, ink, paper, statement.file.place)


def _report_without_file(settings: Settings, scope: Scope) -> None:
    for key in ("ink", "paper"):
        setting = settings.get(key)
        if setting is not None:
            message = f"`{key}` is for a font that is read from a file"
            hint = "drawn glyphs tell their items with `mark`"
            scope.findings.error("excluded-setting", message, setting.place, hint)
