"""More connections that say nothing than the service has file descriptors for."""

from __future__ import annotations

import socket
import time

from tests.api.attacks.attack import Attack
from tests.benchmarks.served import Served

CONNECTIONS, DESCRIPTORS, SECONDS = 90, 64, 15


def run(served: Served) -> str:
    """Open them and hold them."""
    held = [socket.create_connection(("127.0.0.1", served.port), timeout=1) for _ in range(CONNECTIONS)]
    time.sleep(SECONDS)
    ended = sum(_ended(connection) for connection in held)
    for connection in held:
        connection.close()
    lines = served.log().splitlines()
    scarce = [line for line in lines if "descriptor" in line or "out of system resource" in line]
    assert len(scarce) <= SECONDS + 2, f"{len(scarce)} lines of log about descriptors"
    assert ended == CONNECTIONS, f"{CONNECTIONS - ended} of {CONNECTIONS} were still there after {SECONDS} s"
    return f"all ended; {len(scarce)} lines about descriptors among {len(lines)} of log"


def _ended(connection: socket.socket) -> bool:
    try:
        connection.setblocking(False)
        return not connection.recv(1)
    except BlockingIOError:
        return False
    except OSError:
        return True


ATTACK = Attack("idle", f"{CONNECTIONS} idle connections under {DESCRIPTORS} descriptors", run, descriptors=DESCRIPTORS)
