"""Assigns outputs to drives, in the order of declaration."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from math import isqrt

from seqc.language.drives import Board, DriveDraft
from seqc.machine.electrics import Bus, DriveKind, ceil_div
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.wiring import Group
from seqc.machine.wording import amount_of

Groups = Mapping[str, Sequence[Group]]

_Bit = tuple[int, Place]
"""A bit of a bus, and where it is asked for."""


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
        bits = _outputs(draft, needed(draft, groups), buses, findings)
        if bits:
            assigned.append(_shared_out(draft, bits, groups))
    for outputs in buses.values():
        _report_overflow(outputs, findings)
    return tuple(assigned)


def _outputs(
    draft: DriveDraft, wanted: int, buses: dict[str, _BusOutputs], findings: Findings
) -> list[int] | None:
    """The outputs of a drive, counted over all buses; None where it has none that are sound."""
    if not draft.boards:
        return None
    listed = [amount for board in draft.boards for amount in board.listed]
    in_a_row = len(draft.boards) == 1 and len(listed) <= 1
    if not in_a_row and len(listed) != wanted:
        message = f"{len(listed)} outputs are listed, but the drive needs {wanted}"
        hint = f"list all {wanted}"
        hint += ", or only the first of a row" if len(draft.boards) == 1 else ""
        findings.error("output-count", message, listed[0].place, hint)
        return None
    found: list[int] = []
    for board in draft.boards:
        outputs = buses.setdefault(board.bus.name, _BusOutputs(board.bus))
        bits = _row(board, wanted, outputs) if in_a_row else _listed(board)
        _take(bits, draft, outputs, findings)
        found += [board.bus.first + bit for bit, _ in bits]
    return found


def _row(board: Board, wanted: int, outputs: _BusOutputs) -> list[_Bit]:
    """So many bits from the one that is asked for on, or the next ones that are free."""
    if board.listed:
        first = board.listed[0]
        start = first.value - board.bus.counted_from
        return [(bit, first.place) for bit in range(start, start + wanted)]
    free = outputs.free()
    return [(next(free), board.word.place) for _ in range(wanted)]


def _listed(board: Board) -> list[_Bit]:
    return [(amount.value - board.bus.counted_from, amount.place) for amount in board.listed]


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


def _take(
    bits: Sequence[_Bit], draft: DriveDraft, outputs: _BusOutputs, findings: Findings
) -> None:
    """Note the bits of a drive as taken; of a row that is taken already only the first is told."""
    outputs.needed += len(bits)
    told: set[tuple[Place, Place]] = set()
    for bit, place in bits:
        before = outputs.taken.setdefault(bit, own := _Taken(draft, place))
        if before is own or (place, before.place) in told:
            continue
        told.add((place, before.place))
        by = "twice in one drive" if before.draft is draft else "by two drives"
        number = bit + outputs.bus.counted_from
        message = f"output {number} of `{outputs.bus.name}` is used {by}"
        hint = "give one of them other outputs with `at`"
        related = Related(before.place, "first used here")
        findings.error("output-taken", message, place, hint, related)
    if bits:
        outputs.next = bits[-1][0] + 1


def _report_overflow(outputs: _BusOutputs, findings: Findings) -> None:
    bus = outputs.bus
    beyond = {bit: taken for bit, taken in outputs.taken.items() if not 0 <= bit < bus.bits}
    if not beyond:
        return
    taken, has = beyond[min(beyond)], amount_of(bus.bits, "output")
    related = Related(bus.place, f"declared with {has}")
    if outputs.needed > bus.bits:
        message = f"`{bus.name}` has {has}, but {outputs.needed} are needed"
        hint = f"give it `bits {outputs.needed}`, or put some drives on another bus"
        findings.error("too-few-outputs", message, taken.place, hint, related)
    else:
        first = bus.counted_from
        last = first + bus.bits - 1
        wrong = (max(beyond) if max(beyond) >= bus.bits else min(beyond)) + first
        message = f"`{bus.name}` has no output {wrong}: they count from {first} to {last}"
        findings.error(
            "no-such-output", message, taken.place, f"give numbers up to {last}", related
        )


def _shared_out(draft: DriveDraft, outputs: Sequence[int], groups: Groups) -> Assigned:
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
