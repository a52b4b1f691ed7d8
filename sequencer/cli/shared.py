"""What the commands share: reading scenarios and sequences of every kind, writing, and searching until an interrupt."""

from __future__ import annotations

import argparse
import json
import signal
import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import FrameType
from typing import Any, TypeVar

from sequencer import (
    Answer,
    Previous,
    Scenario,
    Sequence,
    Source,
    Starters,
    StopSignal,
    UnusableSettings,
    WholeTerm,
    assign_starters,
    cells_of,
    is_table,
    is_term,
    plan_previous,
    plan_sequence,
    read_plan_pins,
    read_plan_previous,
    read_plan_record,
    read_plan_sequence,
    read_scenario_file,
    read_scenario_recorded,
    read_term,
    term_from_tree,
)
from sequencer.files.matched import matched
from sequencer.files.terminal import output_is_terminal, put_data, put_text, tell, visible_json, visible_lines
from sequencer.files.workbook.plan_read_back import said_only_in_plan
from sequencer.scenario.documents import read_file, read_tree
from sequencer.scenario.places import Tree
from sequencer.scenario.whole_files import write_whole
from sequencer.words import UNKNOWN

DONE, NONE_EXISTS, UNUSABLE, TIME_RAN_OUT, DEFECT = 0, 1, 2, 3, 4
"""Exit codes."""


def scenario_asked(options: argparse.Namespace) -> Scenario:
    """The scenario of a file or a workbook, with what happened, and pins, where they are given."""
    record, pins = options.record, getattr(options, "pins", None)
    if record is not None and not is_table(record):
        scenario = read_scenario_recorded(options.scenario, record)
    else:
        scenario = read_scenario_file(options.scenario)
        scenario = read_plan_record(scenario, record) if record is not None else scenario
    return read_plan_pins(scenario, pins) if pins is not None else scenario


def sequence_in(scenario: Scenario, path: Path) -> Sequence:
    """The sequence of a file, a table or a workbook."""
    if is_table(path):
        return read_plan_sequence(scenario, path)
    tree, term = _document(path)
    return plan_sequence(scenario, term.plan, str(path)) if term is not None else matched(scenario, tree, str(path)).sequence


def previous_in(scenario: Scenario, path: Path) -> Previous:
    """The sequence planned before of a file, a table or a workbook."""
    if is_table(path):
        return read_plan_previous(scenario, path)
    tree, term = _document(path)
    return plan_previous(scenario, term.plan, str(path)) if term is not None else matched(scenario, tree, str(path), before=True)


def standing_plan(scenario: Scenario, path: Path) -> Sequence | None:
    """The plan as it stands that a term's file holds beside its scenario; None where it holds none."""
    term = read_term(path).term if is_table(path) else _document(path)[1]
    plan = term.plan if term is not None else None
    return plan_previous(scenario, plan, str(path)).sequence if plan is not None else None


def _document(path: Path) -> tuple[Tree, WholeTerm | None]:
    """The document that a file holds, and the term that it is, if it is one."""
    text, language = read_file(path)
    tree = read_tree(text, language)
    return tree, term_from_tree(tree, str(path)) if language == "json" and is_term(tree.data) else None


def source_of(path: Path) -> Source:
    """The text, or the workbook, that a scenario was read from, to say where its statements stand."""
    if is_table(path):
        return Source(str(path), cell=cells_of(path))
    text, language = read_file(path)
    source = Source.of(text, str(path), language)
    is_one = language == "json" and source.tree is not None and is_term(source.tree.data)
    return replace(source, within=("scenario",)) if is_one else source


def write_text(text: str, output: Path | None) -> None:
    """Write text for people to a file, or to standard output where none is named."""
    if output is None:
        put_text(text)
    else:
        write_whole(output, visible_lines(text).encode())


def write_data(content: str | bytes, output: Path | None) -> None:
    """Write a format for programs, as it is, to a file, or to standard output where none is named."""
    if output is None:
        put_data(content)
    else:
        write_whole(output, content.encode() if isinstance(content, str) else content)


