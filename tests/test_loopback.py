"""The loopback server answers its own pages alone, and pushes events to them."""

from __future__ import annotations

import http.client
import threading
from collections.abc import Iterator
from contextlib import closing

import pytest

from seqc.report.loopback import LOOPBACK, Answer, Asked, Loopback


@pytest.fixture
def server() -> Iterator[Loopback]:
    def page(asked: Asked) -> Answer:
        return Answer(f"page {asked.path}".encode())

    def call(asked: Asked) -> Answer:
        return Answer(asked.body[::-1], "text/plain")

    with Loopback({"": page, "below/": page}, {"turn": call}) as started:
        yield started


def request(
    server: Loopback,
    method: str = "GET",
    path: str = "",
    *,
    host: str | None = None,
    secret: str | None = None,
    origin: str | None = None,
    body: bytes | None = None,
) -> tuple[int, bytes]:
    connection = http.client.HTTPConnection(LOOPBACK, server.port, timeout=10)
    headers = {"Host": f"127.0.0.1:{server.port}" if host is None else host}
    if origin is not None:
        headers["Origin"] = origin
    whole = f"/{server.secret if secret is None else secret}/{path}"
    with closing(connection):
        connection.request(method, whole, body, headers)
        response = connection.getresponse()
        return response.status, response.read()


def test_a_page_is_served_under_the_secret_path(server: Loopback) -> None:
    assert request(server) == (200, b"page ")
    assert request(server, path="below/here") == (200, b"page below/here")
    assert request(server, path="nothing")[0] == 404


@pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "127.0.0.1", ""])
def test_another_host_is_refused(server: Loopback, host: str) -> None:
    status, body = request(server, host=host)
    assert status == 421
    assert b"page" not in body


@pytest.mark.parametrize("secret", ["", "x", "..", "%2e"])
def test_no_path_without_the_secret_is_answered(server: Loopback, secret: str) -> None:
    assert request(server, secret=secret)[0] == 404


def test_two_servers_have_different_secrets(server: Loopback) -> None:
    other = Loopback({})
    assert other.secret != server.secret
    other.close()


def test_it_listens_on_the_loopback_interface_alone(server: Loopback) -> None:
    assert server._server.server_address[0] == LOOPBACK
    assert server.url.startswith(f"http://127.0.0.1:{server.port}/")


def test_a_call_comes_from_its_own_page(server: Loopback) -> None:
    own = f"http://127.0.0.1:{server.port}"
    assert request(server, "POST", "turn", origin=own, body=b"abc") == (200, b"cba")
    for origin in (None, "null", "http://evil.example", f"http://127.0.0.1:{server.port + 1}"):
        assert request(server, "POST", "turn", origin=origin, body=b"abc")[0] == 403
    assert request(server, "POST", "", origin=own, body=b"")[0] == 404


def test_a_page_that_opens_hears_the_latest_of_each_kind(server: Loopback) -> None:
    server.stream.tell("findings", "one")
    server.stream.tell("findings", "two\nlines")
    server.stream.tell("said", "once", kept=False)
    connection = http.client.HTTPConnection(LOOPBACK, server.port, timeout=10)
    with closing(connection):
        connection.request("GET", f"/{server.secret}/events")
        response = connection.getresponse()
        assert response.getheader("Content-Type") == "text/event-stream; charset=utf-8"
        lines = [response.readline().decode() for _ in range(4)]
        assert lines == ["event: findings\n", "data: two\n", "data: lines\n", "\n"]
        threading.Timer(0.05, lambda: server.stream.tell("changed", "now")).start()
        assert response.readline() == b"event: changed\n"


def test_a_closed_stream_ends(server: Loopback) -> None:
    listening = server.stream.listen()
    server.stream.tell("a", "b")
    assert next(listening) == ("a", "b")
    server.stream.close()
    assert list(listening) == []
    assert server.stream.listeners == 0
