"""What the commands share: reading scenarios and sequences of every kind, writing, and searching until an interrupt."""

from __future__ import annotations

import argparse
import json
import signal
import sys
import threading
from collections.abc import Callable, Iterable
from pathlib import Path
from types import FrameType
from typing import Any

from sequencer import (
    Previous,
    Scenario,
    Sequence,
    Source,
    StopSignal,
    is_table,
    load_previous,
    load_recorded,
    load_sequence,
    read_plan_pins,
    read_plan_previous,
    read_plan_record,
    read_plan_sequence,
    read_recorded,
    read_scenario,
    read_workbook,
    scenario_yaml,
)
from sequencer.scenario.documents import read_file

DONE, NONE_EXISTS, UNUSABLE, TIME_RAN_OUT, DEFECT = 0, 1, 2, 3, 4
"""Exit codes."""


def scenario_asked(options: argparse.Namespace) -> Scenario:
    """The scenario of a file or a workbook, with what happened, and pins, where they are given."""
    record, pins = options.record, getattr(options, "pins", None)
    if record is not None and not is_table(record) and not is_table(options.scenario):
        scenario = read_recorded(options.scenario, record)
    else:
        scenario = scenario_in(options.scenario)
        if record is not None and is_table(record):
            scenario = read_plan_record(scenario, record)
        elif record is not None:
            text, language = read_file(record)
            scenario = load_recorded(scenario_yaml(scenario), text, str(options.scenario), str(record), "yaml", language)
    return read_plan_pins(scenario, pins) if pins is not None else scenario


def scenario_in(path: Path) -> Scenario:
    """The scenario of a file or a workbook."""
    return read_workbook(path) if is_table(path) else read_scenario(path)


def sequence_in(scenario: Scenario, path: Path) -> Sequence:
    """The sequence of a file, a table or a workbook."""
    if is_table(path):
        return read_plan_sequence(scenario, path)
    text, language = read_file(path)
    return load_sequence(scenario, text, str(path), language)


def previous_in(scenario: Scenario, path: Path) -> Previous:
    """The sequence planned before of a file, a table or a workbook."""
    if is_table(path):
        return read_plan_previous(scenario, path)
    text, language = read_file(path)
    return load_previous(scenario, text, str(path), language)


def source_of(options: argparse.Namespace) -> Source:
    """The text that the scenario was read from; a workbook has places of its own, and no lines."""
    if is_table(options.scenario):
        return Source(str(options.scenario))
    text, language = read_file(options.scenario)
    return Source.of(text, str(options.scenario), language)


def write(text: str | bytes, output: Path | None) -> None:
    """Write to a file, or to the terminal where none is named."""
    if output is not None:
        output.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    elif isinstance(text, str):
        sys.stdout.write(text)
    else:
        sys.stdout.flush()
        sys.stdout.buffer.write(text)


def tell(sentences: Iterable[str]) -> None:
    """Tell what goes with a result and is no part of it."""
    for sentence in sentences:
        print(sentence, file=sys.stderr)


def run_until_stopped(search: Callable[[], Any], stop: StopSignal) -> Any:
    """Search in a thread of its own, so that an interrupt (Ctrl-C) reaches us and stops it, keeping the best so far."""
    outcome: list[Any] = []

    def work() -> None:
        try:
            outcome.append(search())
        except BaseException as error:
            outcome.append(error)

    def interrupt(_signal: int, _frame: FrameType | None) -> None:
        stop.stop()

    before = signal.signal(signal.SIGINT, interrupt)
    try:
        thread = threading.Thread(target=work)
        thread.start()
        while thread.is_alive():
            thread.join(0.1)
    finally:
        signal.signal(signal.SIGINT, before)
    if isinstance(outcome[0], BaseException):
        raise outcome[0]
    return outcome[0]


def json_text(body: dict[str, Any]) -> str:
    """A body as JSON text."""
    return json.dumps(body, indent=2, ensure_ascii=False) + "\n"
