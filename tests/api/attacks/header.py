"""One header of 120,000 bytes, written so that a careless parser goes over it again and again."""

from __future__ import annotations

import time

from tests.api.attacks.attack import Attack
from tests.api.raw import exchange
from tests.benchmarks.served import Served

SEMICOLONS, SECONDS = 120_000, 10


def run(served: Served) -> str:
    """Send it again and again, in each of the places where parameters are looked for."""
    answers: list[float] = []
    end = time.monotonic() + SECONDS
    while not answers or time.monotonic() < end:
        for name, begin in (("Content-Type", 'application/yaml; x="'), ("Accept", "text/html; x="), ("Prefer", "wait; x=")):
            began = time.monotonic()
            lines = ("POST /v1/scenarios HTTP/1.1", "Host: localhost", "Content-Length: 0", "Connection: close")
            head = "\r\n".join((*lines, f"{name}: {begin}{';' * SEMICOLONS}", "", ""))
            came = exchange(served.port, head.encode())
            answers.append(time.monotonic() - began)
            assert came.status in (0, 400, 431), f"{name} was answered with {came.status}"
    return f"{len(answers)} refused, the slowest in {max(answers):.2f} s"


ATTACK = Attack("header", f"a header of {SEMICOLONS:,} bytes, again and again", run)
