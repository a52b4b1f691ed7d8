"""One header of 120,000 bytes, written so that a careless parser goes over it again and again."""

from __future__ import annotations

import time

from tests.api.attacks.attack import Attack
from tests.api.raw import exchange
from tests.benchmarks.served import Served

SEMICOLONS = 120_000


def run(served: Served) -> str:
    """Send it, twice in each of the places where parameters are looked for."""
    answers = []
    for name, begin in (("Content-Type", 'application/yaml; x="'), ("Accept", "text/html; x="), ("Prefer", "wait; x=")):
        for _ in range(2):
            began = time.monotonic()
            lines = ("POST /v1/scenarios HTTP/1.1", "Host: localhost", "Content-Length: 0", "Connection: close")
            head = "\r\n".join((*lines, f"{name}: {begin}{';' * SEMICOLONS}", "", ""))
            came = exchange(served.port, head.encode())
            answers.append(time.monotonic() - began)
            assert came.status in (0, 400, 431), f"{name} was answered with {came.status}"
    return f"refused, the slowest in {max(answers):.2f} s"


ATTACK = Attack("header", f"a header of {SEMICOLONS:,} bytes, six times", run)
