"""Every design in the list as a machine: read as it stands, planned, built and replayed."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from examples_on_disk import machine_file
from linkage_fonts import FONTS

import seqc
from seqc.linkages.finding import Linkages
from seqc.linkages.offers import Offer
from seqc.machine.findings import Findings
from seqc.machine.glyphs import Frame, Glyph, Programme
from seqc.machine.model import Machine
from seqc.machine.steptable import TablesFor
from seqc.solver.needs import needs_of

THREE_KINDS = """
font flags for mast {
    mark "#" slate
    mark "." chalk
    mark "o" amber
    glyph "a" { |#.o| |#.#| |..o| }
    glyph "b" { |##o| |.oo| |#.o| }
    glyph "c" { |#..| |oo.| |..#| }
    glyph "d" { |ooo| |...| |ooo| }
}
"""


def designs(path: Path, **asked: object) -> Linkages:
    return seqc.find_linkages(path, Findings(), **asked)  # type: ignore[arg-type]


def holds(found: Linkages, offer: Offer, folder: Path, pictures: int) -> None:
    """Read a design's file back and hold it against its line of the list."""
    path = folder / f"design{found.offers.index(offer)}.lanes"
    path.write_text(offer.text, "utf-8")
    findings = Findings()
    machine = seqc.read(path, findings)
    assert not findings.has_errors
    assert len(machine.actuators) == offer.price.actuators
    programme = glyphs_in_turn(machine, found)
    planned = seqc.plan(machine, programme, seqc.PULSES)
    most = max(len(grid.passes) for plan in planned.plan.plans for grid in plan)
    assert most == offer.found.passes
    tables = seqc.tables(machine, programme, TablesFor.PROGRAMME, slower=True, prefer=seqc.PULSES)
    assert not seqc.replay(machine, tables, programme).faults
    shown = [shows(machine, found, seed) for seed in range(pictures)]
    assert all(shown) or not offer.found.every_picture


def glyphs_in_turn(machine: Machine, found: Linkages) -> Programme:
    names = [glyph.name for glyph in found.wish.glyphs]
    font = next(font for font in machine.fonts if font.grid.name == found.lane.grid.name)
    frames = tuple(Frame((font.by_name[name],)) for name in names)
    return Programme("all", frames, 1_000_000, repeat=True)


def shows(machine: Machine, found: Linkages, seed: int) -> bool:
    """Whether a random picture is in reach."""
    random = Random(seed)
    lane = machine.lane_of(found.lane.grid.name)
    kinds = [item.name for item in lane.items]
    picture = tuple(random.choice(kinds) for _ in lane.grid.cells)
    glyph = Glyph("?", "", lane.grid.name, picture)
    needs = needs_of(machine, lane.grid.name).needs(glyph.kinds)
    return all(need.possible for need in needs.values())


@pytest.mark.thorough
def test_the_designs_of_the_berth_board_do_what_the_list_says(tmp_path: Path) -> None:
    found = designs(machine_file("berth_board", tmp_path), most_passes=2)
    sizes = {offer.found.design.sizes for offer in found.offers}
    assert (6, 4) in sizes
    fewest = {o.found.passes: o.price.actuators for o in reversed(found.offers)}
    assert fewest[2] == 11
    for offer in found.offers:
        holds(found, offer, tmp_path, 25)


@pytest.mark.thorough
def test_three_kinds_are_tied_level_by_level(tmp_path: Path) -> None:
    (tmp_path / "flags.lanes").write_text(THREE_KINDS, "utf-8")
    found = designs(tmp_path / "flags.lanes")
    assert len(found.offers[0].found.design.labels) == 3
    for offer in found.offers:
        holds(found, offer, tmp_path, 25)


SHAPES = [
    pytest.param(shape, marks=pytest.mark.thorough if shape == "connected" else ())
    for shape in seqc.LINKAGE_SHAPES
]


@pytest.mark.quick(1)
@pytest.mark.parametrize("shape", SHAPES)
def test_every_shape_gives_machines(shape: str, tmp_path: Path) -> None:
    (tmp_path / "narrow.lanes").write_text(FONTS["narrow"], "utf-8")
    found = designs(tmp_path / "narrow.lanes", shape=shape, most_passes=1)
    assert len(found.offers) > 1
    for offer in found.offers[1:]:
        holds(found, offer, tmp_path, 5)


@pytest.mark.campaign
@pytest.mark.parametrize("name", ["berth_board", *FONTS])
@pytest.mark.parametrize("every_picture", [False, True])
def test_a_thousand_pictures_of_every_design(
    name: str, every_picture: bool, tmp_path: Path
) -> None:
    if name in FONTS:
        path = tmp_path / f"{name}.lanes"
        path.write_text(FONTS[name], "utf-8")
    else:
        path = machine_file(name, tmp_path)
    found = designs(path, every_picture=every_picture)
    for offer in found.offers:
        holds(found, offer, tmp_path, 1_000)
