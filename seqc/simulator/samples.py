"""Machines as they may come out: many drawn one by one, and all of them at once by their bounds."""

from __future__ import annotations

import pickle
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import lru_cache

from seqc.machine.model import Machine
from seqc.machine.progress import counted
from seqc.machine.steptable import StepTable
from seqc.machine.workers import workers
from seqc.simulator.faults import Fault, FaultKind
from seqc.simulator.pieces import Drawn, DrawnAnew, bounds
from seqc.simulator.replay import Glyphs, Replay, check

FEW = 8
"""So few machines are run here; more of them on every core."""

_Trial = tuple[Machine, Sequence[StepTable], Glyphs, bool]


@dataclass(frozen=True, slots=True)
class Weakness:
    """A rule that some machines break: in how many, in how many first of all, and most of all.

    `about` is the actuator or the grid. `deepest` is the fault that lacks the most time.
    """

    kind: FaultKind
    about: str
    machines: int
    first_in: int
    deepest: Fault


@dataclass(frozen=True, slots=True)
class Samples:
    """What came of `count` machines drawn, `faulty` of which had any fault; the weakest first."""

    count: int
    faulty: int
    weaknesses: tuple[Weakness, ...]


def check_bounds(
    machine: Machine,
    tables: Iterable[StepTable],
    glyphs: Glyphs | None = None,
    *,
    stock: bool = False,
    endless: bool = False,
    homing: bool = False,
) -> Replay:
    """Run tables with every event between its earliest and its latest time.

    A rule that any machine within the tolerances could break is a fault; where there is none, none
    of these machines has one. The rest is as for `check`.
    """
    played = list(tables)
    replays = [
        check(machine, played, glyphs, stock=stock, pieces=each, endless=endless, homing=homing)
        for each in bounds(machine)
    ]
    faults = list(replays[0].faults)
    known = {_identity(fault) for fault in faults}
    for further in replays[1:]:
        faults += [fault for fault in further.faults if _identity(fault) not in known]
    faults.sort(key=lambda fault: fault.at_us)
    return replace(replays[0], faults=tuple(faults))


def sample(
    machine: Machine,
    tables: Iterable[StepTable],
    glyphs: Glyphs | None = None,
    *,
    count: int,
    seed: int = 0,
    anew: bool = False,
    endless: bool = False,
    executor: Executor | None = None,
) -> Samples:
    """Run tables on machines whose parts are drawn within their tolerances, each value as likely.

    Each piece is drawn once for its machine, or `anew` at each of its uses; the controller's clock
    once. Equal seeds draw equal machines, on any number of cores. The magazines don't run empty.
    """
    packed = pickle.dumps((machine, list(tables), dict(glyphs or {}), endless))
    numbers = range(count)
    if executor is None and count > FEW:
        with workers() as own:
            return _summed(_spread(own, packed, numbers, seed, anew), count)
    if executor is None:
        return _summed(_faults_of(packed, numbers, seed, anew), count)
    return _summed(_spread(executor, packed, numbers, seed, anew), count)


def _spread(
    executor: Executor, packed: bytes, numbers: range, seed: int, anew: bool
) -> Iterator[tuple[Fault, ...]]:
    shares = [numbers[first : first + FEW] for first in range(0, len(numbers), FEW)]
    answers = [executor.submit(_faults_of, packed, share, seed, anew) for share in shares]
    for answer in counted("shares of them", answers):
        yield from answer.result()


@lru_cache(maxsize=1)
def _unpacked(packed: bytes) -> _Trial:
    trial: _Trial = pickle.loads(packed)
    return trial


def _faults_of(packed: bytes, numbers: range, seed: int, anew: bool) -> list[tuple[Fault, ...]]:
    machine, tables, glyphs, endless = _unpacked(packed)
    draw = DrawnAnew if anew else Drawn
    pieces = (draw(machine, f"{seed} {number}") for number in numbers)
    return [
        check(machine, tables, glyphs, stock=False, pieces=each, endless=endless).faults
        for each in pieces
    ]


def _summed(sampled: Iterable[Sequence[Fault]], count: int) -> Samples:
    found: dict[tuple[FaultKind, str], Weakness] = {}
    faulty = 0
    for faults in sampled:
        faulty += bool(faults)
        first = min(faults, key=lambda fault: fault.at_us, default=None)
        for (kind, about), worst in _worst(faults).items():
            leads = first is not None and (first.kind, _about(first)) == (kind, about)
            known = found.get((kind, about), Weakness(kind, about, 0, 0, worst))
            found[kind, about] = Weakness(
                kind,
                about,
                known.machines + 1,
                known.first_in + leads,
                max(known.deepest, worst, key=lambda fault: fault.by_us),
            )
    ordered = sorted(found.values(), key=lambda each: (-each.first_in, -each.machines))
    return Samples(count, faulty, tuple(ordered))


def _worst(faults: Iterable[Fault]) -> dict[tuple[FaultKind, str], Fault]:
    worst: dict[tuple[FaultKind, str], Fault] = {}
    for fault in faults:
        known = worst.setdefault((fault.kind, _about(fault)), fault)
        if fault.by_us > known.by_us:
            worst[fault.kind, _about(fault)] = fault
    return worst


def _about(fault: Fault) -> str:
    return fault.actuator or fault.grid


def _identity(fault: Fault) -> tuple[str, str, str, str]:
    return fault.table, fault.kind, _about(fault), str(fault.cell or "")
