"""``python -m tests.benchmarks.service [PART ...] [--write]`` measures the service on this machine, over real connections.

Parts: added, load, killed, ended, vanished, cores, threads; all unless stated. The exit code is 1 when a figure misses what the
service promises. Keep the machine quiet meanwhile.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from http.client import HTTPConnection
from pathlib import Path

from ortools.sat.python import cp_model

from sequencer import SolveSettings, load_scenario, solve
from tests.api.service import YAML
from tests.benchmarks import report
from tests.benchmarks.checked import Checked, milliseconds, percentile
from tests.benchmarks.served import PATIENCE, ROOT, Served, serving
from tests.benchmarks.service_load import ended, killed, load, vanished

RESULTS = Path(__file__).parent / "results"
HALF_TERM = (ROOT / "scenarios" / "half-term.yaml").read_bytes()

MOST_ADDED = 0.050
"""Seconds that the service may add to a solve, in the median."""


# -- what the service adds to a solve ----------------------------------------------------------------------------------


def added(found: Checked, times: int = 60) -> None:
    """Requests one after another, and in between the same solve here, of which only the search itself is counted."""
    searched: list[float] = []
    used: list[float] = []
    search = cp_model.CpSolver.solve

    def timed(self: cp_model.CpSolver, *given: object) -> object:
        began, used_before = time.perf_counter(), time.thread_time()
        status = search(self, *given)  # type: ignore[arg-type]
        searched[-1] += time.perf_counter() - began
        used[-1] += time.thread_time() - used_before
        return status

    whole: list[float] = []
    with serving(running=1) as served:
        connection = HTTPConnection("127.0.0.1", served.port, timeout=PATIENCE)
        before = served.processor()
        cp_model.CpSolver.solve = timed  # type: ignore[assignment,method-assign]
        try:
            for _ in range(times):
                searched.append(0.0)
                used.append(0.0)
                solve(load_scenario(HALF_TERM), SolveSettings(30))
                began = time.perf_counter()
                connection.request("POST", "/v1/sequences", HALF_TERM, {"Content-Type": YAML})
                answer = json.loads(connection.getresponse().read())
                whole.append(time.perf_counter() - began)
                assert answer["status"] == "optimal"
            spent = (served.processor() - before) / times
        finally:
            cp_model.CpSolver.solve = search  # type: ignore[method-assign]
    more = statistics.median(whole) - statistics.median(searched)
    found.add("half term, the whole request (median)", milliseconds(statistics.median(whole)))
    found.add("half term, the search alone (median)", milliseconds(statistics.median(searched)))
    found.add("half term, processor time beside the search (mean)", milliseconds(spent - statistics.fmean(used)))
    found.add("what the service adds", milliseconds(more), f"under {milliseconds(MOST_ADDED)}", more < MOST_ADDED)


# -- how much a machine does -------------------------------------------------------------------------------------------


def throughput(served: Served, clients: int, seconds: float) -> float:
    """Half terms solved a minute by clients that ask one after another."""
    end = time.monotonic() + seconds

    def client(_: int) -> int:
        connection = HTTPConnection("127.0.0.1", served.port, timeout=PATIENCE)
        done = 0
        while time.monotonic() < end:
            connection.request("POST", "/v1/sequences", HALF_TERM, {"Content-Type": YAML})
            response = connection.getresponse()
            response.read()
            done += response.status == 200
        return done

    began = time.monotonic()
    with ThreadPoolExecutor(clients) as pool:
        done = sum(pool.map(client, range(clients)))
    return 60 * done / (time.monotonic() - began)


def cores(found: Checked, seconds: float = 20.0) -> None:
    """Half terms a minute and core, as many processes as cores."""
    count = len(os.sched_getaffinity(0))
    with serving(running=count, waiting=4) as served:
        throughput(served, count, 3)
        done = throughput(served, count + 1, seconds)
    found.add("half terms solved a minute and core", f"{done / count:.0f}")


def threads(found: Checked, seconds: float = 12.0) -> None:
    """The same service with threads and with processes, by turns; on a busy machine processor time says more than the clock."""
    count = len(os.sched_getaffinity(0))
    for turn in (1, 2):
        for in_threads in (True, False):
            with serving(in_threads, running=count, waiting=4) as served:
                throughput(served, count, 2)
                idle = served.memory()
                alone = 60 / throughput(served, 1, 5)
                used = served.processor()
                with served.health() as health:
                    done = throughput(served, count + 1, seconds)
                used = (served.processor() - used) / (done * seconds / 60)
                after, starting = served.memory(), served.starting
            name = f"{'threads' if in_threads else 'processes'}, turn {turn}: "
            figure = f"{done:.0f}, {milliseconds(used)}, {milliseconds(alone)}"
            found.add(name + "half terms a minute, processor time of each, one alone", figure)
            found.add(name + "/healthz, 99 of 100 within", milliseconds(percentile(health, 0.99)))
            found.add(name + "memory before and after, time to start", f"{idle:.0f} MB, {after:.0f} MB, {starting:.1f} s")


PARTS: dict[str, Callable[[Checked], None]] = {
    "added": added,
    "load": load,
    "killed": killed,
    "ended": ended,
    "vanished": vanished,
    "cores": cores,
    "threads": threads,
}


def main(arguments: list[str] | None = None) -> int:
    """Measure what is asked for, print the table, and say whether every promise holds."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.service", description=(__doc__ or "").split("\n\n")[1])
    parser.add_argument("parts", nargs="*", metavar="PART", choices=[[], *PARTS], help=f"one of {', '.join(PARTS)}")
    parser.add_argument("--write", action="store_true", help="also write a dated file of results")
    options = parser.parse_args(arguments)
    found = Checked()
    busy = os.getloadavg()[0]
    for part in options.parts or PARTS:
        PARTS[part](found)
    text = f"Measured on {report.machine()}; {busy:.1f} programs wanted a core when it began.\n\n{found.text()}"
    print(text)
    if options.write:
        today = date.today().isoformat()
        (RESULTS / f"{today}-service.md").write_text(f"# The service, {today}\n\n{text}\n", encoding="utf-8")
    return int(found.missed)


if __name__ == "__main__":
    sys.exit(main())
