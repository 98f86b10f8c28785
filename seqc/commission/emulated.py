"""A controller and a machine that aren't there: firmware that runs here, on a simulated machine.

It is a port like any other, so that everything above can be learnt and tried before the machine
exists, with faults set in it.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence

from seqc.commission.firmware import Firmware
from seqc.commission.ports import LostError
from seqc.faults import Fault
from seqc.faults.trials import joined
from seqc.machine.model import Machine
from seqc.machine.steptable import Step, StepTable, TableSet
from seqc.simulator import Picture, Simulator

STEP_S = 0.002


class Emulated:
    """The firmware of a build, and the machine that hangs on it, with `faults` in it.

    Its time goes `speed` times as fast as that of the clock.
    """

    def __init__(
        self,
        machine: Machine,
        table_set: TableSet,
        *,
        faults: Sequence[Fault] = (),
        speed: float = 1.0,
    ) -> None:
        self.machine = machine
        self._tables = table_set
        self._speed = speed
        self._lock = threading.RLock()
        self._simulator = Simulator(machine, stock=False, defects=joined(faults))
        self._edges: list[tuple[int, int]] = []
        self._looked_us = 0
        self._word = machine.idle_word
        self._base_us = 0
        self._said = b""
        self._pulled = False
        self._started_s = time.monotonic()
        self._firmware = self._powered()

    def read(self, most_s: float) -> bytes:
        """What the firmware has said meanwhile."""
        until = time.monotonic() + most_s
        while True:
            with self._lock:
                self._go_on()
                said, self._said = self._said, b""
            if said or time.monotonic() >= until:
                return said
            time.sleep(STEP_S)

    def write(self, data: bytes) -> None:
        """Bytes for the firmware, which obeys them at once."""
        with self._lock:
            self._go_on()
            self._said += self._firmware.hear(data).encode()

    def close(self) -> None:
        """Let go of the line; the firmware and the machine go on."""

    def pull(self, out: bool) -> None:
        """Pull the cable out, or plug it in again."""
        with self._lock:
            self._go_on_unheard()
            self._pulled = out

    def reset(self) -> None:
        """Reset the controller: its outputs are inactive at once, and it begins anew."""
        with self._lock:
            self._go_on_unheard()
            self._put(self._firmware.now_us, self.machine.idle_word)
            self._base_us += self._firmware.now_us
            self._started_s = time.monotonic()
            self._firmware = self._powered()

    @property
    def pictures(self) -> dict[str, Picture]:
        """What is seen now, by grid."""
        with self._lock:
            self._go_on_unheard()
            self._replay()
            return self._simulator.pictures

    @property
    def simulator(self) -> Simulator:
        """The machine as it stands."""
        return self._simulator

    def _powered(self) -> Firmware:
        return Firmware(self.machine, self._tables, self._put)

    def _go_on(self) -> None:
        if self._pulled:
            self._go_on_unheard()
            raise LostError("the cable is pulled out")
        elapsed_us = int((time.monotonic() - self._started_s) * self._speed * 1e6)
        self._said += self._firmware.advance(elapsed_us).encode()

    def _go_on_unheard(self) -> None:
        elapsed_us = int((time.monotonic() - self._started_s) * self._speed * 1e6)
        self._firmware.advance(elapsed_us)

    def _put(self, at_us: int, word: int) -> None:
        if word != self._word:
            self._word = word
            self._edges.append((self._base_us + at_us, word))

    def _replay(self) -> None:
        """Let the simulated machine catch up with its outputs."""
        now_us = self._base_us + self._firmware.now_us
        steps = tuple(Step(at - self._looked_us, word) for at, word in self._edges)
        self._simulator.run(StepTable("live", steps, now_us - self._looked_us))
        self._edges.clear()
        self._looked_us = now_us
