"""The command that runs many scenarios."""

from __future__ import annotations

import argparse
import os
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from sequencer import Recipe, Scenario, StopSignal, UnusableSettings
from sequencer.cli.shared import write_form
from sequencer.files.terminal import tell
from sequencer.workers.batch.cluster import Cluster
from sequencer.workers.batch.folder_found import PassedOver, found, scenario_files
from sequencer.workers.batch.job import BatchSettings
from sequencer.workers.batch.results import Results
from sequencer.workers.batch.run import Batch, Runner, run_batch
from sequencer.workers.batch.solving import LocalProcesses
from sequencer.workers.batch.summary import exit_code, summary_csv, summary_json, summary_text
from sequencer.workers.parts_elsewhere import PartsElsewhere

_FOLDER = "results"
"""Where results are kept unless stated, in the folder of scenarios."""

_SUMMARIES: dict[str, Callable[[Batch], str | bytes]] = {"text": summary_text, "csv": summary_csv, "json": summary_json}


def run_of_batch(options: argparse.Namespace) -> int:
    """Solve every scenario of a folder, and write one table of what came of them."""
    if options.cluster is not None and options.processes is not None:
        raise UnusableSettings(["--processes is for this machine: a cluster has workers of its own"])
    results = Results(options.results if options.results is not None else options.folder / _FOLDER)
    forms = tuple(form for form in dict.fromkeys(options.forms) if form != "json")
    settings = BatchSettings(options.seconds, options.seed, options.workers, forms)
    if options.output is not None and options.output.exists():
        _check_output(options.output, options.folder, results, settings)
    with _stopped_by_hand() as stop:
        batch = run_batch(
            options.folder, settings, results, lambda: _runner(options), lambda line: tell([line]), stop, options.again
        )
    if not batch.outcomes and not batch.left:
        raise UnusableSettings([f"{options.folder} holds no scenario"])
    write_form(_SUMMARIES[options.summary](batch), options.summary, options.output)
    return exit_code(batch)


def _check_output(output: Path, folder: Path, results: Results, settings: BatchSettings) -> None:
    """Refuse to write the table over a scenario of the folder, or over a sheet of one."""
    for each in scenario_files(folder, results.folder):
        lies_here = output.resolve().parent == each.resolve() if each.is_dir() else output.samefile(each)
        if lies_here and not isinstance(found(each, folder, settings), PassedOver):
            raise UnusableSettings([f"--output {output} is a scenario of the batch: name another file, so that it is not lost"])


@contextmanager
def parts_elsewhere(address: str | None, scenario: Scenario, stop: StopSignal) -> Iterator[PartsElsewhere | None]:
    """What asks a scenario's classes over the cluster at an address; None where none is named."""
    if address is None:
        yield None
        return
    cluster = Cluster(address)
    try:
        yield PartsElsewhere(cluster.client, Recipe(scenario), stop)
    finally:
        cluster.close()


def _runner(options: argparse.Namespace) -> Runner:
    if options.cluster is not None:
        return Cluster(options.cluster)
    return LocalProcesses(options.processes or _cores())


def _cores() -> int:
    """The cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def _stopped_by_hand() -> Iterator[threading.Event]:
    """An event that Ctrl-C, or a request to end, sets."""
    stop = threading.Event()

    def interrupt(_signal: int, _frame: FrameType | None) -> None:
        stop.set()

    before = {number: signal.signal(number, interrupt) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield stop
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
