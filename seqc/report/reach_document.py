"""Glyphs out of reach, for JSON: every cause, the repairs, and the nearest pictures."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from seqc.machine.model import Machine
from seqc.machine.parts import Cell
from seqc.machine.signs import signs_of
from seqc.report.pictures import picture
from seqc.solver.reach.causes import Cause, Conflict, Reach
from seqc.solver.reach.moves import Regrouping
from seqc.solver.reach.nearest import Nearest
from seqc.solver.reach.new_linkage import NewLinkage
from seqc.solver.reach.remedy import Remedy
from seqc.solver.reach.repair import Repair


def reach_document(
    machine: Machine, reach: Reach, remedy: Remedy, nearest: Iterable[Nearest]
) -> dict[str, Any]:
    """All about one grid."""
    return {
        "grid": reach.grid.name,
        "signs": signs_of(machine),
        "glyphs": len(reach.glyphs),
        "beyond": [glyph.name for glyph in reach.beyond],
        "lacking": [
            {
                "kind": lack.kind,
                "cells": [[cell.row, cell.column] for cell in lack.cells],
                "glyphs": [glyph.name for glyph in lack.glyphs],
            }
            for lack in reach.lacking
        ],
        "causes": [_cause(cause) for cause in reach.causes],
        "repair": _repair(remedy.repair),
        "regrouping": _regrouping(remedy.regrouping),
        "nearest": [_nearest(machine, reach, near) for near in nearest],
    }


def _cause(cause: Cause) -> dict[str, Any]:
    proof = cause.proof
    return {
        "parts": [part.name for part in cause.parts],
        "glyphs": [glyph.name for glyph in cause.glyphs],
        "conflicts": [
            {**_conflict(conflict), "glyphs": [glyph.name for glyph in conflict.glyphs]}
            for conflict in cause.conflicts
        ],
        "proof": {
            "glyph": proof.glyph.name,
            "cells": _cells(proof.cells),
            "kinds": list(proof.kinds),
            **_conflict(proof.conflict),
        },
    }


def _conflict(conflict: Conflict) -> dict[str, Any]:
    selectors = [actuator.name for actuator in conflict.selectors]
    return {"metering": conflict.metering.name, "selectors": selectors}


def _repair(repair: Repair) -> dict[str, Any]:
    return {
        "added": repair.added,
        "lower_bound_added": repair.lower_bound,
        "proven": repair.proven,
        "outputs": repair.outputs,
        "splits": [
            {"actuator": split.actuator.name, "parts": [_cells(part) for part in split.parts]}
            for split in repair.splits
        ],
        "links": [_link(link) for link in repair.links],
    }


def _regrouping(regrouping: Regrouping) -> dict[str, Any]:
    return {
        "moves": [
            {"cell": [move.cell.row, move.cell.column], "from": move.old.name, "to": move.new.name}
            for move in regrouping.moves
        ],
        "lower_bound_moves": regrouping.lower_bound,
        "proven": regrouping.proven,
        "impossible": regrouping.impossible,
        "links": [_link(link) for link in regrouping.links],
    }


def _link(link: NewLinkage) -> dict[str, Any]:
    return {
        "part": link.part.name,
        "grid": link.grid.name,
        "linkage": link.setting,
        "map": list(link.rows),
    }


def _nearest(machine: Machine, reach: Reach, near: Nearest) -> dict[str, Any]:
    return {
        "glyph": near.glyph.name,
        "font": near.glyph.font,
        "picture": picture(reach.grid, near.kinds, signs_of(machine)),
        "wrong": _cells(near.wrong),
        "lower_bound_wrong": near.lower_bound,
        "proven": near.proven,
    }


def _cells(cells: Iterable[Cell]) -> list[list[int]]:
    return [[cell.row, cell.column] for cell in cells]
