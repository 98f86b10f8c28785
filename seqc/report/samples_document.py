"""What drawn machines and the bounds of all of them do to step tables, as one JSON document."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from seqc.machine.model import Machine
from seqc.simulator import Fault, Replay, Samples


def samples_document(
    machine: Machine, once: Samples, anew: Samples, within: Replay, seed: int
) -> dict[str, Any]:
    """The same for JSON."""
    return {
        "machine": machine.name,
        "seed": seed,
        "once_a_piece": _document(once),
        "anew_at_each_use": _document(anew),
        "within_bounds": _fault_documents(within.faults),
    }


def _document(samples: Samples) -> dict[str, Any]:
    return {
        "machines": samples.count,
        "with_a_fault": samples.faulty,
        "weaknesses": [
            {
                "kind": str(each.kind),
                "about": each.about,
                "machines": each.machines,
                "first_in": each.first_in,
                "worst": _fault_documents((each.deepest,))[0],
            }
            for each in samples.weaknesses
        ],
    }


def _fault_documents(faults: Sequence[Fault]) -> list[dict[str, Any]]:
    return [
        {
            "kind": str(fault.kind),
            "at_us": fault.at_us,
            "by_us": fault.by_us,
            "table": fault.table,
            "what": fault.what,
        }
        for fault in faults
    ]
