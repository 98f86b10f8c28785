"""What each output of a machine switches."""

from __future__ import annotations

from collections.abc import Mapping

from seqc.machine.model import Machine

ROLES = {
    1: ("coil",),
    2: ("forward", "reverse"),
    4: ("row high", "column low", "row low", "column high"),
}
"""What an actuator's outputs do, by how many it has."""


def output_uses(machine: Machine) -> Mapping[int, tuple[tuple[str, str], ...]]:
    """What each output switches: the actuator or drive, and forward, reverse or another role."""
    uses: dict[int, list[tuple[str, str]]] = {}
    for actuator in machine.actuators:
        roles = ROLES[len(actuator.outputs)]
        for output, role in zip(actuator.outputs, roles, strict=True):
            uses.setdefault(output, []).append((actuator.name, role))
        shared = ((actuator.drive.reverser, "reverser"), (actuator.drive.switch, "switch"))
        for common, role in shared:
            if common is not None and common not in actuator.outputs:
                use = (", ".join(actuator.drive.parts), role)
                entries = uses.setdefault(common, [])
                if use not in entries:
                    entries.append(use)
    return {output: tuple(entries) for output, entries in uses.items()}
