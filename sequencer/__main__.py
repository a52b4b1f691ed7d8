"""The command line: ``python -m sequencer``; it calls the public functions and decides nothing.

Exit codes: 0 a sequence, a sound check or a new scenario, 1 no sequence exists (or a check found breaches), 2 the input
cannot be used, 3 time ran out with no sequence found, 4 a defect of this program (the referee rejects what the solver found).
"""

from __future__ import annotations

import argparse
import json
import signal
import sys
import threading
from collections.abc import Callable
from datetime import date
from io import TextIOWrapper
from pathlib import Path
from types import FrameType
from typing import Any

from sequencer import (
    Answer,
    NothingToShow,
    Progress,
    RefereeDisagrees,
    Scenario,
    Sequence,
    Shown,
    SolveSettings,
    StopSignal,
    UnusableInput,
    UnusableSettings,
    assign_starters,
    build_instance,
    check,
    check_shown,
    coverage_json,
    coverage_text,
    is_table,
    load_recorded,
    load_sequence,
    next_term,
    next_term_yaml,
    preparation_json,
    preparation_text,
    read_calendar,
    read_day,
    read_loss,
    read_plan_pins,
    read_plan_record,
    read_plan_sequence,
    read_recorded,
    read_scenario,
    read_workbook,
    redate,
    redated_yaml,
    scenario_schema,
    scenario_yaml,
    sequence_calendar,
    slot_rows,
    slots_text,
    solve,
    starters_json,
    starters_text,
    verdict_json,
    verdict_text,
    write_blank,
    written,
)
from sequencer.arguments import AROUND, parser_of
from sequencer.scenario.documents import LANGUAGES, read_file
from sequencer.words import INFEASIBLE, UNKNOWN

DONE, NONE_EXISTS, UNUSABLE, TIME_RAN_OUT, DEFECT = 0, 1, 2, 3, 4


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code."""
    options = parser_of(_COMMANDS).parse_args(arguments)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks a character shows another, and the answer is not lost
    try:
        code: int = options.run(options)
    except UnusableInput as unusable:
        for problem in unusable.problems:
            print(problem.text(unusable.source), file=sys.stderr)
        return UNUSABLE
    except UnusableSettings as unusable:
        for message in unusable.problems:
            print(message, file=sys.stderr)
        return UNUSABLE
    except OSError as error:
        print(f"{error.filename}: {error.strerror}", file=sys.stderr)
        return UNUSABLE
    except RefereeDisagrees as defect:
        print(
            f"A defect of this program: its referee rejects the sequence found ({defect}). Nothing was written.", file=sys.stderr
        )
        return DEFECT
    return code


def _scenario(options: argparse.Namespace) -> Scenario:
    """The scenario of a file or a workbook, with what happened, and pins, where they are given."""
    record, pins = options.record, getattr(options, "pins", None)
    if record is not None and not is_table(record) and not is_table(options.scenario):
        scenario = read_recorded(options.scenario, record)
    else:
        scenario = _read_scenario(options.scenario)
        if record is not None and is_table(record):
            scenario = read_plan_record(scenario, record)
        elif record is not None:
            text, language = read_file(record)
            scenario = load_recorded(scenario_yaml(scenario), text, str(options.scenario), str(record), "yaml", language)
    return read_plan_pins(scenario, pins) if pins is not None else scenario


def _read_scenario(path: Path) -> Scenario:
    return read_workbook(path) if is_table(path) else read_scenario(path)


def _read_sequence(scenario: Scenario, path: Path) -> Sequence:
    if is_table(path):
        return read_plan_sequence(scenario, path)
    text, language = read_file(path)
    return load_sequence(scenario, text, str(path), language)


def _earlier(scenario: Scenario, path: Path | None) -> bytes | None:
    """An earlier calendar, or that of an earlier sequence."""
    if path is None or not (is_table(path) or path.suffix.lower() in LANGUAGES):
        return path.read_bytes() if path is not None else None
    return sequence_calendar(scenario, _read_sequence(scenario, path))


def _sequence(options: argparse.Namespace) -> int:
    around = options.format in AROUND
    asked = read_day(options.on, "on") if options.on is not None else None
    _check_around(options)
    scenario = _scenario(options)
    shown = Shown(tuple(options.classes), tuple(options.teachers), _earlier(scenario, options.earlier))
    if not around:
        check_shown(scenario, options.format, shown)
    if options.format == "xlsx" and options.output is None and sys.stdout.isatty():
        raise UnusableSettings(["a workbook is no text: say with --output where to write it"])
    stop = StopSignal()
    line = _ProgressLine() if sys.stderr.isatty() else None
    settings = SolveSettings(options.seconds, options.seed, alternatives=options.alternatives, loss=read_loss(options.loss))
    answer = _run_until_stopped(lambda: solve(scenario, settings, line, stop), stop)
    if line is not None:
        line.close()
    try:
        _write(_around(answer, options, asked) if around else written(answer, options.format, shown), options.output)
    except NothingToShow as nothing:
        # An earlier file stays as it is.
        print(f"{nothing}.", file=sys.stderr)
    return {INFEASIBLE: NONE_EXISTS, UNKNOWN: TIME_RAN_OUT}.get(answer.status, DONE)


def _check_around(options: argparse.Namespace) -> None:
    """What is asked for must go with the format: what surrounds a sequence takes other things than the sequence."""
    problems = []
    if options.on is not None and options.format != "preparation":
        problems.append("--on can only be given with --format preparation")
    if options.json and options.format not in AROUND:
        problems.append(f"--json is for the formats {', '.join(AROUND)}: for the sequence there is --format json")
    if options.format in AROUND:
        heeded = {"teachers"} if options.format == "preparation" else set()
        for name, given in (("class", "classes"), ("teacher", "teachers"), ("earlier", "earlier")):
            if getattr(options, given) and given not in heeded:
                problems.append(f"--{name} cannot be given with --format {options.format}")
        if heeded and len(options.teachers) > 1:
            problems.append("--teacher can be given once with --format preparation")
    if problems:
        raise UnusableSettings(problems)


def _around(answer: Answer, options: argparse.Namespace, asked: date | None) -> str:
    if options.format == "preparation":
        about = answer, asked, next(iter(options.teachers), None)
        return _json(preparation_json(*about)) if options.json else preparation_text(*about)
    if options.format == "starters":
        stop = StopSignal()
        starters = _run_until_stopped(lambda: assign_starters(answer, options.seconds, options.seed, stop), stop)
        return _json(starters_json(answer, starters)) if options.json else starters_text(answer, starters)
    return _json(coverage_json(answer)) if options.json else coverage_text(answer)


def _write(text: str | bytes, output: Path | None) -> None:
    if output is not None:
        output.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    elif isinstance(text, str):
        sys.stdout.write(text)
    else:
        sys.stdout.flush()
        sys.stdout.buffer.write(text)


def _run_until_stopped(search: Callable[[], Any], stop: StopSignal) -> Any:
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


class _ProgressLine:
    """A line per aim on a terminal: best value, bound and elapsed time, rewritten while the aim is being settled."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._showing: tuple[str, tuple[str, ...]] | None = None

    def __call__(self, progress: Progress) -> None:
        with self._lock:
            about = (progress.aim, progress.classes)
            if self._showing is not None and self._showing != about:
                sys.stderr.write("\n")
            self._showing = about
            classes = ", ".join(progress.classes)
            sys.stderr.write(
                f"\r\x1b[K{classes}: {progress.aim}: best {progress.value}, bound {progress.bound}, {progress.seconds:.1f} s"
            )
            sys.stderr.flush()

    def close(self) -> None:
        """End the last line."""
        if self._showing is not None:
            sys.stderr.write("\n")


