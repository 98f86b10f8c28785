"""Everything of one commissioning put together: the session, the terminal and the page."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from itertools import islice
from pathlib import Path

from seqc.commission.browser import Browser
from seqc.commission.emulated import Emulated
from seqc.commission.orders import Orders
from seqc.commission.ports import Port, SerialPort
from seqc.commission.record import Record
from seqc.commission.session import Session
from seqc.commission.steps import CAUTIONS
from seqc.commission.terminal import Terminal
from seqc.faults import Fault, faults_of, home_of
from seqc.report.fault_words import fault_words
from seqc.schedule.commissioning import Commissioning, Step
from seqc.simulator import SOUND, Simulator

Choices = Sequence[Sequence[Commissioning]]


class Desk:
    """A session with its terminal and its page; `secret` faults are in an emulated machine."""

    def __init__(
        self,
        choices: Choices,
        record: Path,
        open_port: Callable[[], Port],
        emulated: Emulated | None = None,
        secret: Sequence[Fault] = (),
    ) -> None:
        machine = choices[0][0].machine
        self.record = Record(record, machine.name)
        self.session = Session(choices, self.record, open_port, self._tell)
        self.orders = Orders(self.session, (lambda: emulated.pictures) if emulated else None)
        self.terminal = Terminal(self.orders)
        self.browser = Browser(self.orders)
        self._secret = tuple(secret)

    def run(self) -> None:
        """Cautions first; then serve the terminal and the page until the person leaves."""
        for line in CAUTIONS:
            self.terminal.tell(line)
        self.terminal.tell(f"record: {self.record.path}")
        self.terminal.tell(f"page: {self.browser.url}")
        self.browser.start()
        self.session.start()
        try:
            self.terminal.run()
        finally:
            self.session.close()
            self.browser.close()
        for line in self._told():
            self.terminal.tell(line)

    def _told(self) -> Iterator[str]:
        machine = self.session.machine
        yield from (f"it was: {fault_words(machine, fault)}" for fault in self._secret)

    def _tell(self, text: str) -> None:
        self.terminal.tell(text)
        self.browser.tell(text)


def serial_desk(choices: Choices, record: Path, device: str) -> Desk:
    """A desk for a controller on a serial port."""
    return Desk(choices, record, lambda: SerialPort(device))


def _shows(whole: Commissioning, fault: Fault) -> bool:
    """Whether a frame of one kind or a glyph looks otherwise with a fault, so that it's found."""
    tables = [one.table for one in whole.named if one.step in (Step.KINDS, Step.GLYPHS)]
    sound, broken = (
        Simulator(whole.machine, stock=False, defects=defects) for defects in (SOUND, fault.defects)
    )
    for table in (*home_of(whole.frame), *tables):
        if sound.run(table).pictures != broken.run(table).pictures and table in tables:
            return True
    return False


def emulated_desk(choices: Choices, record: Path, faults: int, seed: int | None) -> Desk:
    """A desk for a machine that isn't there, with so many faults set in it in secret."""
    whole = choices[0][0]
    known = list(faults_of(whole.machine))
    random.Random(seed).shuffle(known)
    secret = list(islice((fault for fault in known if _shows(whole, fault)), faults))
    emulated = Emulated(whole.machine, whole.table_set, faults=secret)
    return Desk(choices, record, lambda: emulated, emulated, secret)
