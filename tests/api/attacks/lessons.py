"""A class of a thousand lessons, for which a second is allowed."""

from __future__ import annotations

import json
import time

from tests.api.attacks.attack import Attack
from tests.api.raw import asked, exchange
from tests.api.service import JSON
from tests.benchmarks.served import Served

LESSONS, ALLOWED, GRACE = 1000, 1, 2

WIRE = 1.5
"""Seconds in which a request comes and its answer goes, beside the work on it."""

SCENARIO = {
    "format": 1,
    "term": {"first": "2026-09-07", "last": "2027-07-16"},
    "units": [{"id": "u", "lessons": [{"id": f"l{number}", "load": number % 5 + 1} for number in range(LESSONS)]}],
    "classes": [{"id": "c", "units": "u", "timetable": {day: list(range(1, 9)) for day in ("Mon", "Tue", "Wed", "Thu", "Fri")}}],
}


def run(served: Served) -> str:
    """Ask for it three times."""
    became, taken = [], []
    for _ in range(3):
        began = time.monotonic()
        came = exchange(served.port, asked(served.port, f"/v1/sequences?seconds={ALLOWED}", json.dumps(SCENARIO).encode(), JSON))
        taken.append(time.monotonic() - began)
        assert came.status in (200, 503), f"it was answered with {came.status}"
        body = json.loads(came.body)
        became.append(body["type"].rpartition("/")[2] if came.status == 503 else body["status"])
    told = f"{', '.join(became)}; the slowest in {max(taken):.2f} s"
    assert max(taken) < ALLOWED + GRACE + WIRE, told
    return told


ATTACK = Attack("lessons", f"one class of {LESSONS:,} lessons with seconds={ALLOWED}, three times", run)
