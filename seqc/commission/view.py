"""What the page shows, as plain documents: the machine once, and what changes whenever it does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from seqc.commission.session import Session
from seqc.commission.steps import CAUTIONS, FIRST, GUIDES, Guide
from seqc.faults import NOT_LOOKED
from seqc.machine.signs import signs_of
from seqc.schedule.commissioning import Named


def machine_document(session: Session) -> dict[str, Any]:
    """What stays: the grids, the kinds, the actuators, the steps with their tables."""
    machine = session.machine
    signs = signs_of(machine)
    numbers = {one.name: number for number, one in enumerate(session.named)}
    return {
        "machine": machine.name,
        "cautions": list(CAUTIONS),
        "kinds": [{"name": i.name, "tone": i.tone, "sign": signs[i.name]} for i in machine.items],
        "grids": [
            {
                "name": grid.name,
                "rows": grid.rows,
                "columns": grid.columns,
                "cells": [[*cell] for cell in grid.cells],
                "kinds": [item.name for item in machine.lane_of(grid.name).items],
            }
            for grid in machine.grids
        ],
        "actuators": [actuator.name for actuator in machine.actuators],
        "steps": [
            _guide("before", FIRST, []),
            *(
                _guide(step, guide, [_table(session, one, numbers) for one in tables])
                for step, guide in GUIDES.items()
                if (tables := [one for one in session.named if one.step is step])
            ),
        ],
    }


def _guide(name: str, guide: Guide, tables: Sequence[dict[str, Any]]) -> dict[str, Any]:
    return {
        "name": str(name),
        "title": guide.title,
        "do": list(guide.do),
        "watch": list(guide.watch),
        "wrong": list(guide.wrong),
        "tables": list(tables),
    }


def _table(session: Session, one: Named, numbers: dict[str, int]) -> dict[str, Any]:
    parts = [n for n, part in enumerate(session.parts, 1) if part.number_of(one.name) is not None]
    return {
        "number": numbers[one.name],
        "name": one.name,
        "ms": one.table.length_us // 1000,
        "parts": parts,
    }


def now_document(session: Session) -> dict[str, Any]:
    """What changes: the controller, the parts, what should be seen and what was marked."""
    heard = session.link.heard
    expected = session.expected
    return {
        "state": session.state,
        "lost": heard.lost,
        "garbage": heard.garbage,
        "part": session.parts.index(session.part) + 1 if session.part else None,
        "partCount": len(session.parts),
        "step": str(session.step),
        "playing": session.playing.name if session.playing else None,
        "last": session.last.name if session.last else None,
        "motions": [[*motion] for motion in expected.motions] if session.playing else [],
        "positions": expected.positions(),
        "expected": {grid: list(kinds) for grid, kinds in expected.pictures.items()},
        "marked": {
            grid.name: list(session.sights.seen_of(grid.name, (NOT_LOOKED,) * len(grid.cells)))
            for grid in session.machine.grids
        },
        "judged": {
            str(entry.get("table")): bool(entry.get("right"))
            for entry in session.record.entries
            if entry["what"] == "judged"
        },
    }
