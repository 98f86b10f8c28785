"""Text to machine: the stages of the language in order."""

from __future__ import annotations

import pathlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from seqc.language.copies import check_copies, check_font_copies, copied_fonts, copied_lanes
from seqc.language.declared import Declared
from seqc.language.drives import check_drives, read_drives
from seqc.language.electrics import declare_electrics
from seqc.language.files import collect, read_file
from seqc.language.fonts import declare_fonts
from seqc.language.items import declare_grids, declare_items
from seqc.language.lanes import read_lanes
from seqc.language.outputs import Assigned, assign_outputs
from seqc.language.parts import Maps, are_few, check_linkages, declare_parts
from seqc.language.paths import Paths
from seqc.language.programmes import read_programmes
from seqc.language.scope import Scope, check_name
from seqc.language.sketch import Lack, completed
from seqc.language.source import Source, Word
from seqc.machine.electrics import Drive
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.model import Machine
from seqc.machine.parts import Gate, Item, Lane, Selector
from seqc.machine.wiring import Actuator, Group, groups_of, wired


def read(
    path: pathlib.Path, findings: Findings, allowed: Sequence[pathlib.Path] = ()
) -> Declared | None:
    """A machine file and all that it includes.

    None when errors keep a machine from being assembled. All that is wrong with texts, includes,
    names, quantities, linkages and outputs is added to `findings` in one run.
    """
    text = read_file(path, Place(str(path), 1, 1), findings)
    if text is None:
        return None
    return read_source(collect(text, str(path), findings, allowed), findings)


def read_text(text: str, name: str, findings: Findings) -> Declared | None:
    """A machine from the text of a file; `name` is its path, by which includes are found."""
    return read_source(collect(text, name, findings), findings)


@dataclass(frozen=True, slots=True)
class Sketched:
    """A machine that isn't whole yet, with stand-ins for what it lacks."""

    declared: Declared
    lacks: tuple[Lack, ...]


def read_sketch(
    path: pathlib.Path, findings: Findings, allowed: Sequence[pathlib.Path] = ()
) -> Sketched | None:
    """A machine file of which statements may be missing; None where none are, or on an error."""
    text = read_file(path, Place(str(path), 1, 1), findings)
    if text is None:
        return None
    source, lacks = completed(collect(text, str(path), findings, allowed))
    declared = read_source(source, findings) if lacks else None
    return Sketched(declared, lacks) if declared else None


def read_source(source: Source, findings: Findings) -> Declared | None:
    """A machine from the statements of a file and of all that it includes."""
    scope = Scope(source, findings)
    machine = _machine(source, scope)
    declare_fonts(source, scope)
    check_font_copies(scope)
    programmes = read_programmes(source, scope)
    if machine is None:
        return None
    return Declared(machine, copied_fonts(scope.fonts.values(), scope.copies), programmes)


def _machine(source: Source, scope: Scope) -> Machine | None:
    name = _name(source, scope.findings)
    declare_items(source, scope)
    declare_grids(source, scope)
    check_copies(scope)
    declare_electrics(source, scope)
    _require_grid(source, scope)
    maps = declare_parts(source, scope)
    paths = Paths(source, scope)
    lanes = read_lanes(source, scope, paths)
    groups, assigned = _wiring(source, scope, lanes, maps)
    _warn_unused(source, scope, paths, lanes)
    if name is None or scope.findings.has_errors:
        return None
    return _assembled(name, scope, lanes, _actuators(groups, assigned, scope))


def _name(source: Source, findings: Findings) -> Word | None:
    """The name of the machine, which is to be given once."""
    statements = list(source.of("machine"))
    for statement in statements:
        check_name(statement.name, findings)
    for second in statements[1:]:
        related = Related(statements[0].place, "the first one")
        message = "the machine is named twice"
        findings.error("second-machine", message, second.place, "leave one out", related)
    if not statements and source.is_whole("machine"):
        place = Place(source.name, 1, 1)
        hint = "begin with `machine NAME`"
        findings.error("missing-machine", "the file doesn't name its machine", place, hint)
    return statements[0].name if statements else None


