"""One request over a bare socket, so that what came of its response is known to the byte."""

from __future__ import annotations

import contextlib
import socket
from dataclasses import dataclass

from tests.api.service import JSON, PATIENCE


@dataclass(frozen=True)
class Exchanged:
    """What came back until the other end closed.

    Parameters
    ----------
    received
        All of it; nothing where there was no connection, or it was closed at once.
    """

    received: bytes

    @property
    def status(self) -> int:
        """The status; 0 where nothing came."""
        return int(self.received.split(b" ", 2)[1]) if self.received else 0

    @property
    def head(self) -> str:
        """The status line and the headers, in small letters."""
        return self.received.partition(b"\r\n\r\n")[0].decode().lower()

    @property
    def body(self) -> bytes:
        """The body, put together where it came in pieces."""
        rest = self.received.partition(b"\r\n\r\n")[2]
        if "transfer-encoding: chunked" not in self.head:
            return rest
        body = b""
        while rest:
            size, _, rest = rest.partition(b"\r\n")
            body, rest = body + rest[: int(size, 16)], rest[int(size, 16) + 2 :]
        return body

    @property
    def whole(self) -> bool:
        """Whether nothing is missing: no byte at all, or every byte that was promised."""
        if not self.received:
            return True
        head, found, rest = self.received.partition(b"\r\n\r\n")
        if not found:
            return False
        if b"transfer-encoding: chunked" in head.lower():
            return rest.endswith(b"\r\n0\r\n\r\n") or rest == b"0\r\n\r\n"
        promised = [line for line in head.lower().split(b"\r\n") if line.startswith(b"content-length:")]
        return len(rest) == int(promised[0].partition(b":")[2])


def asked(port: int, path: str, body: bytes, media: str, accept: str = JSON, key: str = "") -> bytes:
    """Return the bytes of a POST, after which the connection is to be closed."""
    lines = [
        f"POST {path} HTTP/1.1",
        f"Host: 127.0.0.1:{port}",
        f"Content-Type: {media}",
        f"Accept: {accept}",
        f"Content-Length: {len(body)}",
        "Connection: close",
        *([f"Authorization: Bearer {key}"] if key else []),
    ]
    return "\r\n".join((*lines, "", "")).encode() + body


def exchange(port: int, request: bytes) -> Exchanged:
    """Send a request and read until the other end closes."""
    received = bytearray()
    with contextlib.suppress(ConnectionError), socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) as connection:
        connection.sendall(request)
        while piece := connection.recv(65536):
            received += piece
    return Exchanged(bytes(received))
