"""An emulated controller behind a pseudo-terminal, as behind a serial port, with a cable."""

from __future__ import annotations

import os
import select
import signal
import socket
import subprocess
import threading
import time
import tty
from contextlib import suppress
from pathlib import Path

from firmware.emulated import Controller


class Wired:
    """A controller in simavr in real time; `device` is its port, a link that stays by its name."""

    def __init__(self, controller: Controller, folder: Path) -> None:
        self.device = folder / "port"
        self.idle = controller.machine.idle_word
        self.word = self.idle
        self.edges: list[tuple[float, int]] = []
        self.garbage = b""
        ours, theirs = socket.socketpair()
        self._line = ours
        size = (controller.machine.width + 7) // 8
        self._mask = (1 << controller.machine.width) - 1
        self._process = subprocess.Popen(
            [
                controller.emulator,
                controller.folder / "seqc.elf",
                *controller.wiring,
                f"{self.idle:0{2 * size}x}",
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            pass_fds=[theirs.fileno()],
            text=True,
        )
        assert self._process.stdin is not None
        self._process.stdin.write(f"line {theirs.fileno()}\n")
        self._process.stdin.flush()
        theirs.close()
        self._master: int | None = None
        self._over = threading.Event()
        self._lock = threading.Lock()
        self.plug()
        self._threads = [
            threading.Thread(target=work, daemon=True) for work in (self._watch, self._pump)
        ]
        for thread in self._threads:
            thread.start()

    def plug(self) -> None:
        """Plug the cable in."""
        master, slave = os.openpty()
        tty.setraw(slave)
        self.device.unlink(missing_ok=True)
        self.device.symlink_to(os.ttyname(slave))
        self._slave = slave
        self._master = master

    def pull(self) -> None:
        """Pull the cable out."""
        with self._lock:
            assert self._master is not None
            os.close(self._master)
            os.close(self._slave)
            self._master = None
            self.device.unlink()

    def reset(self) -> None:
        """Reset the controller."""
        self._process.send_signal(signal.SIGUSR1)

    def close(self) -> None:
        """End it."""
        self._over.set()
        self._process.kill()
        for thread in self._threads:
            thread.join()
        for pipe in (self._process.stdin, self._process.stdout, self._line):
            if pipe is not None:
                pipe.close()
        self._process.wait()
        if self._master is not None:
            self.pull()

    def _watch(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            words = line.split()
            if words[0] == "out":
                self.word = int(words[2], 16) & self._mask
                self.edges.append((time.monotonic(), self.word))

    def _pump(self) -> None:
        """Carry bytes between the controller and the port, while the cable is in."""
        while not self._over.is_set():
            with self._lock:
                self._carry(self._master)
            time.sleep(0.0005)

    def _carry(self, master: int | None) -> None:
        with suppress(OSError):
            if select.select([self._line], [], [], 0)[0]:
                data = self._line.recv(256)
                if master is not None:
                    os.write(master, data)
            if master is not None and self.garbage:
                data, self.garbage = self.garbage, b""
                os.write(master, data)
            if master is not None and select.select([master], [], [], 0)[0]:
                self._line.send(os.read(master, 256))
