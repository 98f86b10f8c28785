"""A diagnosis and test frames as JSON documents."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from seqc.faults import Diagnosis, Fault, NextTable, Suspect, TestFrames
from seqc.machine.glyphs import Frame
from seqc.machine.model import Machine
from seqc.report.fault_words import WHERE_TO_LOOK, fault_words


def diagnosis_document(
    machine: Machine,
    diagnosis: Diagnosis,
    tables: Sequence[str],
    next_frame: tuple[str, Frame, NextTable] | None,
) -> dict[str, Any]:
    """All suspects, likeliest first."""
    return {
        "machine": machine.name,
        "frames": list(tables),
        "wrong": _cells(machine, diagnosis.wrong),
        "explained": diagnosis.is_explained,
        "suspects": [_suspect(machine, each, tables) for each in diagnosis.suspects],
        "cut_short": diagnosis.cut_short,
        "next": None
        if next_frame is None
        else {
            "frame": next_frame[0],
            "pictures": _frame(next_frame[1]),
            "groups": next_frame[2].groups,
            "left": next_frame[2].left,
        },
    }


def test_frames_document(machine: Machine, found: TestFrames) -> dict[str, Any]:
    """The frames that reveal and those that tell apart, with the faults."""
    return {
        "machine": machine.name,
        "only": list(found.only),
        "revealing": [_frame(frame) for frame in found.revealing],
        "telling": [_frame(frame) for frame in found.telling],
        "alike": [[_fault(machine, fault) for fault in group] for group in found.alike],
        "hidden": [{**_fault(machine, each.fault), "why": each.why.value} for each in found.hidden],
        "lower_bound": {"revealing": found.least_revealing, "telling": found.least_telling},
        "settled": found.settled,
    }


def _suspect(machine: Machine, suspect: Suspect, tables: Sequence[str]) -> dict[str, Any]:
    return {
        "share": suspect.share,
        "causes": [
            {"share": share, "faults": [_fault(machine, fault, tables) for fault in faults]}
            for faults, share in zip(suspect.causes, suspect.shares, strict=True)
        ],
    }


def _fault(machine: Machine, fault: Fault, tables: Sequence[str] = ()) -> dict[str, Any]:
    return {
        "kind": fault.kind.value,
        "text": fault_words(machine, fault, tables),
        "look": WHERE_TO_LOOK[fault.kind],
        "actuators": [machine.actuators[index].name for index in fault.actuators],
        "output": fault.output,
        "cells": _cells(machine, sorted(fault.footprint)),
    }


def _cells(machine: Machine, spots: Sequence[tuple[str, int]]) -> list[dict[str, Any]]:
    grids = {grid.name: grid for grid in machine.grids}
    return [
        {"grid": name, "row": grids[name].cells[n].row, "column": grids[name].cells[n].column}
        for name, n in spots
    ]


def _frame(frame: Frame) -> dict[str, list[str]]:
    return {glyph.grid: list(glyph.kinds) for glyph in frame}
