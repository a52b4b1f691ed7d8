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
from collections.abc import Mapping
from io import TextIOWrapper
from pathlib import Path
from types import FrameType
from typing import Any

from sequencer import (
    MOST_ALTERNATIVES,
    PRICED_RULES,
    ExplainSettings,
    Explanation,
    Progress,
    RefereeDisagrees,
    Scenario,
    Sequence,
    SolveSettings,
    Source,
    StopSignal,
    UnusableInput,
    UnusableSettings,
    answer_json,
    answer_text,
    build_instance,
    check,
    complete,
    elsewhere,
    elsewhere_json,
    elsewhere_text,
    explain,
    explanation_json,
    explanation_text,
    export_models,
    load_sequence,
    next_term,
    next_term_yaml,
    price,
    read_calendar,
    read_day,
    read_loss,
    read_recorded,
    read_scenario,
    redate,
    redated_yaml,
    scenario_schema,
    scenario_yaml,
    slot_rows,
    slots_text,
    solve,
    untitled,
    verdict_json,
    verdict_text,
)
from sequencer.scenario.documents import LANGUAGES, read_file
from sequencer.words import INFEASIBLE, UNKNOWN

MOST_LISTED = 20
"""Conflicts, and repairs, that are listed at most."""

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
    sequence.add_argument("scenario", type=Path, help="a scenario file, .yaml or .json")
    _record_argument(sequence)
    sequence.add_argument("--format", choices=("text", "json"), default="text", help="what to write (default: text)")
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

    explaining = commands.add_parser("explain", help="say why a scenario has no sequence, and what would give it one")
    explaining.add_argument("scenario", type=Path, help="a scenario file, .yaml or .json")
    _record_argument(explaining)
    explaining.add_argument("--format", choices=("text", "json"), default="text", help="what to write (default: text)")
    explaining.add_argument("--seconds", type=_seconds, default=60.0, help="time allowed (default: 60)")
    explaining.add_argument("--conflicts", type=_how_many, default=3, metavar="N", help="conflicts listed at most (default: 3)")
    explaining.add_argument("--repairs", type=_how_many, default=3, metavar="N", help="repairs listed at most (default: 3)")
    explaining.add_argument(
        "--lesson", type=_class_and_lesson, metavar="CLASS:UNIT/LESSON",
        help="say instead where else this lesson of a sequence could lie, and what that would cost or what forbids it",
    )  # fmt: skip
    explaining.add_argument("--sequence", type=Path, help="with --lesson: the sequence asked about (default: the best one found)")
    explaining.set_defaults(run=_explain)

    pricing = commands.add_parser("price", help="say what each aim would gain if a rule were dropped")
    pricing.add_argument("scenario", type=Path, help="a scenario file, .yaml or .json")
    pricing.add_argument("--rule", required=True, choices=PRICED_RULES, help="the rule to drop")
    pricing.add_argument("--seconds", type=_seconds, default=30.0, help="time allowed for each solve (default: 30)")
    pricing.set_defaults(run=_price)

    exporting = commands.add_parser("export", help="write a scenario for a bug report, titles and people's names replaced")
    exporting.add_argument("scenario", type=Path, help="a scenario file, .yaml or .json")
    exporting.add_argument("--output", type=_yaml_file, help="write to this .yaml file instead of the terminal")
    exporting.add_argument("--models", type=Path, metavar="FOLDER", help="write the solver's models there too")
    exporting.set_defaults(run=_export)

    checking = commands.add_parser("check", help="let the referee judge a sequence")
    checking.add_argument("scenario", type=Path, help="a scenario file, .yaml or .json")
    checking.add_argument("sequence", type=Path, help="a sequence, .json, .yaml or .csv: an answer, its `lessons`, or a table")
    _record_argument(checking)
    checking.add_argument("--best", action="store_true", help="put the aims beside those of the best sequence")
    checking.add_argument("--complete", action="store_true", help="say whether a part of a sequence can be completed")
    checking.add_argument("--seconds", type=_seconds, default=30.0, help="time for each of these (default: 30)")
    checking.add_argument("--format", choices=("text", "json"), default="text", help="what to write (default: text)")
    checking.set_defaults(run=_check)

    slots = commands.add_parser("slots", help="list every class's periods in order")
    slots.add_argument("scenario", type=Path, help="a scenario file, .yaml or .json")
    slots.add_argument("--format", choices=("text", "json"), default="text", help="what to write (default: text)")
    slots.set_defaults(run=_slots)

    redating = commands.add_parser("redate", help="put last year's scenario on this year's calendar")
    redating.add_argument("scenario", type=Path, help="last year's scenario file, .yaml or .json")
    redating.add_argument("calendar", type=Path, help="this year's term, holidays, closures and timetables, .yaml or .json")
    redating.add_argument("--output", type=_yaml_file, help="write to this .yaml file instead of the terminal")
    redating.set_defaults(run=_redate)

    rolling = commands.add_parser("next", help="begin the next term's scenario from this term's and its sequence")
    rolling.add_argument("scenario", type=Path, help="this term's scenario file, .yaml or .json")
    rolling.add_argument("sequence", type=Path, help="its sequence, .json or .yaml: an answer, or its `lessons`")
    _record_argument(rolling)
    rolling.add_argument("--first", required=True, metavar="DATE", help="first day of the next term, such as 2027-01-04")
    rolling.add_argument("--last", required=True, metavar="DATE", help="last day of the next term")
    rolling.add_argument("--output", type=_yaml_file, help="write to this .yaml file instead of the terminal")
    rolling.set_defaults(run=_next)

    schema = commands.add_parser("schema", help="print the JSON Schema of scenarios, for editors")
    schema.set_defaults(run=_schema)
    return parser


