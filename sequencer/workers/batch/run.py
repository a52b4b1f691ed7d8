"""Runs a batch: what is done is taken as it is, the rest is solved and kept one by one, until all is done or it is stopped."""

from __future__ import annotations

import contextlib
import queue
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Event
from typing import Any, Protocol

from sequencer.workers.batch.folder_found import PassedOver, found, name_of, scenario_files
from sequencer.workers.batch.job import DIED, NOT_KEPT, SETTLED, TOLD, BatchSettings, Job, ScenarioOutcome
from sequencer.workers.batch.results import Results

_POLL = 0.2
"""Seconds after which it is looked whether the batch is to stop."""


class Runner(Protocol):
    """What solves scenarios: processes of this machine, or a cluster."""

    def submit(self, job: Job) -> Any:
        """A future of the scenario's outcome: with ``add_done_callback`` and ``result``."""

    def reason_lost(self, error: BaseException) -> str:
        """Why a scenario has no outcome."""

    def close(self) -> None:
        """Stop what has not ended."""


@dataclass(frozen=True)
class Batch:
    """What came of a folder."""

    outcomes: tuple[ScenarioOutcome, ...]
    """One for each scenario, in the order of their names; those that were not begun or not ended are not among them."""
    passed_over: tuple[PassedOver, ...]
    """What is no scenario."""
    left: tuple[str, ...] = ()
    """Names of what is still to be done, since the batch was stopped; what was not read yet may be no scenario."""


def run_batch(
    folder: Path,
    settings: BatchSettings,
    results: Results,
    runner: Callable[[], Runner],
    tell: Callable[[str], None],
    stop: Event,
    again: bool = False,
) -> Batch:
    """Work through the scenarios of a folder, what is done before only where it is to be done ``again``.

    What solves scenarios is made when there is something to be solved. ``stop`` ends the batch when set, keeping what is done.
    """
    files = tuple(scenario_files(folder, results.folder))
    read: list[Job | ScenarioOutcome] = []
    passed_over: list[PassedOver] = []
    unread = [name_of(file, folder) for file in files]
    while unread and not stop.is_set():
        each = found(files[-len(unread)], folder, settings)
        del unread[0]
        if isinstance(each, PassedOver):
            passed_over.append(each)
            tell(f"Passed over {each.name}: {each.why}.")
        else:
            read.append(each)
    progress = _Progress(len(read) + len(unread), tell)
    to_do = []
    for each in read:
        outcome = each if isinstance(each, ScenarioOutcome) else _before(each, results, again)
        if outcome is not None:
            progress.ended(outcome)
        elif isinstance(each, Job):
            to_do.append(each)
    if to_do and not stop.is_set():
        _solve(to_do, results, runner(), progress, stop)
    outcomes = sorted(progress.outcomes, key=lambda outcome: outcome.name)
    ended = {outcome.name for outcome in outcomes}
    left = [job.name for job in to_do if job.name not in ended]
    return Batch(tuple(outcomes), tuple(passed_over), (*left, *unread))


def _before(job: Job, results: Results, again: bool) -> ScenarioOutcome | None:
    """What came of a scenario before, or why it cannot be begun."""
    done = results.done(job) if not again else None
    if done is not None:
        return done
    try:
        in_the_way = results.in_the_way(job)
    except (OSError, RecursionError) as error:  # a folder stands there, or a name that is too long, or what nobody can read
        told = f"{error.filename}: {error.strerror}" if isinstance(error, OSError) else "what stands there cannot be read"
        return ScenarioOutcome(job.name, NOT_KEPT, told)
    if not in_the_way:
        return None
    return ScenarioOutcome(
        job.name,
        NOT_KEPT,
        "its result would replace files that were changed by hand, or that no batch wrote: move them away",
        tuple(in_the_way),
    )


def _solve(jobs: list[Job], results: Results, runner: Runner, progress: _Progress, stop: Event) -> None:
    """Have scenarios solved, and keep each result as it comes."""
    ended: queue.Queue[Any] = queue.Queue()
    waiting: dict[Any, Job] = {}

    def keep(future: Any) -> None:
        job = waiting.pop(future)
        progress.ended(_kept(job, _outcome(job, future, runner), results))

    try:
        for job in jobs:
            future = runner.submit(job)
            waiting[future] = job
            future.add_done_callback(ended.put)
        while waiting and not stop.is_set():
            with contextlib.suppress(queue.Empty):
                keep(ended.get(timeout=_POLL))
        for _ in range(ended.qsize()):  # done before it was stopped
            keep(ended.get())
    finally:
        runner.close()


def _outcome(job: Job, future: Any, runner: Runner) -> ScenarioOutcome:
    try:
        outcome: ScenarioOutcome = future.result()
    except BaseException as error:  # a cancelled future raises what is no Exception
        if isinstance(error, KeyboardInterrupt | SystemExit):
            raise
        return ScenarioOutcome(job.name, DIED, runner.reason_lost(error))
    return outcome


def _kept(job: Job, outcome: ScenarioOutcome, results: Results) -> ScenarioOutcome:
    """Keep a result that is settled; what remains of it in memory is what the summary needs."""
    if outcome.ended in SETTLED:
        try:
            results.keep(job, outcome)
        except OSError as error:
            return ScenarioOutcome(job.name, NOT_KEPT, f"{error.filename}: {error.strerror}")
    return replace(outcome, body=None, files={})


class _Progress:
    """Counts what is done and tells of each scenario."""

    def __init__(self, total: int, tell: Callable[[str], None]) -> None:
        self.outcomes: list[ScenarioOutcome] = []
        self._total, self._tell = total, tell

    def ended(self, outcome: ScenarioOutcome) -> None:
        """Tell of a scenario that is done, one way or another."""
        self.outcomes.append(outcome)
        done = len(self.outcomes)
        took = "" if outcome.seconds is None else f", {outcome.seconds:.1f} s"
        before = " (done before)" if outcome.before else ""
        self._tell(f"{done} done, {self._total - done} left: {outcome.name}: {TOLD[outcome.ended]}{took}{before}")
