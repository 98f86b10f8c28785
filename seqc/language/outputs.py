"""Assigns outputs to drives, in the order of declaration."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from math import isqrt

from seqc.language.drives import DriveDraft
from seqc.machine.electrics import Bus, DriveKind, ceil_div
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.wiring import Group
from seqc.machine.wording import amount_of

Groups = Mapping[str, Sequence[Group]]


@dataclass(frozen=True, slots=True, eq=False)
class Assigned:
    """The outputs of one drive, counted over all buses; those of its parts go by part."""

    draft: DriveDraft
    by_part: Mapping[str, tuple[int, ...]]
    reverser: int | None
    switch: int | None


@dataclass(frozen=True, slots=True)
class _Taken:
    """The drive that an output of a bus belongs to."""

    draft: DriveDraft
    place: Place


class _BusOutputs:
    """Which outputs of one bus are taken, and where the next drive goes on."""

    def __init__(self, bus: Bus) -> None:
        self.bus = bus
        self.taken: dict[int, _Taken] = {}
        self.next = 0
        self.needed = 0

    def free(self) -> Iterator[int]:
        """Outputs that are free, upwards from after the last one assigned, without end."""
        bit = self.next
        while True:
            if bit not in self.taken:
                yield bit
            bit += 1


def assign_outputs(
    drafts: Sequence[DriveDraft], groups: Groups, findings: Findings
) -> tuple[Assigned, ...]:
    """The outputs of every drive: its parts' in order, then the reverser's, then the switch's.

    An actuator takes the forward output, then the reverse one; under a shared reverser just one.
    Drives on an unsound bus are left out.
    """
    buses: dict[str, _BusOutputs] = {}
    assigned: list[Assigned] = []
    for draft in drafts:
        if draft.bus is None:
            continue
        outputs = buses.setdefault(draft.bus.name, _BusOutputs(draft.bus))
        bits = _bits(draft, needed(draft, groups), outputs, findings)
        if bits is not None:
            assigned.append(_shared_out(draft, bits, groups))
    for outputs in buses.values():
        _report_overflow(outputs, findings)
    return tuple(assigned)


def needed(draft: DriveDraft, groups: Groups) -> int:
    """How many outputs a drive needs."""
    actuators = sum(len(groups[part.name]) for part in draft.parts)
    if draft.kind is DriveKind.MATRIX:
        return 2 * sum(matrix_size(draft, actuators))
    shared = (draft.kind is DriveKind.SHARED_REVERSER) + draft.has_switch
    return actuators * draft.kind.outputs_per_actuator + shared


def matrix_size(draft: DriveDraft, actuators: int) -> tuple[int, int]:
    """How many rows and columns a matrix has: as declared, else about as many of both."""
    columns = draft.settings.integer("columns") or isqrt(max(0, actuators - 1)) + 1
    columns = max(1, min(columns, actuators))
    return ceil_div(actuators, columns), columns


def _bits(
    draft: DriveDraft, count: int, outputs: _BusOutputs, findings: Findings
) -> list[int] | None:
    """The bits of a drive on its bus; None where the list of them is of the wrong length."""
    outputs.needed += count
    asked = draft.bits
    if asked is None:
        free = outputs.free()
        bits = [next(free) for _ in range(count)]
        places = [draft.from_word.place] * count
    elif len(asked.each) == 1:
        bits = list(range(asked.each[0].value, asked.each[0].value + count))
        places = [asked.each[0].place] * count
    elif len(asked.each) == count:
        bits = [amount.value for amount in asked.each]
        places = [amount.place for amount in asked.each]
    else:
        message = f"{len(asked.each)} outputs are listed, but the drive needs {count}"
        hint = f"list all {count}, or only the first of a row"
        findings.error("output-count", message, asked.each[0].place, hint)
        return None
    _take(bits, places, draft, outputs, findings)
    outputs.next = bits[-1] + 1 if bits else outputs.next
    return bits


def _take(
    bits: Sequence[int],
    places: Sequence[Place],
    draft: DriveDraft,
    outputs: _BusOutputs,
    findings: Findings,
) -> None:
    """Note the bits of a drive as taken; of a row that is taken already only the first is told."""
    told: set[tuple[Place, Place]] = set()
    for bit, place in zip(bits, places, strict=True):
        before = outputs.taken.setdefault(bit, own := _Taken(draft, place))
        if before is own or (place, before.place) in told:
            continue
        told.add((place, before.place))
        by = "twice in one drive" if before.draft is draft else "by two drives"
        message = f"output {bit} of `{outputs.bus.name}` is used {by}"
        hint = "give one of them other outputs with `at`"
        related = Related(before.place, "first used here")
        findings.error("output-taken", message, place, hint, related)


def _report_overflow(outputs: _BusOutputs, findings: Findings) -> None:
    bus = outputs.bus
    beyond = {bit: taken for bit, taken in outputs.taken.items() if bit >= bus.bits}
    if not beyond:
        return
    taken, has = beyond[min(beyond)], amount_of(bus.bits, "output")
    related = Related(bus.place, f"declared with {has}")
    if outputs.needed > bus.bits:
        message = f"`{bus.name}` has {has}, but {outputs.needed} are needed"
        hint = f"give it `bits {outputs.needed}`, or put some drives on another bus"
        findings.error("too-few-outputs", message, taken.place, hint, related)
    else:
        message = f"`{bus.name}` has no output {max(beyond)}: they count from 0 to {bus.bits - 1}"
        findings.error("no-such-output", message, taken.place, "begin further down", related)


def _shared_out(draft: DriveDraft, bits: Sequence[int], groups: Groups) -> Assigned:
    assert draft.bus is not None
    outputs = [draft.bus.first + bit for bit in bits]
    if draft.kind is DriveKind.MATRIX:
        return Assigned(draft, _crossings(draft, outputs, groups), None, None)
    rest = iter(outputs)
    each = draft.kind.outputs_per_actuator
    by_part = {
        part.name: tuple(next(rest) for _ in range(each * len(groups[part.name])))
        for part in draft.parts
    }
    reverser = next(rest) if draft.kind is DriveKind.SHARED_REVERSER else None
    switch = next(rest) if draft.has_switch else None
    return Assigned(draft, by_part, reverser, switch)


def _crossings(
    draft: DriveDraft, outputs: Sequence[int], groups: Groups
) -> dict[str, tuple[int, ...]]:
    """The outputs of the parts of a matrix, whose actuators fill it row by row.

    Of `outputs` the high and the low switch of each row come first, then those of each column.
    """
    numbers = count()
    rows, columns = matrix_size(draft, sum(len(groups[part.name]) for part in draft.parts))
    switches = [(outputs[2 * n], outputs[2 * n + 1]) for n in range(rows + columns)]
    crossings: dict[str, tuple[int, ...]] = {}
    for part in draft.parts:
        own: list[int] = []
        for _ in groups[part.name]:
            row, column = divmod(next(numbers), columns)
            (row_high, row_low), (high, low) = switches[row], switches[rows + column]
            own += [row_high, low, row_low, high]
        crossings[part.name] = tuple(own)
    return crossings
