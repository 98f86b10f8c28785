"""What a replay saw, as one JSON document."""

from __future__ import annotations

from typing import Any

from seqc.machine.model import Machine
from seqc.simulator import Fault, Replay, Seen


def replay_document(machine: Machine, replay: Replay) -> dict[str, Any]:
    """A replay for JSON: the kinds seen go with the cells of each grid, row by row."""
    return {
        "machine": machine.name,
        "seen": [
            {"table": seen.table, "end_us": seen.end_us, "pictures": _pictures(seen)}
            for seen in replay.seen
        ],
        "unchecked": list(replay.unchecked),
        "faults": [_fault_document(fault) for fault in replay.faults],
        "pulses": dict(replay.pulses),
        "taken": dict(replay.taken),
    }


def _pictures(seen: Seen) -> dict[str, list[str | None]]:
    return {grid: list(kinds) for grid, kinds in seen.pictures.items()}


def _fault_document(fault: Fault) -> dict[str, Any]:
    return {
        "kind": str(fault.kind),
        "at_us": fault.at_us,
        "table": fault.table,
        "what": fault.what,
    }
