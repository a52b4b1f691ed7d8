"""Workers that are stopped by a signal: all of them while they have nothing to do, and one at work."""

from __future__ import annotations

import json
import os
import signal
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.api.attacks.attack import Attack
from tests.api.live import until
from tests.api.raw import asked, exchange
from tests.api.service import JSON, SMALL, YAML
from tests.benchmarks.served import Served
from tests.published import langford

ALLOWED, GRACE = 60, 2

ENDLESS = json.dumps(langford(30)).encode()
"""Not proven impossible in minutes."""

WIRE = 2.0
"""Seconds in which what is stopped is found, a fresh one is there, and the answer goes, beside the grace."""


def workers(served: Served) -> list[int]:
    """Return the numbers of the processes that work: those that the main one's own have started."""
    return [number for number in served.processes()[1:] if _parent(number) != served.process.pid]


def _parent(number: int) -> int:
    return int(Path(f"/proc/{number}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[1])


def run(served: Served) -> str:
    """Stop them, and ask."""
    there = workers(served)
    for number in there:
        os.kill(number, signal.SIGSTOP)
    began = time.monotonic()
    came = exchange(served.port, asked(served.port, f"/v1/sequences?seconds={ALLOWED}", SMALL, YAML))
    idle = time.monotonic() - began
    assert came.status == 200, f"with idle workers stopped a request was answered with {came.status}"
    # It is read by one and solved by another.
    assert idle < 2 * (GRACE + WIRE), f"with idle workers stopped it was answered in {idle:.1f} s"
    with ThreadPoolExecutor(1) as pool:
        request = asked(served.port, f"/v1/sequences?seconds={ALLOWED}", ENDLESS, JSON)
        endless = pool.submit(exchange, served.port, request)
        until(lambda: served.busy()[0] == 1)
        time.sleep(1.0)
        at_it = served.busiest()
        began = time.monotonic()
        os.kill(at_it, signal.SIGSTOP)
        came = endless.result()
    at_work = time.monotonic() - began
    assert (came.status, json.loads(came.body)["type"]) == (500, "/v1/problems/worker-died"), f"answered with {came.status}"
    assert at_work < GRACE + WIRE, f"told after {at_work:.1f} s"
    return f"{len(there)} idle: answered in {idle:.1f} s; one at work: told in {at_work:.1f} s"


ATTACK = Attack("stopped", "workers stopped by a signal, idle and at work", run)