def _record_argument(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--record", type=Path, metavar="FILE",
        help="what happened: a file with record and today, or an answer in which lessons say what became of them",
    )  # fmt: skip


def _scenario(options: argparse.Namespace) -> Scenario:
    return read_scenario(options.scenario) if options.record is None else read_recorded(options.scenario, options.record)


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


def _class_and_lesson(text: str) -> tuple[str, str]:
    class_id, colon, ref = text.partition(":")
    if not colon or "/" not in ref:
        raise argparse.ArgumentTypeError("must be a class and a lesson, such as 10G:rivers/test")
    return class_id, ref


def _how_many(text: str) -> int:
    number = int(text)
    if not 1 <= number <= MOST_LISTED:
        raise argparse.ArgumentTypeError(f"must be a whole number from 1 to {MOST_LISTED}")
    return number


def _yaml_file(text: str) -> Path:
    if LANGUAGES.get(Path(text).suffix.lower()) != "yaml":
        raise argparse.ArgumentTypeError("must end in .yaml or .yml, since it is written as YAML")
    return Path(text)


def _sequence(options: argparse.Namespace) -> int:
    scenario = _scenario(options)
    stop = StopSignal()
    line = _ProgressLine() if sys.stderr.isatty() else None
    settings = SolveSettings(options.seconds, options.seed, alternatives=options.alternatives, loss=read_loss(options.loss))
    answer = _run_until_stopped(scenario, settings, line, stop)
    if line is not None:
        line.close()
    why = _why(scenario, ExplainSettings(options.seconds, conflicts=1, repairs=1), stop) if answer.status == INFEASIBLE else None
    if options.format == "json":
        text = _json(answer_json(answer, explanation_json(why, _source(options)) if why is not None else None))
    else:
        text = answer_text(answer) + (f"\n{explanation_text(why, _source(options))}" if why is not None else "")
    _write(text, options.output)
    return {INFEASIBLE: NONE_EXISTS, UNKNOWN: TIME_RAN_OUT}.get(answer.status, DONE)


def _explain(options: argparse.Namespace) -> int:
    if options.lesson is not None:
        return _elsewhere(options)
    why = _why(_scenario(options), ExplainSettings(options.seconds, options.conflicts, options.repairs), StopSignal())
    source = _source(options)
    sys.stdout.write(_json(explanation_json(why, source)) if options.format == "json" else explanation_text(why, source))
    return {True: DONE, False: NONE_EXISTS, None: TIME_RAN_OUT}[why.possible]


def _elsewhere(options: argparse.Namespace) -> int:
    scenario, sequence = _scenario(options), None
    if options.sequence is not None:
        sequence = _given(scenario, options.sequence)
    class_id, ref = options.lesson
    found = elsewhere(scenario, class_id, ref, sequence, options.seconds)
    sys.stdout.write(_json(elsewhere_json(found, _source(options))) if options.format == "json" else elsewhere_text(found))
    return DONE


def _price(options: argparse.Namespace) -> int:
    found = price(read_scenario(options.scenario), options.rule, SolveSettings(options.seconds))
    print(f"Without {options.rule}:")
    for with_it, without_it in zip(found.with_it, found.without_it, strict=True):
        values = [str(aim.value) if aim.value is not None else "no sequence" for aim in (with_it, without_it)]
        sure = "" if with_it.proven and without_it.proven else " (best found)"
        print(f"  {with_it.aim}: {values[1]} instead of {values[0]}{sure}")
    return DONE


