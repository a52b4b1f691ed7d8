"""``python -m tests.api.mutated --cases 10000`` sends so many scenarios made wrong to the service, and says what became of them.

It fails when one of them is answered with a status of 500 or more, when a refusal takes a second or a process of the service
more memory than it may, or when a refusal is no problem document.
"""

from __future__ import annotations

import argparse
import asyncio
import collections
import os
import statistics
import sys
import time
from contextlib import suppress
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import httpx

from api.app import create_app
from api.settings import Settings
from sequencer.workers.process import WorkerProcess
from tests.api.mutations import mutated
from tests.api.service import PROBLEM, client_of

SETTINGS = Settings(seconds=0.2, most_seconds=0.2, grace=30, running=1, workers=1, most_memory=1000)
"""Solves are short, since what is looked for lies before and after them; a busy machine is given time to end each."""

PROMPT = 1.0
"""Seconds of the processor within which a refusal must come, so that what else the machine does changes nothing."""


@dataclass
class Report:
    """What became of the cases."""

    statuses: collections.Counter[tuple[str, int]] = field(default_factory=collections.Counter)
    refusals: list[float] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    peak: int = 0

    def text(self) -> str:
        """Say it, a line for each kind."""
        lines = []
        for kind in sorted({kind for kind, _ in self.statuses}):
            told = {status: count for (of, status), count in sorted(self.statuses.items()) if of == kind}
            lines.append(f"{kind:<14}" + ", ".join(f"{status}: {count}" for status, count in told.items()))
        cases = sum(self.statuses.values())
        solved = sum(count for (_, status), count in self.statuses.items() if status == 200)
        slowest, median = max(self.refusals, default=0.0), statistics.median(self.refusals or [0.0])
        lines.append(
            f"{cases} cases, {solved} answered, {cases - solved} refused (median {median:.3f} s, slowest {slowest:.2f} s); "
            f"the largest process took {self.peak} MB; {len(self.wrong)} wrong"
        )
        return "\n".join([*lines, *self.wrong])


def _wrong_with(response: httpx.Response) -> str:
    if response.status_code >= 500:
        return f"answered {response.status_code}: {response.text[:200]}"
    if response.status_code == 200:
        return ""
    told: Any = response.json() if response.headers["content-type"] == PROBLEM else {}
    if told.get("status") != response.status_code or not str(told.get("type")).startswith("/v1/problems/"):
        return f"refused without a problem document: {response.text[:200]}"
    return "refused for its memory" if told["type"].endswith("memory") else ""


async def tried(seed: int, numbers: range, timed: bool = True) -> Report:
    """Send cases one after another, and watch what they do to the service.

    Parameters
    ----------
    seed, numbers
        Which cases.
    timed
        Whether a refusal that is slow is wrong.
    """
    report = Report()
    workers: list[WorkerProcess] = []

    def worker() -> WorkerProcess:
        workers.append(WorkerProcess(SETTINGS.most_memory, "api.work"))
        return workers[-1]

    async with client_of(create_app(SETTINGS, worker)) as client:
        for number in numbers:
            kind, path, body, media_type = mutated(seed, number)
            began = _processor_seconds(workers)
            response = await client.post(path, content=body, headers={"Content-Type": media_type})
            seconds = _processor_seconds(workers) - began
            report.statuses[kind, response.status_code] += 1
            wrong = _wrong_with(response)
            if response.status_code != 200:
                report.refusals.append(seconds)
                wrong = wrong or (f"refused after {seconds:.2f} s" if timed and seconds >= PROMPT else "")
            if wrong:
                report.wrong.append(f"case {number} ({kind}, {path}, {media_type}, {len(body)} bytes): {wrong}")
            if number % 20 == 0:
                report.peak = max([report.peak, *map(_peak, workers)])
    return report


def _processor_seconds(workers: list[WorkerProcess]) -> float:
    """Time of the processor that the service has taken, its processes included where that can be known."""
    ticks = 0
    for worker in workers:
        with suppress(OSError):
            told = Path(f"/proc/{worker.pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
            ticks += int(told[11]) + int(told[12])
    return time.process_time() + ticks / os.sysconf("SC_CLK_TCK")


def _peak(worker: WorkerProcess) -> int:
    """The most megabytes that a worker's process has taken; 0 where that cannot be known."""
    try:
        status = Path(f"/proc/{worker.pid}/status").read_text(encoding="ascii")
    except OSError:
        return 0
    return next((int(line.split()[1]) // 1000 for line in status.splitlines() if line.startswith("VmHWM")), 0)


def main() -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m tests.api.mutated", description=__doc__)
    parser.add_argument("--cases", type=int, default=10_000, help="how many")
    parser.add_argument("--seed", type=int, default=1, help="which")
    parser.add_argument("--first", type=int, default=0, help="number of the first")
    options = parser.parse_args()
    run = partial(tried, options.seed, range(options.first, options.first + options.cases))
    report = asyncio.run(run())
    print(report.text())
    return 1 if report.wrong or report.peak > SETTINGS.most_memory else 0


if __name__ == "__main__":
    sys.exit(main())
