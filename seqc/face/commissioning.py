"""Builds of the small tables, and the desk that drives a machine with them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from seqc.face.building import known_targets
from seqc.face.planning import refuse
from seqc.face.replaying import replay_findings, varying_findings
from seqc.machine.findings import (
    Finding,
)

if TYPE_CHECKING:
    from seqc.codegen import Target
    from seqc.commission.desk import Desk
    from seqc.machine.steptable import TableSet
    from seqc.schedule.commissioning import Commissioning


def commissioning_choices(made: Commissioning) -> tuple[tuple[Commissioning, ...], ...]:
    """All tables in one set, and every other way in which a controller we know may have them."""
    known = (divided(made, target) for target in known_targets() if target.budget is not None)
    ways = {tuple(len(one.named) for one in parts): parts for parts in known}
    return tuple({(len(made.named),): (made,), **ways}.values())


def commissioning_sheet(made: Commissioning) -> tuple[str, ...]:
    """The bring-up as a checklist for paper, line by line."""
    from seqc.commission.sheet import sheet_lines

    return tuple(sheet_lines((made,)))


def commissioning_document(made: Commissioning) -> dict[str, object]:
    """The steps of the bring-up with their tables, for JSON."""
    from seqc.commission.sheet import sheet_document

    return sheet_document((made,))


def serial_ports() -> tuple[tuple[str, str], ...]:
    """The serial ports of this computer, each with what hangs on it; raises InputError."""
    from seqc.commission.ports import serial_ports as listed

    return tuple((port.device, port.words) for port in listed())


def desk(
    made: Commissioning,
    record: Path,
    port: str | None = None,
    *,
    faults: int = 0,
    seed: int | None = None,
) -> Desk:
    """What a machine is commissioned at: its terminal, its page, and the line to its controller.

    Without a `port` the controller and the machine are emulated, with so many secret `faults`.
    Raises InputError where the record can't be used.
    """
    from seqc.commission.desk import emulated_desk, serial_desk

    choices = commissioning_choices(made)
    if port is not None:
        return serial_desk(choices, record, port)
    return emulated_desk(choices, record, faults, seed)


def divided(commissioning: Commissioning, target: Target) -> tuple[Commissioning, ...]:
    """The tables in as many sets as a target's controller needs, each with `park`; often one."""
    from seqc.codegen.division import divided as numbers_of
    from seqc.schedule.commissioning import Step

    named = commissioning.named
    kinds = [f"{one.grid} {one.step}" for one in named]
    always = [number for number, one in enumerate(named) if one.step is Step.PARKING]
    parts = numbers_of(target, commissioning.machine, commissioning.table_set, kinds, always)
    return tuple(commissioning.part(named[number] for number in part) for part in parts)


def build_commissioning(
    commissioning: Commissioning, chosen: Sequence[Target], out: Path
) -> tuple[Path, ...]:
    """Write the tables of commissioning for each target below `out`, with a list of their names.

    Where a controller is too small for all of them, each part has a folder `part_N` of its own.
    Every table is proven on the machine that it is for. Raises as `build` does.
    """
    from seqc import codegen
    from seqc.machine.steptable import TableSet

    files: dict[str, str] = {}
    rows: dict[str, tuple[Commissioning, ...]] = {}
    proven: list[TableSet] = []
    for target in chosen:
        rows[target.name] = parts = divided(commissioning, target)
        for number, part in enumerate(parts, 1):
            folder = f"part_{number}/{target.name}" if len(parts) > 1 else target.name
            rendered = codegen.render(target, part.machine, part.table_set)
            written = codegen.proven(target, rendered) or part.table_set
            assert isinstance(written, TableSet)
            if written not in proven:
                refuse(commissioning_faults(part, written))
                proven.append(written)
            files |= {f"{folder}/{name}": text for name, text in rendered.items()}
    files["commissioning.csv"] = _list_of_names(rows)
    return codegen.write_files(files, out)


def commissioning_faults(part: Commissioning, table_set: TableSet) -> tuple[Finding, ...]:
    """What the simulator finds wrong with tables, each run on the machine that it is for.

    It runs the nominal machine, and all that could be built of parts within their tolerances.
    """
    from seqc.commission import proof

    if len(table_set.tables) != len(part.named):
        raise ValueError("the tables aren't those that were made")
    nominal = replay_findings(part.machine, proof.replayed(part, table_set))
    return tuple(dict.fromkeys(nominal)) or varying_findings(
        part.machine, proof.replayed_bounds(part, table_set)
    )


def _list_of_names(parts: Mapping[str, Sequence[Commissioning]]) -> str:
    """The names of the tables by target, part and number, as CSV."""
    import csv
    import io

    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(("target", "part", "number", "table", "step", "grid", "milliseconds"))
    for target, several in parts.items():
        for part, commissioning in enumerate(several, 1):
            for number, one in enumerate(commissioning.named):
                length = -(-one.table.length_us // 1000)
                rows.writerow((target, part, number, one.name, one.step, one.grid, length))
    return text.getvalue()