def _export(options: argparse.Namespace) -> int:
    scenario = untitled(read_scenario(options.scenario))
    _write(scenario_yaml(scenario), options.output)
    for file in export_models(scenario, options.models) if options.models is not None else ():
        print(f"written: {file}", file=sys.stderr)
    return DONE


def _why(scenario: Scenario, settings: ExplainSettings, stop: StopSignal) -> Explanation:
    before = signal.signal(signal.SIGINT, lambda _signal, _frame: stop.stop())
    try:
        return explain(scenario, settings, stop)
    finally:
        signal.signal(signal.SIGINT, before)


def _source(options: argparse.Namespace) -> Source:
    text, language = read_file(options.scenario)
    return Source.of(text, str(options.scenario), language)


def _write(text: str, output: Path | None) -> None:
    if output is not None:
        output.write_text(text, encoding="utf-8")
    else:
        sys.stdout.write(text)


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


def _given(scenario: Scenario, path: Path) -> Sequence:
    if path.suffix.lower() == ".csv":
        return load_sequence(scenario, path.read_bytes(), str(path), "csv")
    text, language = read_file(path)
    return load_sequence(scenario, text, str(path), language)


def _check(options: argparse.Namespace) -> int:
    scenario = _scenario(options)
    sequence = _given(scenario, options.sequence)
    instance = build_instance(scenario)
    verdict = check(scenario, sequence)
    if options.format == "json":
        sys.stdout.write(_json(verdict_json(instance, verdict)))
    else:
        values = ", ".join(f"{aim} {verdict.aims[aim]}" for aim in instance.aims)
        sys.stdout.write(verdict_text(instance, verdict) + f"Aims: {values}\n")
        if options.best:
            print(_beside_the_best(scenario, verdict.aims, options.seconds))
        if options.complete:
            sys.stdout.write(_completed(options, scenario, sequence))
    return DONE if verdict.sound else NONE_EXISTS


def _beside_the_best(scenario: Scenario, aims: Mapping[str, int], seconds: float) -> str:
    best = solve(scenario, SolveSettings(seconds))
    if best.sequence is None:
        return "No sequence that keeps every rule was found: there is no best to compare it with."
    told = [f"{aim.aim} {aims[aim.aim]}, {'proven best' if aim.proven else 'best found'} {aim.value}" for aim in best.aims]
    return f"Beside the best sequence: {'; '.join(told)}"


def _completed(options: argparse.Namespace, scenario: Scenario, sequence: Sequence) -> str:
    found = complete(scenario, sequence, options.seconds)
    if found.answer is None:
        return "It cannot be completed: a lesson is given twice, or for a period in which its class does not meet.\n"
    if found.explanation is not None:
        return f"It cannot be completed. {explanation_text(found.explanation, _source(options))}"
    if found.answer.sequence is None:
        return "Whether it can be completed was not settled in the time allowed.\n"
    more = len(found.answer.sequence.placements) - len(sequence.placements)
    return f"It can be completed, with {more} {'lesson' if more == 1 else 'lessons'} more:\n{answer_text(found.answer)}"


def _slots(options: argparse.Namespace) -> int:
    instance = build_instance(read_scenario(options.scenario))
    sys.stdout.write(_json({"slots": slot_rows(instance)}) if options.format == "json" else slots_text(instance))
    return DONE


def _redate(options: argparse.Namespace) -> int:
    scenario = read_scenario(options.scenario)
    redated = redate(scenario, read_calendar(scenario, options.calendar))
    _write(redated_yaml(redated), options.output)
    for misfit in redated.no_longer_fits:
        print(misfit.text, file=sys.stderr)
    return DONE


def _next(options: argparse.Namespace) -> int:
    first, last = read_day(options.first, "first"), read_day(options.last, "last")
    scenario = _scenario(options)
    text, language = read_file(options.sequence)
    rolled = next_term(scenario, load_sequence(scenario, text, str(options.sequence), language), first, last)
    _write(next_term_yaml(rolled), options.output)
    for misfit in rolled.no_longer_fits:
        print(misfit, file=sys.stderr)
    return DONE


def _schema(_options: argparse.Namespace) -> int:
    sys.stdout.write(_json(scenario_schema()))
    return DONE


def _json(body: dict[str, Any]) -> str:
    return json.dumps(body, indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    sys.exit(main())
