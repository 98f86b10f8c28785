"""Step tables written by hand, one pulse a line, and encoded here without the scheduler.

A line is `TIME ACTUATOR thrown|rest [LENGTH]` for a pulse (when its current starts, and its length
where it isn't the coil's own), or `TIME output NUMBER on|off` for an edge as it is; all times are
in milliseconds.
"""

from __future__ import annotations

from collections.abc import Iterable

from seqc.machine.electrics import DriveKind
from seqc.machine.model import Machine
from seqc.machine.steptable import Step, StepTable
from seqc.machine.wiring import Actuator

Span = tuple[int, int, int]
"""An output, and from when until when it is active."""


def us(milliseconds: str | float) -> int:
    """Microseconds."""
    return round(float(milliseconds) * 1000)


def written(
    machine: Machine,
    script: str,
    length_ms: float,
    name: str = "table",
    shows: tuple[tuple[str, str], ...] = (),
) -> StepTable:
    """The step table of a script."""
    spans: list[Span] = []
    edges: list[tuple[int, int, bool]] = []
    for words in (line.split() for line in script.splitlines() if line.strip()):
        if words[1] == "output":
            edges.append((us(words[0]), int(words[2]), words[3] == "on"))
        else:
            spans += spans_of(machine, words[1], us(words[0]), words[2] == "thrown", *words[3:])
    return from_edges(machine, [*edges, *_merged(spans)], us(length_ms), name, shows)


def spans_of(
    machine: Machine, name: str, start: int, thrown: bool, length: str = ""
) -> Iterable[Span]:
    """When the outputs of one pulse are active."""
    actuator = next(actuator for actuator in machine.actuators if actuator.name == name)
    drive = actuator.drive
    end = start + (us(length) if length else actuator.coil.pulse_us)
    begin = start - drive.lead_us
    if drive.switch is not None:
        yield drive.switch, start, end
        stop = end
    else:
        stop = end - drive.lag_us
    yield _own_output(actuator, thrown), begin, stop
    if drive.reverser is not None and not thrown:
        yield drive.reverser, begin, end


def _own_output(actuator: Actuator, thrown: bool) -> int:
    if actuator.drive.kind is DriveKind.SHARED_REVERSER:
        return actuator.outputs[0]
    return actuator.outputs[0 if thrown else 1]


def _merged(spans: Iterable[Span]) -> Iterable[tuple[int, int, bool]]:
    """The edges of spans, those of one output joined where they overlap."""
    joined: list[list[int]] = []
    for output, start, end in sorted(spans):
        if joined and joined[-1][0] == output and joined[-1][2] >= start:
            joined[-1][2] = max(joined[-1][2], end)
        else:
            joined.append([output, start, end])
    for output, start, end in joined:
        yield start, output, True
        yield end, output, False


def from_edges(
    machine: Machine,
    edges: Iterable[tuple[int, int, bool]],
    length_us: int,
    name: str = "table",
    shows: tuple[tuple[str, str], ...] = (),
) -> StepTable:
    """The step table of edges (time, output, on)."""
    word = machine.idle_word
    words = {0: word}
    for at, output, on in sorted(edges):
        bit = 1 << output
        word = word & ~bit | ((machine.idle_word ^ (bit if on else 0)) & bit)
        words[at] = word
    steps = tuple(Step(at, word) for at, word in sorted(words.items()))
    return StepTable(name, steps, length_us, shows)
