"""Grids with copies: several numerals alike, each a grid of its own.

Grid `clock` with two copies becomes the grids `clock_1` and `clock_2`, its lane and its fonts go
with it. A text that is shown on it is dealt out, its first glyph to the first copy.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import TypeVar

from seqc.language.declared import FontSource, ProgrammeSource, ShowSource
from seqc.language.scope import Scope, Table, check_name
from seqc.language.source import Word
from seqc.machine.findings import Related
from seqc.machine.parts import Lane

T = TypeVar("T")


def copy_names(name: str, copies: Mapping[str, int], grid: str) -> list[str]:
    """The names of the copies of something that belongs to a grid, or its own name alone."""
    if grid not in copies:
        return [name]
    return [f"{name}_{number}" for number in range(1, copies[grid] + 1)]


def copied_lanes(lanes: Iterable[Lane], copies: Mapping[str, int]) -> tuple[Lane, ...]:
    """A lane for each copy of its grid."""
    return tuple(
        replace(lane, grid=replace(lane.grid, name=name))
        for lane in lanes
        for name in copy_names(lane.grid.name, copies, lane.grid.name)
    )


def copied_fonts(fonts: Iterable[FontSource], copies: Mapping[str, int]) -> tuple[FontSource, ...]:
    """A font for each copy of its grid."""
    return tuple(
        font._replace(name=name, grid=replace(font.grid, name=grid))
        for font in fonts
        for name, grid in zip(
            copy_names(font.name, copies, font.grid.name),
            copy_names(font.grid.name, copies, font.grid.name),
            strict=True,
        )
    )


def dealt(programme: ProgrammeSource, copies: Mapping[str, int]) -> ProgrammeSource:
    """The programme with each text dealt out over the copies of its grid."""
    shows = tuple(one for show in programme.shows for one in _dealt_show(show, copies))
    return programme._replace(shows=shows)


def _dealt_show(show: ShowSource, copies: Mapping[str, int]) -> Iterator[ShowSource]:
    grids = copy_names(show.grid, copies, show.grid)
    fonts = copy_names(show.font, copies, show.grid)
    for number, (grid, font) in enumerate(zip(grids, fonts, strict=True)):
        yield show._replace(grid=grid, font=font, first=number, step=len(grids))


def check_copies(scope: Scope) -> None:
    """Report names of copied grids that are taken or too long."""
    for name in scope.copies:
        _check(scope.grids, scope.grids.entries[name].word, name, scope)


def check_font_copies(scope: Scope) -> None:
    """Report names of copied fonts that are taken or too long."""
    for font in scope.fonts:
        if font.value is not None and font.value.grid.name in scope.copies:
            _check(scope.fonts, font.word, font.value.grid.name, scope)


def _check(names: Table[T], word: Word, grid: str, scope: Scope) -> None:
    made = copy_names(word.text, scope.copies, grid)
    check_name(word._replace(text=made[-1]), scope.findings)
    for name in made:
        other = names.entries.get(name)
        if other is not None:
            message = f"the name `{name}` is that of a copy of `{word.text}`"
            related = Related(word.place, "declared with copies here")
            scope.findings.error(
                "duplicate-name",
                message,
                other.word.place,
                f"rename `{name}`, or `{word.text}`",
                related,
            )
