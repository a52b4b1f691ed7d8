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
from io import TextIOWrapper
from pathlib import Path
from types import FrameType
from typing import Any

from sequencer import (
    FORMATS,
    MOST_ALTERNATIVES,
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
    build_instance,
    check,
    check_shown,
    is_table,
    load_recorded,
    load_sequence,
    next_term,
    next_term_yaml,
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
    slot_rows,
    slots_text,
    solve,
    verdict_json,
    verdict_text,
    write_blank,
    written,
)
from sequencer.scenario.documents import LANGUAGES, read_file
from sequencer.words import INFEASIBLE, UNKNOWN

DONE, NONE_EXISTS, UNUSABLE, TIME_RAN_OUT, DEFECT = 0, 1, 2, 3, 4


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code."""
    options = _parser().parse_args(arguments)
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


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m sequencer", description="Turns a teacher's scenario into a dated, proven sequence of lessons."
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    sequence = commands.add_parser("sequence", help="find the best sequence for a scenario")
    sequence.add_argument("scenario", type=Path, help="a scenario file, .yaml or .json, or a workbook")
    _record_argument(sequence)
    names = ", ".join(f"{each.name} ({each.what})" for each in FORMATS)
    sequence.add_argument(
        "--format", choices=[each.name for each in FORMATS], default="text", metavar="FORMAT",
        help=f"what to write (default: text): {names}",
    )  # fmt: skip
    sequence.add_argument(
        "--class", action="append", default=[], dest="classes", metavar="CLASS",
        help="only this class on sheets, in calendars and tables; may be given several times",
    )  # fmt: skip
    sequence.add_argument(
        "--teacher", action="append", default=[], dest="teachers", metavar="NAME",
        help="only this teacher's lessons; may be given several times",
    )  # fmt: skip
    sequence.add_argument(
        "--earlier", type=Path, metavar="FILE.ics",
        help="a calendar written before, which the new one is to bring up to date: what changed rises, what is gone is cancelled",
    )  # fmt: skip
    sequence.add_argument(
        "--pins",
        type=Path,
        metavar="FILE",
        help="a plan (.xlsx, .csv) whose lessons marked in the column pin stay where they lie",
    )
    sequence.add_argument("--seconds", type=_seconds, default=30.0, help="time allowed (default: 30)")
    sequence.add_argument("--seed", type=_seed, default=0, help="seed of the search (default: 0)")
    sequence.add_argument(
        "--alternatives", type=_alternatives, default=0, metavar="N",
        help="look for up to N further sequences as good as the best, as different as can be (default: 0)",
    )  # fmt: skip
    sequence.add_argument(
        "--loss", action="append", default=[], metavar="AIM=N",
        help="let one of the last aims be N worse in alternatives, such as distance=2; may be given several times",
    )  # fmt: skip
    sequence.add_argument("--output", type=Path, help="write to this file instead of the terminal")
    sequence.set_defaults(run=_sequence)

    checking = commands.add_parser("check", help="let the referee judge a sequence")
    checking.add_argument("scenario", type=Path, help="a scenario file, .yaml or .json, or a workbook")
    checking.add_argument("sequence", type=Path, help="a sequence, .json, .yaml, .xlsx or .csv: an answer, or its `lessons`")
    _record_argument(checking)
    checking.add_argument("--format", choices=("text", "json"), default="text", help="what to write (default: text)")
    checking.set_defaults(run=_check)

    slots = commands.add_parser("slots", help="list every class's periods in order")
    slots.add_argument("scenario", type=Path, help="a scenario file, .yaml or .json, or a workbook")
    slots.add_argument("--format", choices=("text", "json"), default="text", help="what to write (default: text)")
    slots.set_defaults(run=_slots)

    redating = commands.add_parser("redate", help="put last year's scenario on this year's calendar")
    redating.add_argument("scenario", type=Path, help="last year's scenario file, .yaml or .json")
    redating.add_argument("calendar", type=Path, help="this year's term, holidays, closures and timetables, .yaml or .json")
    redating.add_argument("--output", type=_yaml_file, help="write to this .yaml file instead of the terminal")
    redating.set_defaults(run=_redate)

    rolling = commands.add_parser("next", help="begin the next term's scenario from this term's and its sequence")
    rolling.add_argument("scenario", type=Path, help="this term's scenario file, .yaml or .json")
    rolling.add_argument("sequence", type=Path, help="its sequence, .json, .yaml, .xlsx or .csv: an answer, or its `lessons`")
    _record_argument(rolling)
    rolling.add_argument("--first", required=True, metavar="DATE", help="first day of the next term, such as 2027-01-04")
    rolling.add_argument("--last", required=True, metavar="DATE", help="last day of the next term")
    rolling.add_argument("--output", type=_yaml_file, help="write to this .yaml file instead of the terminal")
    rolling.set_defaults(run=_next)

    start = commands.add_parser("start", help="write a workbook to fill in; or read it, when it is there, into a scenario")
    start.add_argument("path", type=Path, metavar="FILE.xlsx", help="the workbook, or a folder of CSV files")
    start.add_argument("--output", type=_yaml_file, help="write the scenario to this .yaml file instead of the terminal")
    start.set_defaults(run=_start)

    schema = commands.add_parser("schema", help="print the JSON Schema of scenarios, for editors")
    schema.set_defaults(run=_schema)
    return parser


def _record_argument(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--record", type=Path, metavar="FILE",
        help="what happened: a file with record and today, or an answer in which lessons say what became of them",
    )  # fmt: skip


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


def _seconds(text: str) -> float:
    seconds = float(text)
    if not 0 < seconds <= 86400:
        raise argparse.ArgumentTypeError("must be more than 0 and at most 86400 seconds")
    return seconds


def _seed(text: str) -> int:
    seed = int(text)
    if not 0 <= seed < 2**31:
        raise argparse.ArgumentTypeError("must be a whole number from 0 to 2147483647")
    return seed


def _alternatives(text: str) -> int:
    alternatives = int(text)
    if not 0 <= alternatives <= MOST_ALTERNATIVES:
        raise argparse.ArgumentTypeError(f"must be a whole number from 0 to {MOST_ALTERNATIVES}")
    return alternatives


def _yaml_file(text: str) -> Path:
    if LANGUAGES.get(Path(text).suffix.lower()) != "yaml":
        raise argparse.ArgumentTypeError("must end in .yaml or .yml, since it is written as YAML")
    return Path(text)


def _sequence(options: argparse.Namespace) -> int:
    scenario = _scenario(options)
    earlier = options.earlier.read_bytes() if options.earlier is not None else None
    shown = Shown(tuple(options.classes), tuple(options.teachers), earlier)
    check_shown(scenario, options.format, shown)
    stop = StopSignal()
    line = _ProgressLine() if sys.stderr.isatty() else None
    settings = SolveSettings(options.seconds, options.seed, alternatives=options.alternatives, loss=read_loss(options.loss))
    answer = _run_until_stopped(scenario, settings, line, stop)
    if line is not None:
        line.close()
    try:
        _write(written(answer, options.format, shown), options.output)
    except NothingToShow as nothing:
        # An earlier file stays as it is.
        print(f"{nothing}.", file=sys.stderr)
    return {INFEASIBLE: NONE_EXISTS, UNKNOWN: TIME_RAN_OUT}.get(answer.status, DONE)


def _write(text: str | bytes, output: Path | None) -> None:
    if output is not None:
        output.write_bytes(text.encode("utf-8") if isinstance(text, str) else text)
    elif isinstance(text, str):
        sys.stdout.write(text)
    else:
        sys.stdout.flush()
        sys.stdout.buffer.write(text)


def _run_until_stopped(scenario: Scenario, settings: SolveSettings, line: _ProgressLine | None, stop: StopSignal) -> Any:
    """Solve in a thread of its own, so that an interrupt (Ctrl-C) reaches us and stops the search, keeping the best so far."""
    outcome: list[Any] = []

    def work() -> None:
        try:
            outcome.append(solve(scenario, settings, line, stop))
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


def _json(body: dict[str, Any]) -> str:
    return json.dumps(body, indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    sys.exit(main())
