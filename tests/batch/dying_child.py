"""What a solving process does to which, by the names of its scenarios, happens what can happen; else it works as usual."""

from __future__ import annotations

import os
import signal
import sys
import time

from sequencer.workers.batch.job import Job, ScenarioOutcome
from sequencer.workers.batch.scenario_work import worked
from sequencer.workers.serving import Caller


def solved(job: Job, _: Caller) -> ScenarioOutcome:
    """Do to this process what the name of the scenario says."""
    what = job.name.partition(".")[0]
    if what == "killed" or (what == "killed once" and _first_time(job)):
        os.kill(os.getpid(), signal.SIGKILL)
    if what == "hangs":
        time.sleep(600)
    if what == "prints":
        print("this must not come between outcomes")
        sys.stdout.flush()
        os.write(1, b"nor this\n")
    return worked(job)


def _first_time(job: Job) -> bool:
    try:
        os.close(os.open(f"{job.source}.begun", os.O_CREAT | os.O_EXCL))
    except FileExistsError:
        return False
    return True
