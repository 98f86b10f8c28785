"""Programmes as declared: which text is shown on which grid, in which font."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seqc.language.clocks import read_clock
from seqc.language.copies import dealt
from seqc.language.declared import FontSource, ProgrammeSource, ShowSource
from seqc.language.limits import MAX_CLOCKS, MAX_PROGRAMMES
from seqc.language.scope import Scope, Table
from seqc.language.settings import Settings, read_settings
from seqc.language.source import Source, Statement, Text, Word
from seqc.language.texts import check_text
from seqc.language.together import read_together
from seqc.machine.findings import Findings, Place, Related


@dataclass
class _Show:
    """A `show` with the `on` and `in` that follow it."""

    text: Text
    place: Place
    grid: Word | None = None
    font: Word | None = None


def read_programmes(source: Source, scope: Scope) -> tuple[ProgrammeSource, ...]:
    """Every sound programme, clocks among them; what is played together comes first."""
    names: Table[ProgrammeSource] = Table("programme", scope.findings, source.whole)
    clocks = 0
    few = _few(list(source.of("programme", "clock", "together")), scope.findings)
    for statement in few:
        if statement.keyword == "together":
            continue
        if statement.keyword == "programme":
            settings = read_settings(statement, scope.findings)
            names.declare(statement, _programme(statement, settings, scope))
            continue
        clocks += 1
        if clocks == MAX_CLOCKS + 1:
            message, hint = f"more than {MAX_CLOCKS} clocks", "divide the machine"
            scope.findings.error("too-many-clocks", message, statement.name.place, hint)
        names.declare(statement, read_clock(statement, scope) if clocks <= MAX_CLOCKS else None)
    single = names.values()
    together = [one for one in few if one.keyword == "together"]
    made = [(statement, read_together(statement, names, scope)) for statement in together]
    whole = [value for statement, value in made if names.declare(statement, value) and value]
    return (*whole, *single)


def _few(statements: Sequence[Statement], findings: Findings) -> Sequence[Statement]:
    """The programmes, of which too many are reported and left out."""
    if len(statements) > MAX_PROGRAMMES:
        message, hint = f"more than {MAX_PROGRAMMES} programmes", "divide the machine"
        place = statements[MAX_PROGRAMMES].name.place
        findings.error("too-many-programmes", message, place, hint)
    return statements[:MAX_PROGRAMMES]


def _programme(statement: Statement, settings: Settings, scope: Scope) -> ProgrammeSource | None:
    shows = [_resolved(show, scope) for show in _shows(settings, scope.findings)]
    known = tuple(show for show in shows if show is not None)
    once = _each_grid_once(known, scope.findings)
    if not settings.sound or len(known) < len(shows) or not once:
        return None
    repeats = settings.get("repeat") is not None
    every, name = settings.needed("every"), statement.name
    programme = ProgrammeSource(name.text, known, every, repeats, name.place)
    return dealt(programme, scope.copies)


def _shows(settings: Settings, findings: Findings) -> list[_Show]:
    """The shows of a programme; `on` and `in` belong to the show before them."""
    shows: list[_Show] = []
    for setting in settings.given:
        match setting.entry.key, setting.values:
            case "show", (Text() as text,):
                shows.append(_Show(text, setting.place))
            case ("on" | "in") as key, (Word() as word,):
                _attach(word, key, setting.place, shows, findings)
    return shows


def _attach(word: Word, key: str, place: Place, shows: list[_Show], findings: Findings) -> None:
    field = "grid" if key == "on" else "font"
    if not shows:
        message = f"`{key}` stands before any `show`"
        findings.error("misplaced-setting", message, place, "put it after its `show`")
    elif getattr(shows[-1], field) is not None:
        message = f"`{key}` is given twice for one `show`"
        related = Related(shows[-1].place, "the show")
        findings.error("repeated-setting", message, place, "leave one out", related)
    else:
        setattr(shows[-1], field, word)


def _resolved(show: _Show, scope: Scope) -> ShowSource | None:
    good = check_text(show.text, scope.findings)
    grid = _grid(show, scope)
    font = _font(show, grid, scope)
    if font is None or not good:
        return None
    return ShowSource(show.text.text, font.grid.name, font.name, show.text.place)


def _grid(show: _Show, scope: Scope) -> str | None:
    """The grid that is named, or the only one; None where the font must tell."""
    if show.grid is not None:
        scope.grids.find(show.grid)
        return show.grid.text
    names = list(scope.grids.entries)
    return names[0] if len(names) == 1 else None


def _font(show: _Show, grid: str | None, scope: Scope) -> FontSource | None:
    if show.font is not None:
        font = scope.fonts.value(show.font)
        if font is not None and grid is not None and font.grid.name != grid:
            message = f"font `{font.name}` is for grid `{font.grid.name}`, not for `{grid}`"
            related = Related(font.place, "the font")
            hint = f"name a font for `{grid}`"
            scope.findings.error("wrong-font", message, show.font.place, hint, related)
            return None
        return font
    if grid is None:
        _report_no_grid(show, scope)
        return None
    return _first_font(show, grid, scope)


def _report_no_grid(show: _Show, scope: Scope) -> None:
    if scope.grids.entries:
        message = "the show doesn't tell on which grid"
        names = list(scope.grids.entries)
        hint = f"add `on {names[0]}`, or `in` and the name of a font"
        scope.findings.error("which-grid", message, show.place, hint)


def _first_font(show: _Show, grid: str, scope: Scope) -> FontSource | None:
    """The first font for a grid."""
    fonts = [font for font in scope.fonts.values() if font.grid.name == grid]
    if fonts:
        return fonts[0]
    unsound = any(entry.value is None for entry in scope.fonts)
    if not unsound and scope.fonts.whole and grid in scope.grids.entries:
        message = f"no font is declared for grid `{grid}`"
        hint = f"add `font NAME for {grid} {{ ... }}`"
        scope.findings.error("missing-font", message, show.place, hint)
    return None


def _each_grid_once(shows: tuple[ShowSource, ...], findings: Findings) -> bool:
    first: dict[str, ShowSource] = {}
    once = True
    for show in shows:
        before = first.setdefault(show.grid, show)
        if before is not show:
            message = f"grid `{show.grid}` is given two texts in one programme"
            related = Related(before.place, "the first one")
            hint = "join the texts, or leave one out"
            findings.error("second-show", message, show.place, hint, related)
            once = False
    return once
