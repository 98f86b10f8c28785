"""From pulses to output words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise

from seqc.machine.model import Machine
from seqc.machine.steptable import LONGEST_HOLD_US, Step
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.drives.rules import Span
from seqc.schedule.pulses import Pulse


def spans_of(pulses: Iterable[Pulse]) -> list[Span]:
    """When which outputs are active for these pulses."""
    return [span for pulse in pulses for span in rules_of(pulse.actuator.drive).spans(pulse)]


def encode(machine: Machine, pulses: Iterable[Pulse]) -> list[tuple[int, int]]:
    """The output word from each instant on at which it changes, as pairs of time and word.

    An output is active from before its pulse, since its relay takes time to operate, to before the
    end of it, since it takes time to release; times may thus be negative. The last word is idle.
    """
    return edges(machine.idle_word, spans_of(pulses))


def edges(idle_word: int, spans: Iterable[Span]) -> list[tuple[int, int]]:
    """The words of some spans: an active output has the level that it hasn't in the idle word."""
    toggles: dict[int, int] = {}
    for span in _joined(spans):
        for at_us in (span.on_us, span.off_us):
            toggles[at_us] = toggles.get(at_us, 0) ^ 1 << span.output
    found: list[tuple[int, int]] = []
    word = idle_word
    for at_us in sorted(toggles):
        if toggles[at_us]:
            word ^= toggles[at_us]
            found.append((at_us, word))
    return found


def _joined(spans: Iterable[Span]) -> list[Span]:
    """Spans of one output that overlap or touch, or nearly so, made one."""
    joined: list[Span] = []
    for span in sorted(spans, key=lambda one: (one.output, one.on_us)):
        last = joined[-1] if joined else None
        if last and last.output == span.output and span.on_us <= last.off_us + span.bridge_us:
            joined[-1] = Span(span.output, last.on_us, max(last.off_us, span.off_us))
        else:
            joined.append(span)
    return joined


def steps_between(
    idle_word: int, spans: Iterable[Span], length_us: int
) -> tuple[tuple[Step, ...], tuple[Span, ...]]:
    """The steps of a table that starts at 0, and what of the spans is left for the next table.

    What is left has its times counted from the end of the table, `length_us`.
    """
    given = list(spans)
    words = {0: idle_word}
    for at_us, word in edges(idle_word, given):
        if at_us < length_us:
            words[max(at_us, 0)] = word
    left = tuple(
        Span(span.output, span.on_us - length_us, span.off_us - length_us, span.bridge_us)
        for span in given
        if span.off_us > length_us
    )
    return tuple(_steps(words, length_us)), left


def _steps(words: Mapping[int, int], length_us: int) -> Iterator[Step]:
    """The words as steps; one that stays longer than a step can is put out again in between."""
    for at_us, end_us in pairwise([*sorted(words), length_us]):
        stays_us = end_us - at_us
        holds = -(-stays_us // LONGEST_HOLD_US)
        for number in range(holds):
            yield Step(at_us + stays_us * number // holds, words[at_us])
