"""Frames that show faults, and the faults that explain what was seen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from seqc.face.planning import refuse, unfit
from seqc.face.reaching import out_of_reach
from seqc.machine.findings import (
    Findings,
    InputError,
    Place,
)

if TYPE_CHECKING:
    from seqc.faults import Diagnosis, NextTable, SeenFile, TestFrames
    from seqc.machine.glyphs import Frame
    from seqc.machine.model import Machine

MOST_GLYPHS = 20


@dataclass(frozen=True)
class Diagnosed:
    """What was seen, what explains it, and the frame to play next if one tells more, by name."""

    seen: SeenFile
    diagnosis: Diagnosis
    next_frame: tuple[str, Frame, NextTable] | None = None


def find_test_frames(machine: Machine, only: Sequence[str] = ()) -> TestFrames:
    """The fewest frames that reveal every fault of a machine, and that tell faults apart.

    They are made of some kinds `only` where any are named. Raises InputError when a machine has no
    such kind, ShortfallError when a supply can't feed a coil.
    """
    from seqc import faults
    from seqc.machine.wording import did_you_mean

    findings = Findings()
    known = list(dict.fromkeys(item.name for lane in machine.lanes for item in lane.items))
    for kind in only:
        if kind not in known:
            what = f"no lane of the machine offers an item `{kind}`"
            findings.error("unknown-name", what, machine.place, did_you_mean(kind, known))
    if findings.has_errors:
        raise InputError(findings)
    refuse(unfit(machine, ()))
    return faults.find_test_frames(machine, only)


def diagnose(
    machine: Machine,
    path: Path,
    findings: Findings,
    only: Sequence[str] = (),
    handled: Sequence[str] = (),
    is_new: bool = False,
) -> Diagnosed:
    """What is wrong with a machine, from a file of what was seen of some frames.

    Test frames that the file speaks of are those of `find_test_frames`. `handled` names actuators
    that were worked on last; a machine `is_new` until it has worked once. Raises InputError when
    the file or a name can't be understood, ShortfallError when a picture that was asked for is out
    of reach.
    """
    from functools import cache

    from seqc import faults
    from seqc.language import files

    tests = cache(lambda: find_test_frames(machine, only).telling)
    text = files.read_file(path, Place(str(path), 1, 1), findings)
    seen = None if text is None else faults.read_seen(text, str(path), machine, tests, findings)
    _known(machine, handled, findings)
    if seen is None or findings.has_errors:
        raise InputError(findings)
    frames = tuple(dict.fromkeys(play.frame for play in seen.plays))
    refuse(unfit(machine, (glyph for frame in frames for glyph in frame)))
    table_of = dict(zip(frames, faults.plain_tables(machine, frames).tables, strict=True))
    home = faults.home_of(faults.plain_tables(machine, ()))
    evidence = faults.Evidence(handled=handled, is_new=is_new)
    examiner = faults.Examiner(machine, home, before=seen.before, evidence=evidence)
    for play in seen.plays:
        examiner.play(table_of[play.frame])
    found = examiner.diagnosed([play.seen for play in seen.plays])
    if sum(len(suspect.causes) for suspect in found.suspects) < 2:
        return Diagnosed(seen, found)
    named = {f"test {number}": frame for number, frame in enumerate(tests(), 1)}
    named |= {f'frame "{name}"': frame for name, frame in _glyph_frames(machine)}
    tables = faults.plain_tables(machine, tuple(named.values())).tables
    narrowing = faults.next_table(examiner, found, tables)
    if narrowing is None:
        return Diagnosed(seen, found)
    return Diagnosed(seen, found, ([*named.items()][narrowing.number] + (narrowing,)))


def _known(machine: Machine, actuators: Iterable[str], findings: Findings) -> None:
    """Report actuators that the machine doesn't have."""
    from seqc.machine.wording import did_you_mean

    known = [actuator.name for actuator in machine.actuators]
    for name in actuators:
        if name not in known:
            what = f"the machine has no actuator `{name}`"
            findings.error("unknown-name", what, machine.place, did_you_mean(name, known))


def _glyph_frames(machine: Machine) -> list[tuple[str, Frame]]:
    """A few frames of the first font, those within reach."""
    from seqc.machine.glyphs import Frame

    glyphs = machine.fonts[0].glyphs[:MOST_GLYPHS] if machine.fonts else ()
    lost = {glyph for beyond in out_of_reach(machine, glyphs) for glyph in beyond.reach.beyond}
    return [(glyph.name, Frame((glyph,))) for glyph in glyphs if glyph not in lost]
