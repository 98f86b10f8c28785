"""Glyphs out of reach, for JSON: every cause, the repairs, and the nearest pictures."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from seqc.machine.model import Machine
from seqc.machine.parts import Cell
from seqc.report.pictures import picture, signs_of
from seqc.solver.reach.causes import Cause, Reach, Tie
from seqc.solver.reach.linking import Relinked
from seqc.solver.reach.moving import Relinking
from seqc.solver.reach.nearest import Nearest
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
            {"kind": lack.kind, "glyphs": [glyph.name for glyph in lack.glyphs]}
            for lack in reach.lacking
        ],
        "causes": [_cause(cause) for cause in reach.causes],
        "repair": _repair(remedy.repair),
        "relinking": _relinking(remedy.relinking),
        "nearest": [_nearest(machine, reach, near) for near in nearest],
    }


def _cause(cause: Cause) -> dict[str, Any]:
    proof = cause.proof
    return {
        "parts": [part.name for part in cause.parts],
        "glyphs": [glyph.name for glyph in cause.glyphs],
        "ties": [
            {**_tie(tie), "glyphs": [glyph.name for glyph in tie.glyphs]} for tie in cause.ties
        ],
        "proof": {
            "glyph": proof.glyph.name,
            "cells": _cells(proof.cells),
            "kinds": list(proof.kinds),
            **_tie(proof.tie),
        },
    }


def _tie(tie: Tie) -> dict[str, Any]:
    selectors = [actuator.name for actuator in tie.selectors]
    return {"metering": tie.metering.name, "selectors": selectors}


def _repair(repair: Repair) -> dict[str, Any]:
    return {
        "added": repair.added,
        "least_added": repair.least,
        "proven": repair.proven,
        "outputs": repair.outputs,
        "splits": [
            {"actuator": split.actuator.name, "parts": [_cells(part) for part in split.parts]}
            for split in repair.splits
        ],
        "links": [_link(link) for link in repair.links],
    }


def _relinking(relinking: Relinking) -> dict[str, Any]:
    return {
        "moves": [
            {"cell": [move.cell.row, move.cell.column], "from": move.old.name, "to": move.new.name}
            for move in relinking.moves
        ],
        "least_moves": relinking.least,
        "proven": relinking.proven,
        "impossible": relinking.impossible,
        "links": [_link(link) for link in relinking.links],
    }


def _link(link: Relinked) -> dict[str, Any]:
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
        "least_wrong": near.least,
        "proven": near.proven,
    }


def _cells(cells: Iterable[Cell]) -> list[list[int]]:
    return [[cell.row, cell.column] for cell in cells]
