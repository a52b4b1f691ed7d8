"""Connections of a running service: how long each is waited for, and what becomes of those that are too many."""

from __future__ import annotations

import contextlib
import json
import socket
from collections.abc import Iterator
from functools import partial

import pytest

from api.connections import LEAST
from api.media import MOST_HEAD
from tests.api.live import Service, started, until
from tests.api.raw import Exchanged, asked, exchange
from tests.api.service import JSON, PATIENCE, PROBLEM, SMALL_JSON

HEAD = b"GET /healthz HTTP/1.1\r\nHost: localhost\r\n"


@pytest.fixture(name="service", scope="module")
def a_service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """Start a service that waits for nobody for long."""
    settings = {"HEAD_SECONDS": "0.5", "TAKING_SECONDS": "0.5", "CONNECTIONS": str(LEAST), "RUNNING": "1"}
    with started(tmp_path_factory.mktemp("service") / "log", **settings) as service:
        yield service


def connected(service: Service) -> socket.socket:
    """Return a new connection."""
    return socket.create_connection(("127.0.0.1", service.port), timeout=PATIENCE)


def rest_of(connection: socket.socket) -> Exchanged:
    """Return what comes until the service ends the connection."""
    received = b""
    with contextlib.suppress(ConnectionError):
        for piece in iter(partial(connection.recv, 65536), b""):
            received += piece
    return Exchanged(received)


def refused(came: Exchanged, status: int, kind: str) -> None:
    """See that a connection was refused with a problem document and ended."""
    assert (came.status, came.whole) == (status, True), came.received
    assert PROBLEM in came.head and "connection: close" in came.head and "x-request-id: " in came.head
    assert json.loads(came.body)["type"] == f"/v1/problems/{kind}"


def test_a_connection_that_says_nothing_ends_without_a_word(service: Service) -> None:
    with connected(service) as connection:
        assert rest_of(connection).received == b""


def test_a_head_that_does_not_end_is_refused(service: Service) -> None:
    with connected(service) as connection:
        connection.sendall(HEAD)
        refused(rest_of(connection), 408, "head-too-slow")


def test_what_trickles_in_behind_an_answer_keeps_no_connection(service: Service) -> None:
    with connected(service) as connection:
        connection.sendall(HEAD.replace(b"GET /healthz", b"POST /healthz") + b"Content-Length: 100000\r\n\r\n")
        with contextlib.suppress(ConnectionError):
            while True:
                connection.sendall(b"x")
                connection.settimeout(0.05)
                with contextlib.suppress(TimeoutError):
                    if not connection.recv(65536):
                        break


def test_a_head_may_come_in_pieces_and_several_requests_at_once(service: Service) -> None:
    first = HEAD + b"X-Long: " + b"x" * 10_000 + b"\r\n\r\n"
    with connected(service) as connection:
        for byte in (first[:50], first[50:51], first[51:] + first, first.replace(b"1.1\r\n", b"1.1\r\nConnection: close\r\n")):
            connection.sendall(byte)
        assert rest_of(connection).received.count(b'"status":"ok"') == 3


@pytest.mark.parametrize("ending", [b"", b"\r\n\r\n"])
def test_a_head_that_is_too_long_is_refused_whether_it_ends_or_not(service: Service, ending: bytes) -> None:
    for more in (MOST_HEAD, 120_000):
        refused(exchange(service.port, HEAD + b"X-Long: " + b"x" * more + ending), 431, "head-too-large")


def test_what_is_no_request_is_refused(service: Service) -> None:
    refused(exchange(service.port, b"GET /healthz HTTP/1.1\r\nBad Header\r\n\r\n"), 400, "unusable-option")
    both = HEAD + b"Content-Length: 3\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n" + HEAD + b"\r\n"
    refused(exchange(service.port, both), 400, "unusable-option")


def test_more_than_may_be_there_take_the_place_of_those_that_wait(service: Service) -> None:
    held = [connected(service) for _ in range(3 * LEAST)]
    assert service.busy() == (0, 0)
    for connection in held:
        rest_of(connection)
        connection.close()
    assert exchange(service.port, asked(service.port, "/v1/scenarios", SMALL_JSON, JSON)).status == 200


def test_a_client_that_takes_nothing_is_let_go(service: Service) -> None:
    with socket.socket() as connection:
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1024)
        connection.settimeout(PATIENCE)
        connection.connect(("127.0.0.1", service.port))
        request = HEAD.replace(b"/healthz", b"/openapi.json") + b"\r\n"
        connection.sendall(request * 100)
        # Nothing is read until the service has ended the connection, which writing to it then tells.

        def ended() -> bool:
            try:
                connection.send(b"\r\n")
            except TimeoutError:
                return False
            except OSError:
                return True
            return False

        connection.setblocking(False)

        def gone() -> bool:
            try:
                return ended()
            except BlockingIOError:
                return False

        until(gone)
