"""The terminal: orders typed and answered, with a key that stops at once, whatever else goes on."""

from __future__ import annotations

import contextlib
import os
import queue
import sys
import threading
from collections.abc import Iterator

from seqc.commission.orders import Orders
from seqc.commission.session import RefusedError

STOP_KEYS = {"!", "\x1b"}
PROMPT = "> "
LEAVE = ("quit", "exit")
ERASE = {"\x7f", "\b"}
END = {"\x03", "\x04"}


class Terminal:
    """Reads orders from standard input, key by key where it is a terminal, else line by line."""

    def __init__(self, orders: Orders) -> None:
        self._orders = orders
        self._typed = ""
        self._keys = False
        self._lock = threading.Lock()
        self._waiting: queue.Queue[str | None] = queue.Queue()

    def tell(self, text: str) -> None:
        """Print a line, above what is being typed."""
        with self._lock:
            if self._keys:
                sys.stdout.write(f"\r\x1b[K{text}\n{PROMPT}{self._typed}")
            else:
                sys.stdout.write(f"{text}\n")
            sys.stdout.flush()

    def run(self) -> None:
        """Serve until the person leaves, or standard input ends."""
        with contextlib.suppress(EOFError):
            if sys.stdin.isatty() and os.name == "posix":
                self._by_key()
            else:
                self._by_line()

    def stop(self) -> None:
        """Stop the machine before anything else."""
        try:
            self._orders.session.stop()
            self.tell("stop")
        except RefusedError as error:
            self.tell(f"not stopped: {error}")

    def _obey(self, text: str) -> None:
        for line in self._orders.obey(text):
            self.tell(line)

    def _by_line(self) -> None:
        for line in sys.stdin:
            text = line.strip()
            if text in LEAVE:
                return
            if text in STOP_KEYS:
                self.stop()
            elif text:
                self._obey(text)

    def _by_key(self) -> None:
        """Keys are read here while orders are carried out elsewhere, so that a stop never waits."""
        worker = threading.Thread(target=self._work, daemon=True)
        worker.start()
        with _keys_at_once():
            self._keys = True
            self.tell("`help` lists what can be typed; ! or Esc stops at once")
            try:
                while self._take(os.read(sys.stdin.fileno(), 1).decode("latin-1")):
                    pass
            finally:
                self._keys = False
                self._waiting.put(None)
                sys.stdout.write("\n")

    def _work(self) -> None:
        while (text := self._waiting.get()) is not None:
            self._obey(text)

    def _take(self, key: str) -> bool:
        """Take one key; whether to go on."""
        if key in STOP_KEYS or key in END:
            self.stop()
            self._typed = ""
            return key not in END
        if not key:
            return False
        if key in "\r\n":
            text, self._typed = self._typed.strip(), ""
            self.tell(f"{PROMPT}{text}")
            if text in LEAVE:
                return False
            if text:
                self._waiting.put(text)
        elif key in ERASE:
            self._typed = self._typed[:-1]
            sys.stdout.write("\b \b")
        elif key.isprintable():
            self._typed += key
            sys.stdout.write(key)
        sys.stdout.flush()
        return True


@contextlib.contextmanager
def _keys_at_once() -> Iterator[None]:
    """Have each key read as it is pressed, Ctrl-C included; put the terminal back after it."""
    import termios
    import tty

    handle = sys.stdin.fileno()
    before = termios.tcgetattr(handle)
    tty.setcbreak(handle, termios.TCSANOW)
    now = termios.tcgetattr(handle)
    now[3] &= ~termios.ISIG
    termios.tcsetattr(handle, termios.TCSANOW, now)
    try:
        yield
    finally:
        termios.tcsetattr(handle, termios.TCSADRAIN, before)
