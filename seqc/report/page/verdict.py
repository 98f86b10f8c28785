"""What a maker must see first: does it hold, by how much, and what limits it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from seqc.forecast.span import lived, spoken
from seqc.machine.findings import Severity
from seqc.machine.wording import amount_of
from seqc.report.check_text import verdict_line
from seqc.report.plan_text import passes_words
from seqc.report.survey import ProgrammeShown, Survey
from seqc.report.words import asked, ms


class Fact(NamedTuple):
    """One answer: what it is about, the figure, what stands behind it, and whether it holds.

    `share` is how much is used of what there is, where that makes sense.
    """

    what: str
    value: str
    detail: str = ""
    holds: bool = True
    share: float | None = None

    @property
    def share_words(self) -> str:
        """The share in words, for those who don't see its bar."""
        return "" if self.share is None else f"{self.share:.0%} used"

    @property
    def filled(self) -> float:
        """How far the bar is filled, of 100."""
        return 0.0 if self.share is None else min(100.0, self.share * 100)


SOUND = "replayed from power-on, with nominal parts and with all that may vary"


def verdict_words(survey: Survey) -> str:
    """The first line, the same that `check` prints, without the machine's name."""
    warned = [found for found in survey.findings if found.severity is Severity.WARNING]
    line = verdict_line(survey.machine, [*survey.errors, *warned])
    line = line.removeprefix(f"{survey.machine.name}: ")
    line = line[:1].upper() + line[1:]
    if not survey.foreseen:
        return line
    time = spoken(survey.programmes[0].forecast.asked_us)
    more = f", and {len(survey.foreseen) - 1} more" if survey.foreseen[1:] else ""
    return f"{line}; {time} fall short, {survey.foreseen[0].message}{more}"


def facts(survey: Survey) -> tuple[Fact, ...]:
    """The facts in the order in which a maker asks for them."""
    found: list[Fact] = []
    for shown in survey.programmes:
        found += [_cadence(shown), _replayed(shown)]
    found += _glyphs(survey)
    for shown in survey.programmes[:1]:
        found += [*_supplies(shown), *_life(shown), *_stock(shown)]
    return tuple(found)


def _cadence(shown: ProgrammeShown) -> Fact:
    timing = shown.timing
    proof = "proven" if timing.proven else f"lower bound {ms(timing.bound_us)}"
    kept = "is kept" if timing.kept else "is not kept"
    return Fact(
        f"{shown.programme.name}: the cadence of {asked(timing.cadence_us)} {kept}",
        f"{ms(timing.period_us)} is the shortest ({proof})",
        f"critical path: {timing.limits}" if timing.limits else "",
        timing.kept,
        timing.period_us / timing.cadence_us,
    )


def _replayed(shown: ProgrammeShown) -> Fact:
    tables = amount_of(len(list(shown.tables)), "table")
    faults = amount_of(len(shown.faults), "fault") if shown.faults else "no fault"
    detail = str(shown.faults[0]) if shown.faults else SOUND
    return Fact(
        f"{shown.programme.name} in the simulator",
        f"{faults} in {tables}",
        detail,
        not shown.faults,
    )


def _glyphs(survey: Survey) -> Iterator[Fact]:
    for font in survey.fonts:
        reached = [shown for shown in font.glyphs if shown.plan is not None]
        passes = [len(g.passes) for shown in reached for g in shown.plan or ()]
        value = f"{len(reached)} of {amount_of(len(font.glyphs), 'glyph')} can be shown"
        detail = f"{passes_words(max(passes))} at most" if passes else ""
        if font.left_out:
            detail += f"; {font.left_out:,} more aren't on this page"
        if font.alike:
            detail += f"; the same for {', '.join(font.alike)}"
        yield Fact(f"Font {font.font.name}", value, detail, len(reached) == len(font.glyphs))


def _supplies(shown: ProgrammeShown) -> Iterator[Fact]:
    over = {f.message.split(":")[0] for f in shown.forecast.findings if f.code == "over-current"}
    for each in shown.forecast.supplies:
        limit_a = each.supply.limit_ua / 1_000_000
        usable_a = limit_a / (1 + each.supply.margin_ppm / 1_000_000)
        margin = f"{each.supply.margin_ppm / 10_000:g} % margin"
        yield Fact(
            f"Supply {each.supply.name}",
            f"peak {each.peak_a:.2f} A of {limit_a:g} A",
            f"mean {each.mean_a:.2f} A; {usable_a:.2f} A with {margin}",
            not over,
            each.peak_a / limit_a,
        )


def _life(shown: ProgrammeShown) -> Iterator[Fact]:
    forecast = shown.forecast
    if not forecast.parts:
        return
    first = forecast.parts[0]
    failure = forecast.first_failure
    detail = f"{first.part}: {first.limit} {first.life:,}, a statistic and no promise"
    if failure is not None:
        detail += f"; half of such machines have had a first failure by {lived(failure.half_h)}"
    yield Fact(
        f"First rated life to end, {forecast.programme} without pause",
        lived(first.hours),
        detail,
        all(part.share <= 1 for part in forecast.parts),
    )


def _stock(shown: ProgrammeShown) -> Iterator[Fact]:
    kinds = [kind for kind in shown.forecast.stocks if kind.item.stock is not None]
    if not kinds:
        return
    first = min(kinds, key=lambda kind: kind.lasting_us or 1 << 62)
    lasts = "without end" if first.lasting_us is None else spoken(first.lasting_us)
    detail = "; ".join(f"{k.item.name} {k.item.stock:,}, needed {k.needed:,}" for k in kinds)
    yield Fact(
        f"The stock lasts, {spoken(shown.forecast.asked_us)} asked for",
        lasts,
        detail,
        not any(kind.falls_short for kind in kinds),
    )


def is_short(survey: Survey) -> bool:
    """Whether anything falls short."""
    return bool(survey.errors or survey.foreseen)
