"""The service under load: many clients, a killed process, an end, clients that vanish."""

from __future__ import annotations

import json
import os
import signal
import statistics
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from http.client import HTTPConnection

from tests.api.raw import Exchanged, asked, exchange
from tests.api.service import JSON, YAML
from tests.benchmarks.checked import Checked, milliseconds, percentile
from tests.benchmarks.served import PATIENCE, ROOT, Served, serving
from tests.published import langford

SHARED = (ROOT / "scenarios" / "shared-class.yaml").read_bytes()
ENDLESS = json.dumps(langford(30)).encode()
EVENTS = "text/event-stream"

REQUESTS, CLIENTS, SOLVING = 200, 50, 0.5
"""The load: so many requests from so many clients, each a solve of so many seconds."""

MOST_HEALTH, MOST_LEAVING, MOST_GROWTH = 0.100, 1.0, 1.10
"""What is promised: seconds in which health is told (99 of 100), and in which a vanished client's place is free; by what factor
memory may grow."""


def own_scenario(number: int) -> bytes:
    """A scenario of about half a second that no other request sends."""
    return SHARED.replace(b"11H", f"11H{number}".encode())


def is_own(answer: bytes, number: int) -> bool:
    """Whether an answer is that of the scenario of a number, and sound; on a busy machine none may be found in the time."""
    body = json.loads(answer)
    own = body["title"].startswith(f"11H{number},") and {lesson["class"] for lesson in body["lessons"]} <= {f"11H{number}"}
    return own and (body["verdict"]["sound"] if body["lessons"] else body["status"] == "unknown")


def until_answered(served: Served, number: int, refusals: list[Exchanged]) -> Exchanged:
    """Send a request, and again after the time that a refusal names."""
    request = asked(served.port, f"/v1/sequences?seconds={SOLVING}", own_scenario(number), YAML)
    while True:
        came = exchange(served.port, request)
        if came.status != 503:
            return came
        refusals.append(came)
        after = [line for line in came.head.splitlines() if line.startswith("retry-after:")]
        time.sleep(float(after[0].partition(":")[2]) if after else 0)


