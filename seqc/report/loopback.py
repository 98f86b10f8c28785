"""A small web server for one user at this machine: pages, calls, and events that are pushed.

It listens on the loopback interface alone. A request is answered only if it names this very address
as its host, so that no other site's name can be made to lead here, and if its path begins with a
part drawn at random, which no other program on the machine knows. A call that changes anything
must come from a page of this server.
"""

from __future__ import annotations

import contextlib
import queue
import secrets
import threading
from collections.abc import Callable, Iterator, Mapping
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import NamedTuple

LOOPBACK = "127.0.0.1"
NAMES = (LOOPBACK, "localhost")
MOST_BODY = 1_000_000
"""No call has a longer body, in bytes."""

BEAT_S = 15.0
"""How often a stream without news is kept alive, which also tells whether its page is gone."""

POLL_S = 0.05
"""How often the server looks whether it is to stop."""

WAITING_EVENTS = 1_000
"""A page that is so many events behind is let go; it connects again and gets the latest ones."""

HEADERS = {
    "Cache-Control": "no-store",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "X-Frame-Options": "DENY",
}


class Answer(NamedTuple):
    """What a request gets: a body with its media type and status."""

    body: bytes
    media_type: str = "text/html; charset=utf-8"
    status: HTTPStatus = HTTPStatus.OK


class Asked(NamedTuple):
    """A request: its path below the secret part, without a slash in front, and its body."""

    path: str
    body: bytes = b""


Handler = Callable[[Asked], Answer]


class Event(NamedTuple):
    """Something that pages are told: a kind, and a text that may have several lines."""

    kind: str
    text: str

    @property
    def lines(self) -> str:
        """It as a server-sent event (HTML Living Standard, section 9.2)."""
        data = "".join(f"data: {line}\n" for line in self.text.split("\n"))
        return f"event: {self.kind}\n{data}\n"


class Stream:
    """The events that go to all open pages; the latest of each kind also to those that open later.

    A kind of which only those who listen at the time are to hear is told with `kept=False`.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._latest: dict[str, Event] = {}
        self._queues: list[queue.Queue[Event | None]] = []
        self._closed = False

    def tell(self, kind: str, text: str, *, kept: bool = True) -> None:
        """Push an event to every open page."""
        event = Event(kind, text)
        with self._lock:
            if kept:
                self._latest.pop(kind, None)
                self._latest[kind] = event
            for one in self._queues:
                with contextlib.suppress(queue.Full):
                    one.put_nowait(event)

    def forget(self, kind: str) -> None:
        """Don't tell pages that open later of a kind any more."""
        with self._lock:
            self._latest.pop(kind, None)

    def close(self) -> None:
        """End the streams of all pages."""
        with self._lock:
            self._closed = True
            for one in self._queues:
                with contextlib.suppress(queue.Full):
                    one.put_nowait(None)

    @property
    def listeners(self) -> int:
        """How many pages are open."""
        with self._lock:
            return len(self._queues)

    def listen(self) -> Iterator[Event | None]:
        """The latest events, then every one as it comes; None now and then, where there is none."""
        own: queue.Queue[Event | None] = queue.Queue(WAITING_EVENTS)
        with self._lock:
            closed = self._closed
            for event in self._latest.values():
                own.put_nowait(event)
            self._queues.append(own)
        try:
            while not closed and not own.full():
                try:
                    event_or_end = own.get(timeout=BEAT_S)
                except queue.Empty:
                    yield None
                    continue
                if event_or_end is None:
                    return
                yield event_or_end
        finally:
            with self._lock:
                self._queues.remove(own)


