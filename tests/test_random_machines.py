"""Whatever can be planned is shown: random machines, all tables, seen in the simulator."""

from __future__ import annotations

from random import Random

import pytest
from boards import SHOWING
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import Limits, loadable_glyph, random_machine

import seqc
from seqc.machine.glyphs import Frame, Programme
from seqc.machine.model import Machine
from seqc.machine.steptable import TablesFor

GLYPHS = 3
EVERY_US = 4_000_000


def case(random: Random, mixed: bool) -> tuple[Machine, Programme]:
    """A random machine and a repeating programme of random pictures that it can load."""
    machine = random_machine(random, Limits(mixed=mixed))
    glyphs = [loadable_glyph(random, machine, f"g{number}") for number in range(GLYPHS)]
    frames = tuple(Frame((glyph,)) for glyph in glyphs)
    return machine, Programme("all", frames, EVERY_US, repeat=True)


@pytest.mark.quick(1)
@pytest.mark.parametrize("mixed", [False, True], ids=["alike", "mixed"])
@pytest.mark.parametrize("tables_for", SHOWING, ids=lambda tables_for: tables_for.value)
@settings(max_examples=10, deadline=None)
@given(random=st.randoms(use_true_random=False))
def test_every_plan_that_is_built_shows_its_glyph(
    tables_for: TablesFor, mixed: bool, random: Random
) -> None:
    machine, programme = case(random, mixed)
    # What is built is held to the pictures here, not how soon it is loaded.
    tables = seqc.tables(machine, programme, tables_for, slower=True, effort="quick")
    result = seqc.replay(machine, tables, programme)
    assert not result.faults, str(machine)
    assert not result.unchecked
    shown = {name for table in tables.tables for _, name in table.shows}
    assert shown == {glyph.name for frame in programme.frames for glyph in frame}
