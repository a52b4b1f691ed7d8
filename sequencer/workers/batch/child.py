"""A process that solves scenarios for another one: they come in on its standard input, outcomes go out on its standard output.

It ends at once when its input does, so that it never outlives who wanted its work.
"""

from __future__ import annotations

import os
import pickle
import queue
import sys
import threading

from sequencer.workers.batch.job import Job
from sequencer.workers.batch.scenario_work import worked


def main() -> None:
    """Solve what comes in, one after another, until the input ends."""
    outcomes = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # whatever prints must not come between outcomes
    jobs: queue.Queue[Job] = queue.Queue()
    threading.Thread(target=_receive, args=(jobs,), daemon=True).start()
    while True:
        pickle.dump(worked(jobs.get()), outcomes)
        outcomes.flush()


def _receive(jobs: queue.Queue[Job]) -> None:
    try:
        while True:
            jobs.put(pickle.load(sys.stdin.buffer))
    finally:
        os._exit(0)  # in the midst of a solve, too


if __name__ == "__main__":
    main()