class Loopback:
    """The server. `pages` answer GET, `calls` POST, by the path below the secret part.

    A path that ends with a slash answers all below it. The path `events` is the stream. Raises
    OSError when the port is taken; port 0 is any that is free.
    """

    def __init__(
        self,
        pages: Mapping[str, Handler],
        calls: Mapping[str, Handler] | None = None,
        port: int = 0,
        headers: Mapping[str, str] | None = None,
    ) -> None:
        self.pages, self.calls = dict(pages), dict(calls or {})
        self.stream = Stream()
        self.secret = secrets.token_urlsafe(18)
        self.headers = {**HEADERS, **(headers or {})}
        self._server = _Server(self, port)
        self._thread = threading.Thread(
            target=self._server.serve_forever, args=(POLL_S,), daemon=True
        )

    @property
    def port(self) -> int:
        """The port that it listens on."""
        return int(self._server.server_address[1])

    @property
    def url(self) -> str:
        """The address of its first page."""
        return f"http://{LOOPBACK}:{self.port}/{self.secret}/"

    def is_host(self, host: str | None) -> bool:
        """Whether a request names this address as its host."""
        return host in {f"{name}:{self.port}" for name in NAMES}

    def is_origin(self, origin: str | None) -> bool:
        """Whether a page of this server makes a call; no browser leaves a call's origin out."""
        return origin in {f"http://{name}:{self.port}" for name in NAMES}

    def below_secret(self, path: str) -> str | None:
        """The path below the secret part, None where that is missing or wrong."""
        secret, slash, rest = path.partition("?")[0].removeprefix("/").partition("/")
        known = secrets.compare_digest(secret.encode(), self.secret.encode())
        return rest if slash and known else None

    def start(self) -> None:
        """Serve in the background until `close`."""
        self._thread.start()

    def close(self) -> None:
        """End all streams and stop."""
        self.stream.close()
        if self._thread.is_alive():
            self._server.shutdown()
        self._server.server_close()

    def __enter__(self) -> Loopback:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    allow_reuse_address = False

    def __init__(self, owner: Loopback, port: int) -> None:
        self.owner = owner
        super().__init__((LOOPBACK, port), _Request)


class _Request(BaseHTTPRequestHandler):
    server: _Server
    protocol_version = "HTTP/1.1"
    timeout = 60
    server_version, sys_version = "seqc", ""

    def do_GET(self) -> None:
        """Answer with a page or with the stream."""
        path = self._path()
        if path == "events":
            self._stream()
        elif path is not None:
            self._answer(self.server.owner.pages, Asked(path))

    def do_POST(self) -> None:
        """Answer a call of a page of this server."""
        path, length = self._path(), self.headers.get("Content-Length", "")
        if path is None:
            return
        if not self.server.owner.is_origin(self.headers.get("Origin")):
            self._send(_refusal(HTTPStatus.FORBIDDEN))
        elif not length.isdecimal() or int(length) > MOST_BODY:
            self._send(_refusal(HTTPStatus.REQUEST_ENTITY_TOO_LARGE))
        else:
            self._answer(self.server.owner.calls, Asked(path, self.rfile.read(int(length))))

    def _path(self) -> str | None:
        """The path below the secret part; None where the request has been refused."""
        owner = self.server.owner
        if not owner.is_host(self.headers.get("Host")):
            self._send(_refusal(HTTPStatus.MISDIRECTED_REQUEST))
            return None
        path = owner.below_secret(self.path)
        if path is None:
            self._send(_refusal(HTTPStatus.NOT_FOUND))
        return path

    def _answer(self, handlers: Mapping[str, Handler], asked: Asked) -> None:
        handler = handlers.get(asked.path)
        if handler is None:
            below = [
                name for name in handlers if name.endswith("/") and asked.path.startswith(name)
            ]
            handler = handlers[max(below, key=len)] if below else None
        self._send(handler(asked) if handler else _refusal(HTTPStatus.NOT_FOUND))

    def _send(self, answer: Answer) -> None:
        if answer.status >= HTTPStatus.BAD_REQUEST:
            # What is left of the body of a request that is refused is no next request.
            self.close_connection = True
        self.send_response(answer.status)
        self.send_header("Content-Type", answer.media_type)
        self.send_header("Content-Length", str(len(answer.body)))
        self._finish_head()
        with contextlib.suppress(ConnectionError):
            self.wfile.write(answer.body)

    def _finish_head(self) -> None:
        for name, value in self.server.owner.headers.items():
            self.send_header(name, value)
        if self.close_connection:
            self.send_header("Connection", "close")
        with contextlib.suppress(ConnectionError):
            self.end_headers()

    def _stream(self) -> None:
        self.close_connection = True
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", "text/event-stream; charset=utf-8")
        self._finish_head()
        with contextlib.suppress(ConnectionError, TimeoutError):
            for event in self.server.owner.stream.listen():
                self.wfile.write((event.lines if event else ": quiet\n\n").encode())
                self.wfile.flush()

    def log_message(self, *_: object) -> None:
        """Say nothing of requests."""


def _refusal(status: HTTPStatus) -> Answer:
    return Answer(f"{status.phrase}\n".encode(), "text/plain; charset=utf-8", status)