def write_form(content: str | bytes, form: str, output: Path | None) -> None:
    """Write one of the forms in which something is shown: text for people, or a format for programs."""
    if form == "text" and isinstance(content, str):
        write_text(content, output)
    elif form == "json" and isinstance(content, str):
        write_data(visible_json(content), output)
    else:
        write_data(content, output)


def check_terminal_takes(form: str, output: Path | None) -> None:
    """Refuse to print a workbook.

    Raises
    ------
    UnusableSettings
    """
    if form == "xlsx" and output is None and output_is_terminal():
        raise UnusableSettings(["a workbook is no text: say with --output where to write it"])


def keeps_file(status: str, output: Path | None) -> bool:
    """Whether a file that is there stays, since time ran out with nothing better to put in its place; that is told."""
    if status != UNKNOWN or output is None or not output.is_file():
        return False
    tell([f"{output} stays as it was: time ran out before a sequence was found."])
    return True


def check_output(options: argparse.Namespace) -> None:
    """Refuse to write where something is read, unless a plan takes the place of one that it was made from, and says all of it.

    Raises
    ------
    UnusableSettings
    UnusableInput
        When that plan cannot be read.
    """
    output: Path | None = getattr(options, "output", None)
    if output is None:
        return
    for name, given in vars(options).items():
        if name in NOT_READ or not isinstance(given, Path) or not _is_same(output, given):
            continue
        if name not in PLANS or output.suffix.lower() != f".{options.format}" or not is_table(output):
            raise UnusableSettings([f"--output {output} is read by the same command: name another file, so that it is not lost"])
        if lost := said_only_in_plan(output, options.record == given):
            said = f"what it says of lessons ({', '.join(lost)})"
            raise UnusableSettings([f"--output {output} would lose {said}: name another file, and keep this one"])


PLANS = ("record", "previous", "pins", "plan")
"""Arguments that may name a plan that is worked on: a workbook or a table of ours."""

NOT_READ = ("output", "results", "models", "folder")
"""Arguments whose paths are no files that the command reads; of a batch's folder each file is looked at when it is known."""


def _is_same(output: Path, given: Path) -> bool:
    """Whether two paths name one file, or the first a sheet in the folder of sheets that the other one is."""
    if given.is_dir() and is_table(given):
        return output.suffix.lower() == ".csv" and output.exists() and output.resolve().parent == given.resolve()
    return output.resolve() == given.resolve() or (output.exists() and given.exists() and output.samefile(given))


Found = TypeVar("Found")


def run_until_stopped(search: Callable[[], Found], stop: StopSignal | None, keeps: Callable[[], bool] = lambda: True) -> Found:
    """Search in a thread of its own, so that an interrupt (Ctrl-C) reaches us at once.

    Parameters
    ----------
    stop
        By which an interrupt ends the search, keeping the best so far; None where nothing is kept.
    keeps
        Whether there is anything to be kept yet. Where there is not, and at a second interrupt, the program ends.
    """
    outcome: list[Found] = []
    failed: list[BaseException] = []

    def work() -> None:
        try:
            outcome.append(search())
        except BaseException as error:
            failed.append(error)

    def interrupt(number: int, frame: FrameType | None) -> None:
        if stop is not None and not stop.stopped and keeps():
            stop.stop()
        elif callable(before):
            before(number, frame)

    before = signal.signal(signal.SIGINT, interrupt)
    try:
        thread = threading.Thread(target=work, daemon=True)
        thread.start()
        while thread.is_alive():
            thread.join(0.1)
    finally:
        signal.signal(signal.SIGINT, before)
    for error in failed:
        raise error
    return outcome[0]


def starters_of(answer: Answer, options: argparse.Namespace) -> tuple[Starters, ...]:
    """The starters assigned to an answer's sequence, in the time asked for."""
    stop = StopSignal()
    return run_until_stopped(lambda: assign_starters(answer, options.seconds, options.seed, stop), stop)


def json_text(body: dict[str, Any]) -> str:
    """A body as JSON text."""
    return visible_json(json.dumps(body, indent=2, ensure_ascii=False)) + "\n"
