"""A berth board on its own bench: emulated, with a session and a record, for the tests of both."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import seqc
from seqc.commission.emulated import Emulated
from seqc.commission.orders import Orders
from seqc.commission.ports import Port
from seqc.commission.record import Record
from seqc.commission.session import Session
from seqc.faults import Fault
from seqc.machine.findings import Findings
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet
from seqc.schedule.commissioning import Commissioning

EXAMPLE = Path(seqc.__file__).parent / "examples" / "berth_board.lanes"
SPEED = 3.0
"""A line is silent to a controller for so much longer, so it can't be much more."""


@cache
def berth() -> Machine:
    return seqc.read(EXAMPLE, Findings())


@cache
def made() -> Commissioning:
    """Its tables, without test frames, which take long to find."""
    return seqc.commissioning(berth(), with_test_frames=False)


def until(what: Callable[[], object], most_s: float = 20) -> None:
    """Wait until something holds; fails where it doesn't in time."""
    end = time.monotonic() + most_s
    while not what():
        assert time.monotonic() < end, "it didn't come about in time"
        time.sleep(0.01)


class Bench:
    """A session at a port, what it has told, and orders to it."""

    def __init__(
        self, record: Path, open_port: Callable[[], Port], emulated: Emulated | None = None
    ) -> None:
        self.told: list[str] = []
        self.emulated = emulated
        self.record = Record(record, berth().name)
        self.session = Session([(made(),)], self.record, open_port, self.told.append)
        self.orders = Orders(self.session, (lambda: emulated.pictures) if emulated else None)
        self.session.start()
        until(lambda: self.session.state != "lost")

    def obey(self, order: str) -> list[str]:
        return self.orders.obey(order)

    def until(self, *states: str) -> None:
        until(lambda: self.session.state in states)

    def do(self, *orders: str) -> list[str]:
        """Orders one after the other, each when the last is done; the answer to the last."""
        said: list[str] = []
        for order in orders:
            said = self.obey(order)
            self.obey("wait")
        return said

    def noted(self, what: str) -> list[str]:
        """The tables of all entries of a kind."""
        return [str(entry.get("table")) for entry in self.record.entries if entry["what"] == what]


@contextmanager
def bench(
    record: Path, faults: Sequence[Fault] = (), tables: TableSet | None = None
) -> Iterator[Bench]:
    """An emulated berth board."""
    emulated = Emulated(berth(), tables or made().table_set, faults=faults, speed=SPEED)
    found = Bench(record, lambda: emulated, emulated)
    try:
        yield found
    finally:
        found.session.close()
