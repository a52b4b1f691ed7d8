"""Folders of small scenarios, and batches over them."""

from __future__ import annotations

import json
from pathlib import Path
from threading import Event
from typing import Any

from sequencer.workers.batch.folder_found import found
from sequencer.workers.batch.job import BatchSettings, Job, ScenarioOutcome
from sequencer.workers.batch.results import Results
from sequencer.workers.batch.run import Batch, Runner, run_batch
from sequencer.workers.batch.scenario_work import worked
from sequencer.workers.batch.solving import LocalProcesses
from tests.builders import scenario, teach

SMALL = scenario([teach("a"), teach("b", requires="a")])
IMPOSSIBLE = scenario([teach(name) for name in "abcde"])
"""Five lessons in four periods."""

SETTINGS = BatchSettings(seconds=10)


def put(folder: Path, name: str, data: Any = SMALL) -> Path:
    """Write a document as JSON, which is YAML too, or a text as it is."""
    file = folder / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
    return file


def job(folder: Path, name: str = "a.json", settings: BatchSettings = SETTINGS) -> Job:
    """Return the scenario of this name in a folder."""
    read = found(folder / name, folder, settings)
    assert isinstance(read, Job), read
    return read


class Here:
    """Solves in this process, at once: for whatever is not about processes."""

    def __init__(self) -> None:
        self.names: list[str] = []

    def submit(self, job: Job) -> Any:
        self.names.append(job.name)
        return _Ended(worked(job))

    def reason_lost(self, error: BaseException) -> str:
        raise AssertionError from error

    def close(self) -> None:
        pass


class _Ended:
    def __init__(self, outcome: ScenarioOutcome) -> None:
        self._outcome = outcome

    def add_done_callback(self, tell: Any) -> None:
        tell(self)

    def result(self) -> ScenarioOutcome:
        return self._outcome


def batch(
    folder: Path,
    runner: Runner | None = None,
    settings: BatchSettings = SETTINGS,
    again: bool = False,
    results: Path | None = None,
    told: list[str] | None = None,
) -> Batch:
    """Run a batch over a folder, its results in the folder results there."""
    chosen = runner if runner is not None else Here()
    kept = Results(results or folder / "results")
    return run_batch(folder, settings, kept, lambda: chosen, (told if told is not None else []).append, Event(), again)


def locally(count: int = 2) -> LocalProcesses:
    """Return processes of this machine."""
    return LocalProcesses(count)


def ended(batch: Batch) -> dict[str, str]:
    """Return how each scenario ended."""
    return {outcome.name: outcome.ended for outcome in batch.outcomes}


def stored(results: Path) -> dict[str, Any]:
    """Return every answer kept, without what may differ from run to run."""
    answers = {}
    for file in sorted(results.rglob("*.json")):
        body = json.loads(file.read_bytes())
        del body["run"], body["batch"]["seconds"], body["batch"]["files"]["json"]
        answers[file.relative_to(results).as_posix()] = body
    return answers
