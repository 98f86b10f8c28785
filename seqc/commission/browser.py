"""The page on loopback: it shows the session, and passes on what a person presses."""

from __future__ import annotations

import json
import threading
from http import HTTPStatus
from importlib.resources import files

from seqc.commission.link import SILENCE_S
from seqc.commission.orders import Orders
from seqc.commission.session import RefusedError
from seqc.commission.view import machine_document, now_document
from seqc.report.loopback import Answer, Asked, Loopback

LOOK_S = 0.1
PUSH_S = 0.05
LONGEST_ORDER = 4_000
HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; "
    "connect-src 'self'; form-action 'none'; base-uri 'none'"
}
MEDIA = {
    "": "text/html; charset=utf-8",
    "page.js": "text/javascript; charset=utf-8",
    "page.css": "text/css; charset=utf-8",
}
FILES = {"": "index.html", "page.js": "page.js", "page.css": "page.css"}


class Browser:
    """Serves the page of a session. When it is closed while it drives, the machine stops."""

    def __init__(self, orders: Orders, port: int = 0) -> None:
        self._orders = orders
        self._dirty = threading.Event()
        self._over = threading.Event()
        self._drives = False
        self._server = Loopback(
            {**dict.fromkeys(FILES, self._file), "machine.json": self._machine},
            {"do": self._do, "stop": self._stop},
            port,
            HEADERS,
        )
        self._threads = [
            threading.Thread(target=work, daemon=True) for work in (self._push, self._mind)
        ]

    @property
    def url(self) -> str:
        """Where the page is."""
        return self._server.url

    def start(self) -> None:
        """Serve in the background until `close`."""
        self._orders.session.changed = self._dirty.set
        self._server.start()
        for thread in self._threads:
            thread.start()

    def close(self) -> None:
        """Serve no more."""
        self._over.set()
        self._dirty.set()
        self._server.close()

    def tell(self, text: str) -> None:
        """Show a line of text on open pages."""
        self._server.stream.tell("said", text, kept=False)

    def _file(self, asked: Asked) -> Answer:
        name = FILES[asked.path]
        body = files("seqc.commission").joinpath("page", name).read_bytes()
        return Answer(body, MEDIA[asked.path])

    def _machine(self, _: Asked) -> Answer:
        document = machine_document(self._orders.session)
        return Answer(json.dumps(document).encode(), "application/json")

    def _do(self, asked: Asked) -> Answer:
        self._drives = True
        text = asked.body[:LONGEST_ORDER].decode("utf-8", "replace")
        lines = self._orders.obey(text)
        return Answer("\n".join(lines).encode(), "text/plain; charset=utf-8")

    def _stop(self, _: Asked) -> Answer:
        try:
            self._orders.session.stop()
        except RefusedError as error:
            body = f"not stopped: {error}".encode()
            return Answer(body, "text/plain; charset=utf-8", HTTPStatus.CONFLICT)
        return Answer(b"stop", "text/plain; charset=utf-8")

    def _push(self) -> None:
        """Tell pages what has changed, not more often than they can show it."""
        while not self._over.is_set():
            self._dirty.wait()
            self._dirty.clear()
            self._server.stream.tell("now", json.dumps(now_document(self._orders.session)))
            self._over.wait(PUSH_S)

    def _mind(self) -> None:
        """Stop the machine when the page that drives it is gone."""
        alone_s = 0.0
        while not self._over.wait(LOOK_S):
            alone_s = 0.0 if self._server.stream.listeners else alone_s + LOOK_S
            moving = self._orders.session.state in ("busy", "homing")
            if self._drives and moving and alone_s >= SILENCE_S:
                self._drives = False
                self._stop(Asked("stop"))
