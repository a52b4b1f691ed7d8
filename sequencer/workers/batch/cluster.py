"""An existing Dask cluster: only this module knows of it, and its package is loaded only when one is asked for.

Each worker solves in a process of its own beneath it (``tried``), as this machine does: what a scenario does to its process it
does not do to the worker, and a worker that is lost takes its processes with it. Its scenarios are given to another worker.
"""

from __future__ import annotations

import logging
from concurrent.futures import CancelledError
from typing import Any

from sequencer import UnusableSettings
from sequencer.workers.batch.job import Job, ScenarioOutcome, versions
from sequencer.workers.batch.solving import tried

PATIENCE = 20.0
"""Seconds in which a cluster, and a worker of it, must answer."""


class Cluster:
    """Runs as many scenarios at once as the cluster has threads whose scheduler listens at an address (``tcp://10.0.0.5:8786``).

    Raises
    ------
    UnusableSettings
        When the package is missing, nothing answers there, or its workers cannot do this work.
    """

    def __init__(self, address: str) -> None:
        self._distributed = _package()
        logging.getLogger("distributed.client").setLevel(logging.CRITICAL)  # what is lost is told by the outcomes
        try:
            self.client = self._distributed.Client(address, timeout=PATIENCE, set_as_default=False)
        except (OSError, ValueError) as error:
            raise UnusableSettings([f"no cluster answers at {address} ({error or type(error).__name__})"]) from None
        try:
            self._check_workers(address)
        except BaseException:
            self.client.close()
            raise

    def submit(self, job: Job) -> Any:
        """Have a scenario solved when there is room."""
        return self.client.submit(_tried_there, job, pure=False)

    def reason_lost(self, error: BaseException) -> str:
        """Why a scenario has no outcome."""
        if isinstance(error, self._distributed.KilledWorker):
            return "every worker of the cluster that took it up was lost"
        if isinstance(error, CancelledError):
            return "the connection to the cluster was lost"
        told = str(error).partition("\n")[0]
        return f"the cluster gave it up ({type(error).__name__}: {told})"

    def close(self) -> None:
        """Take back what has not ended."""
        self.client.close()

    def _check_workers(self, address: str) -> None:
        try:
            self.client.wait_for_workers(1, timeout=PATIENCE)
        except TimeoutError:
            raise UnusableSettings([f"the cluster at {address} has no workers"]) from None
        ours, problems = versions(), []
        for worker, theirs in sorted(self.client.run(versions, on_error="return").items()):
            if isinstance(theirs, BaseException):
                problems.append(f"worker {worker} cannot load the sequencer: install it there too ({theirs})")
            elif tuple(theirs) != ours:
                told = " and ".join(theirs)
                problems.append(f"worker {worker} has the versions {told}, not {' and '.join(ours)}: install the same there")
        if problems:
            raise UnusableSettings(problems)


def _tried_there(job: Job) -> ScenarioOutcome:
    """On a worker: what comes of a scenario, unless it is taken back meanwhile."""
    worker = _package().get_worker()
    task = worker.state.tasks[worker.get_current_task()]
    return tried(job, wanted=lambda: task.state == "executing")


def _package() -> Any:
    try:
        import distributed
    except ImportError:
        raise UnusableSettings(
            ["--cluster needs the package distributed, which is not installed: pip install 'unit-sequencer[cluster]'"]
        ) from None
    return distributed
