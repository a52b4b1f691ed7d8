"""Connections that send the head of a request one byte after another, and never end it."""

from __future__ import annotations

import contextlib
import socket
import time

from tests.api.attacks.attack import Attack
from tests.benchmarks.served import Served

CONNECTIONS, SECONDS, PAUSE = 200, 45, 0.5

ALLOWED = 10.0
"""Seconds after which such a connection ends, with some more for a busy machine."""


def run(served: Served) -> str:
    """Open them all, send a byte to each twice a second, and see how long they live."""
    began = time.monotonic()
    alive = {}
    for _ in range(CONNECTIONS):
        connection = socket.create_connection(("127.0.0.1", served.port))
        connection.sendall(b"GET /healthz HTTP/1.1\r\nX-Slow: ")
        connection.setblocking(False)
        alive[connection] = time.monotonic()
    lived = []
    while time.monotonic() < began + SECONDS:
        for connection in list(alive):
            if _over(connection):
                lived.append(time.monotonic() - alive.pop(connection))
                connection.close()
        time.sleep(PAUSE)
    left = len(alive)
    for connection in alive:
        connection.close()
    assert left == 0, f"{left} of {CONNECTIONS} were still there after {SECONDS} s"
    assert max(lived) < ALLOWED + 5, f"one lived for {max(lived):.1f} s"
    return f"all ended, the last after {max(lived):.1f} s"


def _over(connection: socket.socket) -> bool:
    try:
        connection.sendall(b"x")
        with contextlib.suppress(BlockingIOError):
            while connection.recv(65536):
                pass
            return True
    except OSError:
        return True
    return False


ATTACK = Attack("trickle", f"{CONNECTIONS} connections that trickle headers for {SECONDS} s", run)