def _require_grid(source: Source, scope: Scope) -> None:
    if not scope.grids.entries and source.is_whole("grid"):
        place = next((s.name.place for s in source.of("machine")), Place(source.name, 1, 1))
        hint = "add `grid NAME { columns 4 rows 6 }` and its lane"
        scope.findings.error("missing-grid", "the machine has no grid", place, hint)
        scope.grids.whole = False


def _wiring(
    source: Source, scope: Scope, lanes: Sequence[Lane], maps: Maps
) -> tuple[dict[str, tuple[Group, ...]], tuple[Assigned, ...]]:
    """The groups of every part, and the outputs of every drive where all are sound enough."""
    parts = tuple(part for part in scope.stations.values() if not isinstance(part, Item))
    moved = [p for p in parts if any(p in lane.selectors or p in lane.gates for lane in lanes)]
    drafts = read_drives(source, scope)
    check_drives(source, drafts, moved, scope)
    fit = check_linkages(parts, lanes, maps, scope.findings)
    unsound = any(entry.value is None for entry in scope.stations)
    if not fit or unsound or len(lanes) < len(scope.grids.entries):
        return {}, ()
    copied = copied_lanes(lanes, scope.copies)
    if not are_few(parts, copied, scope.findings):
        return {}, ()
    groups = groups_of(parts, copied)
    return groups, assign_outputs(drafts, groups, scope.findings)


def _warn_unused(source: Source, scope: Scope, paths: Paths, lanes: Sequence[Lane]) -> None:
    """Warn of what is declared and not used, unless that may follow from what is wrong."""
    if not source.whole or scope.findings.has_errors:
        return
    scope.warn_unused()
    if len(lanes) == len(scope.grids.entries):
        scope.warn_unplaced()
        paths.warn_unused()


def _actuators(
    groups: Mapping[str, Sequence[Group]], assigned: Sequence[Assigned], scope: Scope
) -> tuple[Actuator, ...]:
    drives: dict[str, Drive] = {}
    outputs: dict[str, tuple[int, ...]] = {}
    for each in assigned:
        drive = _drive(each, scope)
        drives.update(dict.fromkeys(each.by_part, drive))
        outputs.update(each.by_part)
    return wired({name: found for name, found in groups.items() if found}, drives, outputs)


def _drive(assigned: Assigned, scope: Scope) -> Drive:
    draft = assigned.draft
    assert draft.supply is not None
    settings = draft.settings
    return Drive(
        kind=draft.kind,
        parts=tuple(part.name for part in draft.parts),
        supply=draft.supply,
        relay=draft.relay,
        dead_us=settings.integer("dead time") or 0,
        reverser=assigned.reverser,
        switch=assigned.switch,
        place=draft.statement.place,
        turn_on_us=settings.integer("turn on") or 0,
        turn_off_us=settings.integer("turn off") or 0,
        turn_on_tolerance=scope.tolerance.of(settings, "turn on"),
        turn_off_tolerance=scope.tolerance.of(settings, "turn off"),
    )


def _assembled(
    name: Word,
    scope: Scope,
    lanes: tuple[Lane, ...],
    actuators: tuple[Actuator, ...],
) -> Machine:
    moved = {actuator.part.name: actuator.part for actuator in actuators}
    return Machine(
        name=name.text,
        items=tuple(item for item in scope.stations.values() if isinstance(item, Item)),
        lanes=copied_lanes(lanes, scope.copies),
        selectors=tuple(part for part in moved.values() if isinstance(part, Selector)),
        gates=tuple(part for part in moved.values() if isinstance(part, Gate)),
        actuators=actuators,
        buses=scope.buses.values(),
        supplies=scope.supplies.values(),
        place=name.place,
        clearance=scope.layout.clearance(actuators, lanes),
        controller=scope.controller,
        hottest_c=scope.hottest_c,
        assumed_ppm=scope.tolerance.ppm if scope.tolerance.is_assumed else None,
    )