def _check(options: argparse.Namespace) -> int:
    scenario = _scenario(options)
    sequence = _read_sequence(scenario, options.sequence)
    instance = build_instance(scenario)
    verdict = check(scenario, sequence)
    if options.format == "json":
        sys.stdout.write(_json(verdict_json(instance, verdict)))
    else:
        values = ", ".join(f"{aim} {verdict.aims[aim]}" for aim in instance.aims)
        sys.stdout.write(verdict_text(instance, verdict) + f"Aims: {values}\n")
    return DONE if verdict.sound else NONE_EXISTS


def _slots(options: argparse.Namespace) -> int:
    instance = build_instance(_read_scenario(options.scenario))
    sys.stdout.write(_json({"slots": slot_rows(instance)}) if options.format == "json" else slots_text(instance))
    return DONE


def _redate(options: argparse.Namespace) -> int:
    scenario = _read_scenario(options.scenario)
    redated = redate(scenario, read_calendar(scenario, options.calendar))
    _write(redated_yaml(redated), options.output)
    for misfit in redated.no_longer_fits:
        print(misfit.text, file=sys.stderr)
    return DONE


def _next(options: argparse.Namespace) -> int:
    first, last = read_day(options.first, "first"), read_day(options.last, "last")
    scenario = _scenario(options)
    rolled = next_term(scenario, _read_sequence(scenario, options.sequence), first, last)
    _write(next_term_yaml(rolled), options.output)
    for misfit in rolled.no_longer_fits:
        print(misfit, file=sys.stderr)
    return DONE


def _start(options: argparse.Namespace) -> int:
    path: Path = options.path
    if not path.exists():
        if path.suffix.lower() not in (".xlsx", ""):
            raise UnusableSettings([f"{path} must end in .xlsx, or be the name of a folder"])
        write_blank(path)
        print(f"Wrote {path}. Type over the example in it; then: python -m sequencer start {path} --output plan.yaml")
        return DONE
    scenario = read_workbook(path)
    _write(scenario_yaml(scenario, [f"Read from {path.name}; change it there, or here."]), options.output)
    return DONE


def _schema(_options: argparse.Namespace) -> int:
    sys.stdout.write(_json(scenario_schema()))
    return DONE


_COMMANDS = {
    "sequence": _sequence,
    "check": _check,
    "slots": _slots,
    "redate": _redate,
    "next": _next,
    "start": _start,
    "schema": _schema,
}


def _json(body: dict[str, Any]) -> str:
    return json.dumps(body, indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    sys.exit(main())
