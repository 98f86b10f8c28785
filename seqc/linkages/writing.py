"""A design put into the text of a machine file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from seqc.language.formatting import formatted
from seqc.language.parsing import parse
from seqc.language.source import Statement
from seqc.linkages.draft import Draft
from seqc.linkages.edits import Edits, drawn, settings_of
from seqc.linkages.question import Design
from seqc.linkages.signatures import linked_parts
from seqc.linkages.typical import BITS
from seqc.machine.findings import Findings, InputError, Place
from seqc.machine.model import Machine
from seqc.machine.parts import Lane, Linkage, LinkageKind
from seqc.solver.reach.new_linkage import linked_anew

Linkages = Mapping[str, Linkage]
"""By the name of a part."""

BYTE = 8


def linkages_of(lane: Lane, design: Design) -> Linkages | None:
    """The linkages of a design; None where a part has more groups than there are letters."""
    found = {}
    for part, labels in zip(linked_parts(lane), design.labels, strict=True):
        label_of = dict(zip(lane.grid.cells, labels, strict=True))
        linkage = linked_anew(part, lane.grid, label_of).linkage
        if linkage is None:
            return None
        found[part.name] = linkage
    return found


def written(draft: Draft, linkages: Linkages, bits: Mapping[str, int]) -> str:
    """The machine file with other linkages, and buses of so many bits or BITS, if they have fewer.

    Outputs are assigned anew in the order of declaration. Every part stands in the draft itself.
    The text is laid out anew, comments kept.
    """
    statements, _ = parse(draft.text, str(draft.path), Findings())
    edits = Edits(draft.text)
    parts = {s.name.text: s for s in statements if s.keyword in ("selector", "gate")}
    for name, linkage in linkages.items():
        edits.set(parts[name], "linkage", setting(linkage))
    for statement in statements:
        if statement.keyword == "outputs" and (room := _room(statement, bits)):
            edits.set(statement, "bits", f"bits {room}")
        elif statement.keyword == "drive" and (span := edits.span(statement, "at")):
            edits.replace(*span, "")
    text = edits.result()
    return formatted(text, str(draft.path), Findings()) or text


def _room(statement: Statement, bits: Mapping[str, int]) -> int:
    """How many bits a bus is to have: never fewer than were declared by hand; 0: as it is."""
    declared = settings_of(statement).integer("bits") or 0
    needed = bits.get(statement.name.text, BITS)
    return needed if declared == BITS or declared < needed else 0


def setting(linkage: Linkage) -> str:
    """What stands in a block for a linkage."""
    if linkage.kind is not LinkageKind.MAP:
        return str(linkage)
    return f"map {drawn(linkage.letters)}"


def bits_used(machine: Machine) -> dict[str, int]:
    """How many bits of each bus are in use, in whole bytes where it is a shift register."""
    drives = {id(actuator.drive): actuator.drive for actuator in machine.actuators}.values()
    outputs = [output for actuator in machine.actuators for output in actuator.outputs]
    outputs += [o for drive in drives for o in (drive.reverser, drive.switch) if o is not None]
    used = {}
    for bus in machine.buses:
        own = [o - bus.first for o in outputs if bus.first <= o < bus.first + bus.bits]
        step = BYTE if bus.shift_register else 1
        used[bus.name] = -(-(1 + max(own, default=-1)) // step) * step
    return used


def require_parts(draft: Draft, names: Sequence[str]) -> None:
    """Raise InputError when a part is declared in another file than the draft."""
    statements, _ = parse(draft.text, str(draft.path), Findings())
    own = {s.name.text for s in statements if s.keyword in ("selector", "gate")}
    findings = Findings()
    for name in names:
        if name not in own:
            message = f"`{name}` is declared in another file than `{draft.path.name}`"
            hint = "move its statement there, so that its linkage can be written"
            findings.error("part-elsewhere", message, Place(str(draft.path), 1, 1), hint)
    if findings.has_errors:
        raise InputError(findings)