def load(found: Checked, threads: bool = False) -> None:
    """Many clients at once: every answer is its own, every refusal says when to come again, health and memory stay."""
    sizes: list[float] = []
    refusals: list[Exchanged] = []

    def client(number: int) -> Exchanged:
        came = until_answered(served, number, refusals)
        if number % 25 == 0:
            sizes.append(served.memory())
        return came

    settings = {"running": os.cpu_count() or 1, "waiting": 8, "retry_after": 1}
    with serving(threads, **settings) as served, ThreadPoolExecutor(CLIENTS) as pool:
        began = time.monotonic()
        with served.health() as health:
            came = list(pool.map(client, range(REQUESTS)))
        seconds = time.monotonic() - began
        left = served.busy()
    right = sum(each.status == 200 and each.whole and is_own(each.body, number) for number, each in enumerate(came))
    name = f"{REQUESTS} requests from {CLIENTS} clients"
    found.add(f"{name}, in all", f"{seconds:.0f} s")
    found.add(f"{name}, answered whole, each its own", f"{right} of {REQUESTS}", "all", right == REQUESTS)
    told = sum("retry-after:" in each.head and each.whole for each in refusals)
    found.add("refusals that are 503 with Retry-After", f"{told} of {len(refusals)}", "all", told == len(refusals) > 0)
    slow = percentile(health, 0.99)
    usual, longest = milliseconds(statistics.median(health)), milliseconds(max(health))
    figure = f"{milliseconds(slow)} (median {usual}, longest {longest}, asked {len(health)} times)"
    found.add("/healthz meanwhile, 99 of 100 within", figure, f"under {milliseconds(MOST_HEALTH)}", slow < MOST_HEALTH)
    early, late = max(sizes[: len(sizes) // 2]), max(sizes[len(sizes) // 2 :])
    figure = f"{early:.0f} MB, then {late:.0f} MB"
    found.add("memory of all processes in the first half, in the second", figure, "flat", late < MOST_GROWTH * early)
    found.add("left running or waiting", f"{sum(left)}", "none", sum(left) == 0)


def killed(found: Checked, others: int = 20) -> None:
    """One solving process is killed while another solves and many requests wait."""
    refusals: list[Exchanged] = []
    with serving(running=2, waiting=8, retry_after=1) as served, ThreadPoolExecutor(others + 2) as pool:
        long = asked(served.port, "/v1/sequences?seconds=4", ENDLESS, JSON)
        coming = [pool.submit(exchange, served.port, long) for _ in range(2)]
        _until(lambda: served.busy() == (2, 0))
        coming += [pool.submit(until_answered, served, number, refusals) for number in range(others)]
        time.sleep(1)
        os.kill(served.busiest(), signal.SIGKILL)
        came = [each.result() for each in coming]
    failed = [json.loads(each.body)["type"] for each in came if each.status != 200]
    right = sum(each.status == 200 and is_own(each.body, number) for number, each in enumerate(came[2:]))
    right += sum(each.status == 200 for each in came[:2])
    found.add("a solving process killed: what fails", ", ".join(failed), "one request", failed == ["/v1/problems/worker-died"])
    found.add("a solving process killed: answered as ever", f"{right} of {others + 2}", "all others", right == others + 1)


def ended(found: Checked) -> None:
    """The service is told to end under load."""
    over = threading.Event()
    came: list[Exchanged] = []

    def client(number: int) -> None:
        accept = EVENTS if number % 2 else JSON
        request = asked(served.port, f"/v1/sequences?seconds={SOLVING}", own_scenario(number), YAML, accept)
        while not over.is_set():
            came.append(exchange(served.port, request))

    with serving(running=2, waiting=8, retry_after=1) as served, ThreadPoolExecutor(20) as pool:
        clients = [pool.submit(client, number) for number in range(20)]
        _until(lambda: sum(each.status == 200 for each in came) >= 10)
        began = time.monotonic()
        served.process.send_signal(signal.SIGTERM)
        served.process.wait(PATIENCE)
        seconds = time.monotonic() - began
        over.set()
        for each in clients:
            each.result()
    whole = sum(each.whole for each in came)
    found.add("ended under load: responses whole, or without a byte", f"{whole} of {len(came)}", "all", whole == len(came))
    found.add("ended under load: over after", f"{seconds:.1f} s", "under 10 s", seconds < 10)


def vanished(found: Checked) -> None:
    """Clients vanish in the middle of their solves."""
    leaving: list[float] = []
    sizes: list[float] = []
    with serving(running=2, waiting=2) as served:
        for number in range(CLIENTS // 2):
            stay = [_stays(served.port, accept) for accept in (JSON, EVENTS)]
            _until(lambda: served.busy() == (2, 0))
            time.sleep(0.2 + 0.02 * number)
            began = time.monotonic()
            for each in stay:
                each.close()
            _until(lambda: served.busy() == (0, 0))
            leaving.append(time.monotonic() - began)
            sizes.append(served.memory())
    found.add(
        f"{CLIENTS} clients that vanish: their places free again",
        f"at most {max(leaving):.2f} s later",
        "within 1 s",
        max(leaving) < MOST_LEAVING,
    )
    early, late = max(sizes[5:15]), max(sizes[15:])
    found.add("memory after 30 of them, after all", f"{early:.0f} MB, {late:.0f} MB", "flat", late < MOST_GROWTH * early)


def _stays(port: int, accept: str) -> HTTPConnection:
    connection = HTTPConnection("127.0.0.1", port, timeout=PATIENCE)
    connection.request("POST", "/v1/sequences?seconds=100", ENDLESS, {"Content-Type": JSON, "Accept": accept})
    return connection


def _until(condition: Callable[[], bool]) -> None:
    give_up = time.monotonic() + PATIENCE
    while not condition():
        assert time.monotonic() < give_up, "it does not come true"
        time.sleep(0.01)
