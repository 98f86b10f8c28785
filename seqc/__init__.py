"""The way from a machine file to checked firmware tables.

Each function is one stretch of the way and calls its stages in order: `read` a machine, `plan` what
it is to show, lay the plan out as `tables`, `check` them in the simulator, `build` files from them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from seqc.machine.findings import Findings, InputError

if TYPE_CHECKING:
    from seqc.codegen.target import Target
    from seqc.machine.glyphs import Programme
    from seqc.machine.model import Machine
    from seqc.machine.steptable import Layout, TableSet
    from seqc.schedule.timing import ProgrammeTiming
    from seqc.simulator.replay import Replay
    from seqc.solver.plan import ProgrammePlan


def read(path: Path, findings: Findings, show: str = "") -> Machine:
    """Read a machine file and draw its fonts, the characters of the text `show` among them.

    Findings are collected in `findings`; raises InputError when any of them is an error.
    """
    from seqc import fonts, language

    declared = language.read(path, findings)
    machine = fonts.dress(declared, findings, wanted=show) if declared else None
    if machine is None or findings.has_errors:
        raise InputError(findings)
    return machine
