"""Dresses a declared machine: draws its fonts and resolves its programmes."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial

from seqc.fonts.drawn import DrawnFont, draw_font
from seqc.fonts.text import Span, TextError, glyph_spans
from seqc.language.declared import Declared, FontSource, ProgrammeSource, ShowSource
from seqc.language.limits import MAX_ROUND
from seqc.machine.clock import DAY_S, MILLION
from seqc.machine.findings import NOWHERE, Findings, Place, Related
from seqc.machine.glyphs import Frame, Glyph, Programme, Rotation
from seqc.machine.model import Machine
from seqc.machine.tracks import Quiet
from seqc.machine.wording import amount_of

MINUTE_US = 60 * MILLION

Texts = Mapping[ShowSource, tuple[Span, ...]]


def dress(
    declared: Declared, findings: Findings, *, wanted: str = "", whole: bool = False
) -> Machine:
    """The machine with its fonts and programmes.

    A font has all glyphs that it draws, and of a font file those that fit on the grid; of a large
    file (`drawn.LARGE` glyphs) only those that a programme or the text `wanted` shows, unless
    `whole` asks for all. A glyph that doesn't fit is a finding only where it is shown. What a
    programme shows must be in its font, what `wanted` shows in any font.
    """
    texts = {
        show: _spans(show.text, partial(_place_in, show), findings)[show.first :: show.step]
        for programme in declared.programmes
        for show in programme.shows
    }
    spans = _spans(wanted, lambda *_: NOWHERE, findings)
    names = tuple(span.name for span in spans)
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


def _spans(
    text: str, place_of: Callable[[int, int], Place], findings: Findings
) -> tuple[Span, ...]:
    """The glyph names of a text; none where a brace is at fault, which is reported."""
    try:
        return glyph_spans(text)
    except TextError as error:
        place = place_of(error.offset, 1)
        where = "" if place.file else f", in place {error.offset + 1} of the text to show"
        findings.error(
            "text-brace",
            f"{error}{where}",
            place,
            "a name of several letters stands in braces, {wave}; {{ and }} show braces",
        )
        return ()


def _place_in(show: ShowSource, offset: int, length: int) -> Place:
    """The place of a stretch of the text: that of the whole where quoting has changed it."""
    place = show.place
    if place.length != len(show.text) + 2:
        return place
    return Place(place.file, place.line, place.column + 1 + offset, length)


def _asked(source: FontSource, texts: Texts) -> Iterable[str]:
    shown = (spans for show, spans in texts.items() if show.font == source.name)
    return (span.name for spans in shown for span in spans)


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
    in_step = source.rotates or _in_step(source, texts, findings)
    rows = [_glyphs(show, fonts[show.font], texts[show], findings) for show in source.shows]
    if not in_step or not all(rows):
        return None
    if source.rotates:
        rotations = [
            Rotation(show.grid, tuple(glyphs), show.every, show.every * source.every_us < MINUTE_US)
            for show, glyphs in zip(source.shows, rows, strict=True)
        ]
        if not _comes_round(source, rotations, findings):
            return None
        return Programme.of_rotations(
            source.name,
            rotations,
            source.every_us,
            source.place,
            is_clock=source.is_clock,
            quiet=_quiet(source),
        )
    frames = tuple(Frame(glyphs) for glyphs in zip(*rows, strict=True))
    return Programme(source.name, frames, source.every_us, source.repeat, source.place)


def _comes_round(
    source: ProgrammeSource, rotations: Sequence[Rotation], findings: Findings
) -> bool:
    """Whether everything is as it was after few enough frames to be replayed."""
    frames = math.lcm(*(rotation.round for rotation in rotations))
    if frames > MAX_ROUND:
        message = f"`{source.name}` comes round only after {frames:,} frames"
        hint = f"let the texts be as long as each other or parts of it: at most {MAX_ROUND:,}"
        findings.error("long-round", message, source.place, hint)
        return False
    if source.quiet and frames * source.every_us != DAY_S * MILLION:
        message = f"`{source.name}` is quiet at times of the day, and comes round after several"
        hint = "let the texts be such that a day is a whole number of their rounds"
        findings.error("long-round", message, source.place, hint)
        return False
    return True


def _quiet(source: ProgrammeSource) -> Quiet | None:
    """The quiet time in frames."""
    if source.quiet is None:
        return None
    start, end = (minute * MINUTE_US // source.every_us for minute in source.quiet)
    return Quiet(start, end)


def _glyphs(
    show: ShowSource, font: DrawnFont, spans: Sequence[Span], findings: Findings
) -> list[Glyph]:
    """The glyphs of a show; none when one of them is missing, which is reported once."""
    for span in {span.name: span for span in reversed(spans)}.values():
        font.report(span.name, _place_in(show, span.offset, span.length), findings)
    known = [font.glyphs[span.name] for span in spans if span.name in font.glyphs]
    return known if len(known) == len(spans) else []


def _in_step(source: ProgrammeSource, texts: Texts, findings: Findings) -> bool:
    """Whether all shows of a programme that can be read have as many glyphs as the first."""
    lengths = [(show, len(texts[show])) for show in source.shows if texts[show]]
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
