"""What a check found, as text for people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from seqc.machine.glyphs import Programme
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Feed, Item, Lane, Path
from seqc.machine.wording import amount_of
from seqc.report.plan_text import ms, passes_words
from seqc.schedule.timing import ProgrammeTiming

if TYPE_CHECKING:
    from seqc.schedule.advice import Advice


IDEAL = "from rest, ideal: real ones take longer"


def machine_lines(machine: Machine) -> Iterator[str]:
    """What the machine is made of, a line for each grid and font and one for its actuators."""
    yield f"machine {machine.name}"
    for lane in machine.lanes:
        grid = lane.grid
        yield (
            f"  grid {grid.name}: {amount_of(grid.columns, 'column')} by "
            f"{amount_of(grid.rows, 'row')}, {amount_of(len(grid.cells), 'cell')}: "
            f"{lane_words(lane)}"
        )
    paths = {(path.source, path.target): path for lane in machine.lanes for path in lane.paths}
    for path in paths.values():
        yield f"  path {path_words(path)}"
    outputs = sum(len(actuator.outputs) for actuator in machine.actuators)
    drives = {id(a.drive): a.drive for a in machine.actuators}.values()
    outputs += sum((d.reverser is not None) + (d.switch is not None) for d in drives)
    actuators = amount_of(len(machine.actuators), "actuator")
    yield f"  {actuators} on {outputs} of {machine.width} outputs"
    for font in machine.fonts:
        yield f"  font {font.name} for {font.grid.name}: {amount_of(len(font.glyphs), 'glyph')}"


def path_words(path: Path) -> str:
    """A path as it is declared, its time, and the friction without which an item would slip."""
    words = f"{path.source} to {path.target}: {path.course}, there after {ms(path.fall_us)}"
    if path.settle_us:
        words += f" and still {ms(path.settle_us)} later"
    if path.is_ideal:
        words += f"; {IDEAL}"
    if path.slope:
        words += f"; rolls with friction of {path.slope.friction:.3f} or more"
    return words


def lane_words(lane: Lane) -> str:
    """A lane as it is declared, from the bottom back to the magazines."""
    below = [gate.name for gate in reversed(lane.dumps)]
    above = [gate.name for gate in reversed(lane.gates[: lane.gates_above])]
    return " <- ".join([*below, "shown", *above, feed_words(lane.feed)])


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


def programme_line(programme: Programme, timing: ProgrammeTiming) -> str:
    """One line: passes, period against cadence, proof, and what limits it."""
    passes = max((len(grid.passes) for plan in timing.plan.plans for grid in plan), default=0)
    kept = "kept" if timing.kept else f"not kept, but {ms(timing.beat_us)}"
    proof = "proven shortest" if timing.proven else f"at best {ms(timing.bound_us)}"
    if len(timing.ticks) > 1:
        proof += f", from {programme.frames[slowest_frame(programme, timing)].name!r} on"
    return (
        f"  programme {programme.name}: {amount_of(len(programme.frames), 'frame')}, "
        f"at most {passes_words(passes)}; "
        f"period {ms(timing.period_us)} ({proof}), cadence {ms(timing.cadence_us)} {kept}"
        + (f"; limited by {timing.limits}" if timing.limits else "")
    )


def slowest_frame(programme: Programme, timing: ProgrammeTiming) -> int:
    """The number from 0 of the frame from which the longest period starts."""
    return timing.slowest % len(programme.frames)


def advice_lines(timing: ProgrammeTiming, advice: Sequence[Advice]) -> Iterator[str]:
    """The chain of the longest period, and what each change would make of it, the best first."""
    if advice:
        yield "    the longest period, link by link:"
        yield from (f"      {link}" for link in timing.critical_chain)
        yield "    what would change it, each by itself:"
    for each in advice:
        if each.period_us is None:
            yield f"      {each.change}: a frame is out of reach"
        else:
            gain = each.period_us - timing.period_us
            effect = f"{'+' if gain > 0 else ''}{ms(gain)}" if gain else "no change"
            yield f"      {each.change}: {ms(each.period_us)} ({effect})"
