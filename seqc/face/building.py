"""Step tables to the files of targets, once the simulator has passed them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from seqc.face.planning import refuse
from seqc.face.replaying import build_faults
from seqc.machine.findings import (
    NOWHERE,
    Findings,
    InputError,
)

if TYPE_CHECKING:
    from seqc.codegen import Target
    from seqc.machine.glyphs import Programme
    from seqc.machine.model import Machine
    from seqc.machine.tracks import Tables


def known_targets(extra: Path | None = None) -> tuple[Target, ...]:
    """Every target that code can be generated for; `extra` is a folder of further ones."""
    from seqc import codegen

    return codegen.targets(extra)


def targets_named(names: Iterable[str], extra: Path | None = None) -> tuple[Target, ...]:
    """Targets by their names; raises InputError when there is none of that name."""
    known = {target.name: target for target in known_targets(extra)}
    findings = Findings()
    for name in names:
        if name not in known:
            hint = f"it is one of {', '.join(known)}"
            findings.error("unknown-target", f"there is no target `{name}`", NOWHERE, hint)
    if findings.has_errors:
        raise InputError(findings)
    return tuple(known[name] for name in dict.fromkeys(names))


def build(
    machine: Machine,
    wanted: Programme,
    table_set: Tables,
    chosen: Sequence[Target],
    out: Path,
) -> tuple[Path, ...]:
    """Write the files of each target into a folder of its name below `out`, all or none.

    The step tables are read back from what is to be written and run in the simulator first, with
    nominal parts and with all that they may vary to; it must see what is `wanted`. Raises
    ShortfallError when it finds a fault, InputError when the folder can't be written.
    """
    from seqc import codegen

    files: dict[str, str] = {}
    proven: list[Tables] = []
    rendered = codegen.render_all(chosen, machine, table_set)
    for target in chosen:
        written = codegen.proven(target, rendered[target.name]) or table_set
        if written not in proven:
            refuse(build_faults(machine, wanted, written))
            proven.append(written)
        files |= {f"{target.name}/{name}": text for name, text in rendered[target.name].items()}
    return codegen.write_files(files, out)


def write_files(files: Mapping[str, str], out: Path) -> tuple[Path, ...]:
    """Write texts by file name into a folder, all or none; raises InputError if that can't be."""
    from seqc import codegen

    return codegen.write_files(files, out)


def sizes(machine: Machine, table_set: Tables, chosen: Iterable[Target]) -> tuple[str, ...]:
    """What a build takes of each target's controller, a line for each whose size is known."""
    from seqc.codegen.rendering import sizes as sizes_on

    found = [(target, sizes_on(target, machine, table_set)) for target in chosen]
    return tuple(f"{target.title}: {taken}" for target, taken in found if taken)
