"""Programmes that are played side by side in one build, each on grids of its own."""

from __future__ import annotations

from collections.abc import Sequence

from seqc.language.declared import ProgrammeSource
from seqc.language.scope import Scope, Table
from seqc.language.settings import Settings, read_settings
from seqc.language.source import Statement, Word
from seqc.machine.electrics import MILLION
from seqc.machine.findings import Findings, Related

Member = tuple[Word, ProgrammeSource]
"""A programme that is played, and where it is named."""


def read_together(
    statement: Statement, names: Table[ProgrammeSource], scope: Scope
) -> ProgrammeSource | None:
    """The programme of programmes: a frame comes with the shortest cadence of any of them."""
    settings = read_settings(statement, scope.findings)
    members = _members(settings, names)
    if not settings.sound or members is None:
        return None
    every_us = min(source.every_us for _, source in members)
    if not _agree(members, every_us, scope.findings):
        return None
    shows = (
        show._replace(every=show.every * (source.every_us // every_us))
        for _, source in members
        for show in source.shows
    )
    name = statement.name
    is_clock = any(source.is_clock for _, source in members)
    quiet = next((source.quiet for _, source in members if source.quiet), None)
    return ProgrammeSource(
        name.text, tuple(shows), every_us, True, name.place, True, is_clock=is_clock, quiet=quiet
    )


def _members(settings: Settings, names: Table[ProgrammeSource]) -> list[Member] | None:
    """The programmes in order; None if one of them is unknown or unsound."""
    words = [word for setting in settings.all("plays") for word in setting.values]
    named = [word for word in words if isinstance(word, Word)]
    found = [(word, names.value(word)) for word in named]
    sound = [(word, source) for word, source in found if source is not None]
    return sound if len(sound) == len(found) else None


def _agree(members: Sequence[Member], every_us: int, findings: Findings) -> bool:
    """Whether all go on for ever, in step, on grids of their own."""
    before = len(list(findings))
    quiet = [(word, source.quiet) for word, source in members if source.quiet]
    for word, times in quiet[1:]:
        if times != quiet[0][1]:
            message = f"clock `{word.text}` is quiet at other times than `{quiet[0][0].text}`"
            findings.error("second-quiet", message, word.place, "give both the same times")
    for word, source in members:
        if not source.repeat:
            message = f"programme `{word.text}` ends, and what is played together goes on for ever"
            related = Related(source.place, "declared here")
            findings.error("ends-together", message, word.place, "add `repeat` to it", related)
        elif source.every_us % every_us:
            message = (
                f"programme `{word.text}` has a frame every {source.every_us / MILLION:g} s, no "
                f"whole multiple of the {every_us / MILLION:g} s of another"
            )
            hint = "let each cadence be a whole multiple of the shortest"
            findings.error("uneven-cadence", message, word.place, hint)
        elif source.is_clock and MILLION % every_us and every_us % MILLION:
            message = f"clock `{word.text}` can't tell seconds by steps of {every_us / MILLION:g} s"
            hint = "let the shortest cadence be a whole part or a whole multiple of a second"
            findings.error("uneven-cadence", message, word.place, hint)
    _each_grid_once(members, findings)
    return len(list(findings)) == before


def _each_grid_once(members: Sequence[Member], findings: Findings) -> None:
    first: dict[str, Word] = {}
    for word, source in members:
        for grid in dict.fromkeys(show.grid for show in source.shows):
            other = first.setdefault(grid, word)
            if other is not word:
                message = f"`{word.text}` shows grid `{grid}`, which `{other.text}` shows too"
                hint = "give each programme grids of its own"
                related = Related(other.place, f"`{other.text}` is played here")
                findings.error("shared-grid", message, word.place, hint, related)
                break
