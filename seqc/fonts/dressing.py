"""Dresses a declared machine: draws its fonts and resolves its programmes."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence

from seqc.fonts.drawn import DrawnFont, draw_font
from seqc.fonts.text import TextError, glyph_names
from seqc.language.declared import Declared, FontSource, ProgrammeSource, ShowSource
from seqc.language.wording import amount_of
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.glyphs import Frame, Glyph, Programme
from seqc.machine.model import Machine

Texts = Mapping[ShowSource, tuple[str, ...] | None]


def dress(
    declared: Declared, findings: Findings, *, wanted: str = "", whole: bool = False
) -> Machine:
    """The machine with its fonts and programmes.

    A font has all glyphs that it draws, and of a font file those that fit on the grid; of a large
    file (`drawn.LARGE` glyphs) only those that a programme or the text `wanted` shows, unless
    `whole` asks for all. A glyph that doesn't fit is a finding only where it is shown. What a
    programme shows must be in its font, what `wanted` shows in any font.
    """
    texts = {show: _names(show.text, show.place, findings) for show in _shows(declared)}
    names = _names(wanted, declared.machine.place, findings) or ()
    fonts = {
        source.name: draw_font(
            source,
            {item.name for item in declared.machine.lane_of(source.grid.name).items},
            [*_asked(source, texts), *names],
            whole,
            findings,
        )
        for source in declared.fonts
    }
    _check_wanted(names, list(fonts.values()), declared.machine.place, findings)
    programmes = [_resolve(source, fonts, texts, findings) for source in declared.programmes]
    return dataclasses.replace(
        declared.machine,
        fonts=tuple(font.font for font in fonts.values()),
        programmes=tuple(programme for programme in programmes if programme),
    )


def _shows(declared: Declared) -> Iterable[ShowSource]:
    return (show for programme in declared.programmes for show in programme.shows)


def _names(text: str, place: Place, findings: Findings) -> tuple[str, ...] | None:
    try:
        return glyph_names(text)
    except TextError as error:
        findings.error(
            "text-brace",
            f"{error} (character {error.offset + 1} of the text)",
            place,
            "a name of several letters stands in braces, {wave}; a brace is shown by {{ or }}",
        )
        return None


def _asked(source: FontSource, texts: Texts) -> Iterable[str]:
    return (
        name for show, names in texts.items() if show.font == source.name for name in names or ()
    )


def _check_wanted(
    names: Sequence[str], fonts: Sequence[DrawnFont], place: Place, findings: Findings
) -> None:
    """Report each wanted name that no font can show: why each font can't."""
    if names and not fonts:
        findings.error("missing-glyph", "the machine has no font to show a text in", place)
    for name in dict.fromkeys(names):
        if not any(name in font.glyphs for font in fonts):
            for font in fonts:
                font.report(name, font.source.place, findings)


def _resolve(
    source: ProgrammeSource, fonts: Mapping[str, DrawnFont], texts: Texts, findings: Findings
) -> Programme | None:
    """The programme, or None when anything that it shows is at fault."""
    in_step = _in_step(source, texts, findings)
    rows = [_glyphs(show, fonts[show.font], texts[show], findings) for show in source.shows]
    if not in_step or not all(rows):
        return None
    frames = tuple(Frame(glyphs) for glyphs in zip(*rows, strict=True))
    return Programme(source.name, frames, source.every_us, source.repeat, source.place)


def _glyphs(
    show: ShowSource, font: DrawnFont, names: Sequence[str] | None, findings: Findings
) -> list[Glyph]:
    """The glyphs of a show; none when one of them is missing, which is reported."""
    if names is None:
        return []
    if not names:
        findings.error("empty-show", "there is nothing to show", show.place)
    for name in dict.fromkeys(names):
        font.report(name, show.place, findings)
    known = [font.glyphs[name] for name in names if name in font.glyphs]
    return known if len(known) == len(names) else []


def _in_step(source: ProgrammeSource, texts: Texts, findings: Findings) -> bool:
    """Whether all shows of a programme that can be read have as many glyphs as the first."""
    lengths = [(show, len(names)) for show in source.shows if (names := texts[show]) is not None]
    for show, length in lengths[1:]:
        if length != lengths[0][1]:
            findings.error(
                "shows-uneven",
                f"this shows {amount_of(length, 'glyph')}, and programme `{source.name}` shows"
                f" {lengths[0][1]} on its first grid",
                show.place,
                "the shows of a programme run in step: give each as many glyphs",
                Related(lengths[0][0].place, f"{amount_of(lengths[0][1], 'glyph')} here"),
            )
    return len({length for _, length in lengths}) <= 1
