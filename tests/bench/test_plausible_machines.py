"""Time, proof and cost of planning machines as makers would have them, within the default effort.

Each is planned in a process of its own, so that none finds what another has left in a cache.
Run with `pytest -s tests/bench/test_plausible_machines.py`.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

from bench.conftest import Record
from bench.figures import table
from bench.plausible import MACHINES, SHAPES, plausible_machine

MOST_S = 5.0
"""Of processor time, for one plan."""

NEAR = 1.01
"""How much of its lower bound a cost may be, on nine of ten machines."""


def measured(path: Path) -> dict[str, float]:
    """What planning the machine of a file takes, and what comes of it."""
    import seqc
    from seqc.machine.findings import Findings

    machine = seqc.read(path, Findings())
    programme = seqc.asked(machine)
    begun = time.process_time()
    planned = seqc.plan(machine, programme)
    spent = time.process_time() - begun
    plan, timing = planned.plan, planned.timing
    return {
        "spent_s": spent,
        "actuators": len(machine.actuators),
        "frames": len(plan.plans),
        "load_us": plan.cost.load_us,
        "least_load_us": plan.lower_bound.load_us,
        "pulses": plan.cost.pulses,
        "least_pulses": plan.lower_bound.pulses,
        "period_us": timing.period_us,
        "least_period_us": timing.bound_us,
    }


def test_plausible_machines(tmp_path: Path, record: Record) -> None:
    found = [_alone(tmp_path / f"machine_{seed}.lanes", seed) for seed in range(MACHINES)]
    rows = [
        [
            seed,
            "{} by {}".format(*SHAPES[seed % len(SHAPES)]),
            int(one["actuators"]),
            int(one["frames"]),
            f"{one['spent_s']:.1f}",
            _held(one, "load_us", 1_000),
            _held(one, "pulses", 1),
            _held(one, "period_us", 1_000),
        ]
        for seed, one in enumerate(found)
    ]
    header = ["machine", "columns by rows", "actuators", "frames", "s", "loads ms", "pulses"]
    record("Plausible machines", table([*header, "period ms"], rows))
    assert max(one["spent_s"] for one in found) <= MOST_S
    for figure in ("load_us", "pulses", "period_us"):
        near = sum(one[figure] <= NEAR * one[f"least_{figure}"] for one in found)
        assert near >= 0.9 * MACHINES, figure


def _held(one: dict[str, float], figure: str, unit: int) -> str:
    """A figure, and how far its bound is below where it isn't proven."""
    value, least = one[figure], one[f"least_{figure}"]
    gap = "" if value == least else f" ({100 * (value - least) / value:.1f} %)"
    return f"{value / unit:.0f}{gap}"


def _alone(path: Path, seed: int) -> dict[str, float]:
    path.write_text(plausible_machine(seed), "utf-8")
    words = [sys.executable, "-m", "bench.test_plausible_machines", str(path)]
    done = subprocess.run(
        words, capture_output=True, text=True, check=True, cwd=Path(__file__).parents[1]
    )
    figures: dict[str, float] = json.loads(done.stdout)
    return figures


if __name__ == "__main__":
    print(json.dumps(measured(Path(sys.argv[1]))))
