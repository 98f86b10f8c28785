"""What a check found, as text for people."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from seqc.machine.findings import Finding, Severity
from seqc.machine.glyphs import Font, Programme
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Feed, Item, Lane, Path
from seqc.machine.steptable import TOO_MANY_TABLES
from seqc.machine.wording import amount_of
from seqc.report.plan_text import passes_words, period_words, quoted
from seqc.report.words import asked, copies_together, folded, ms, table
from seqc.schedule.scaling import MOST, ONE
from seqc.schedule.timing import ProgrammeTiming

if TYPE_CHECKING:
    from seqc.schedule.advice import Advice
    from seqc.schedule.easing import Easing


IDEAL = "from rest, ideal: real ones take longer"


def verdict_line(machine: Machine, findings: Iterable[Finding]) -> str:
    """Whether the machine can be built, and else the first thing that falls short."""
    every = list(findings)
    errors = [found for found in every if found.severity is Severity.ERROR]
    if not errors:
        too_long = any(found.code == TOO_MANY_TABLES for found in every)
        return f"{machine.name}: {'holds, too long to build' if too_long else 'ready to build'}"
    more = f", and {len(errors) - 1} more" if errors[1:] else ""
    return f"{machine.name}: falls short, {errors[0].message}{more}"


def summary_lines(
    machine: Machine,
    planned: Sequence[tuple[Programme, ProgrammeTiming]],
    lost: Mapping[str, int],
) -> Iterator[str]:
    """A row for each programme, font, grid and transit, and one for the wiring.

    `lost` has how many glyphs of a font are out of reach, by its name.
    """
    rows = [_programme_row(*one) for one in planned]
    rows += copies_together(_font_row(font, lost.get(font.name, 0)) for font in machine.fonts)
    rows.append(("wiring", wiring_words(machine)))
    rows += copies_together(map(_grid_row, machine.lanes))
    paths = {(path.source, path.target): path for lane in machine.lanes for path in lane.paths}
    rows += [(f"{p.source} to {p.target}", path_words(p)) for p in paths.values()]
    yield from table(rows)


def _programme_row(programme: Programme, timing: ProgrammeTiming) -> tuple[str, str]:
    """Frames, the cadence and the shortest that is kept, and passes."""
    passes = max((len(grid.passes) for plan in timing.plan.plans for grid in plan), default=0)
    frames = amount_of(len(programme.frames), "frame")
    words = f"{frames}; {period_words(programme, timing)}; {passes_words(passes)} at most"
    return programme.name, words


def _font_row(font: Font, lost: int) -> tuple[str, str]:
    glyphs = amount_of(len(font.glyphs), "glyph")
    return font.name, f"{len(font.glyphs) - lost} of {glyphs} can be shown"


def _grid_row(lane: Lane) -> tuple[str, str]:
    grid = lane.grid
    size = f"{amount_of(grid.columns, 'column')} by {amount_of(grid.rows, 'row')}"
    cells = amount_of(len(grid.cells), "cell")
    return grid.name, f"{size}, {cells}: {lane_words(lane)}"


def wiring_words(machine: Machine) -> str:
    """How many actuators, relays and outputs there are."""
    drives = {id(a.drive): a.drive for a in machine.actuators}.values()
    shared = [d.reverser is not None for d in drives]
    outputs = len({output for actuator in machine.actuators for output in actuator.outputs})
    relays = sum(len(a.outputs) for a in machine.actuators if a.drive.relay is not None)
    relays += sum(shared)
    outputs += sum(shared) + sum(drive.switch is not None for drive in drives)
    return (
        f"{amount_of(len(machine.actuators), 'actuator')}, {amount_of(relays, 'relay')}, "
        f"{outputs} of {amount_of(machine.width, 'output')}"
    )


def path_words(path: Path) -> str:
    """A path as it is declared, its time, and the friction without which an item would slip."""
    words = f"transit {ms(path.fall_us)}"
    if path.settle_us:
        words += f", then {ms(path.settle_us)} to settle"
    words += f": {path.course}"
    if path.is_ideal:
        words += f"; {IDEAL}"
    if path.slope:
        friction = f"{path.slope.friction:.3f}"
        words += f"; rolls without slipping if the coefficient of friction is at least {friction}"
    return words


def lane_words(lane: Lane) -> str:
    """A lane as it is declared, from the bottom back to the magazines."""
    below = [gate.name for gate in reversed(lane.dumps)]
    above = [gate.name for gate in reversed(lane.gates[: lane.gates_above])]
    words = " <- ".join([*below, "shown", *above, feed_words(lane.feed)])
    for feed, cells in lane.others:
        words += f"; {amount_of(len(cells), 'cell')} from {feed_words(feed)}"
    for selector in lane.selectors:
        if mirrored := selector.mirrored.intersection(lane.cells_of(selector)):
            words += f"; {selector.name} mirrored in {amount_of(len(mirrored), 'cell')}"
    return words


def feed_words(feed: Feed) -> str:
    """A feed as it is declared: `pick(slate, chalk)`."""
    words: list[str] = []
    waiting: list[Feed | str] = [feed]
    while waiting:
        node = waiting.pop()
        if isinstance(node, str):
            words.append(node)
        elif isinstance(node, Item):
            words.append(node.name)
        else:
            assert isinstance(node, Branch)
            waiting += [")", node.thrown, ", ", node.rest, f"{node.selector.name}("]
    return "".join(words)


def slowest_lines(
    programme: Programme,
    timing: ProgrammeTiming,
    easing: Easing | None = None,
    apart_us: int | None = None,
) -> Iterator[str]:
    """Between which frames the longest change is, its critical path, and how far parts may vary.

    `apart_us` tells, of grids that change by themselves, how far apart those of one tick start.
    """
    if len(timing.ticks) > 1:
        slowest = slowest_frame(programme, timing)
        following = (slowest + 1) % len(programme.frames)
        names = [quoted(programme.frames[number]) for number in (slowest, following)]
        yield f"Slowest change of {programme.name}, {names[0]} to {names[1]}: " + ms(
            timing.period_us
        )
    if timing.limits:
        yield from folded(f"  critical path: {timing.limits}", hang=2)
    if apart_us is not None:
        yield f"  {apart_words(apart_us)}"
    if easing is not None:
        yield from folded(f"  {easing_words(programme, easing)}", hang=2)


def apart_words(apart_us: int) -> str:
    """How close the changes of one tick are."""
    return (
        f"grids change within {ms(apart_us)} of each other" if apart_us else "grids change at once"
    )


def easing_words(programme: Programme, easing: Easing) -> str:
    """By how much more than is declared parts may vary while the cadence is kept."""
    times = f"{easing.factor // (ONE // 10) / 10:g} times the declared tolerances"
    cadence = asked(programme.every_us)
    if easing.factor >= MOST:
        return f"keeps {cadence} at {times}, and more"
    if not easing.weakest:
        return f"keeps {cadence} at up to {times}"
    return f"keeps {cadence} at up to {times}; first to break: {easing.weakest}"


def slowest_frame(programme: Programme, timing: ProgrammeTiming) -> int:
    """The number from 0 of the frame from which the longest period starts."""
    return timing.slowest % len(programme.frames)


def advice_lines(timing: ProgrammeTiming, advice: Sequence[Advice]) -> Iterator[str]:
    """The chain of the longest period, and what each change would make of it, the best first."""
    yield "    the longest period, link by link:"
    yield from (f"      {link}" for link in timing.critical_chain)
    if not advice:
        yield "    nothing that was tried changes it"
        return
    yield "    what would change it, each by itself:"
    for each in advice:
        if each.period_us is None:
            yield f"      {each.change}: a frame is out of reach"
        else:
            gain = each.period_us - timing.period_us
            yield f"      {each.change}: {ms(each.period_us)} ({'+' if gain > 0 else ''}{ms(gain)})"
