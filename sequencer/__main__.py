"""The command line: ``python -m sequencer``; it calls the public functions and decides nothing.

Exit codes: 0 a sequence, a sound check or a new scenario, 1 no sequence exists (or a check found breaches), 2 the input
cannot be used, 3 time ran out with no sequence found, 4 a defect of this program (the referee rejects what the solver found).
"""

from __future__ import annotations

import argparse
import sys
import threading
from dataclasses import replace
from datetime import date
from io import TextIOWrapper
from pathlib import Path

from sequencer import (
    AROUND,
    FORMATS,
    Answer,
    Asked,
    ExplainSettings,
    NothingToShow,
    Progress,
    RefereeDisagrees,
    Scenario,
    Shown,
    SolveSettings,
    Starters,
    StopSignal,
    UnusableInput,
    UnusableSettings,
    answer_json,
    answer_text,
    around_written,
    as_planned,
    assign_starters,
    build_instance,
    calendar_notes,
    check_shown,
    explanation_json,
    explanation_text,
    is_table,
    next_term,
    next_term_yaml,
    opens_in,
    read_calendar,
    read_day,
    read_loss,
    redate,
    redated_yaml,
    scenario_schema,
    sequence_calendar,
    slot_rows,
    slots_text,
    solve,
    written,
)
from sequencer.arguments import parser_of
from sequencer.command_batch import run_of_batch
from sequencer.command_comparing import run_compare
from sequencer.command_explaining import run_check, run_explain, run_export, run_price, why_none
from sequencer.command_files import (
    DEFECT,
    DONE,
    NONE_EXISTS,
    TIME_RAN_OUT,
    UNUSABLE,
    json_text,
    run_until_stopped,
    scenario_asked,
    scenario_in,
    sequence_in,
    source_of,
    tell,
    write,
)
from sequencer.command_replanning import run_replan
from sequencer.command_starting import run_start
from sequencer.scenario.documents import LANGUAGES
from sequencer.words import INFEASIBLE, UNKNOWN


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


def _earlier(scenario: Scenario, path: Path | None) -> bytes | None:
    """An earlier calendar, or that of an earlier sequence."""
    if path is None or not (is_table(path) or path.suffix.lower() in LANGUAGES):
        return path.read_bytes() if path is not None else None
    return sequence_calendar(scenario, sequence_in(scenario, path))


def _sequence(options: argparse.Namespace) -> int:
    around = options.format in [each.name for each in AROUND]
    asked = read_day(options.on, "on") if options.on is not None else None
    _check_around(options)
    scenario = scenario_asked(options)
    shown = Shown(tuple(options.classes), tuple(options.teachers), _earlier(scenario, options.earlier), options.copy)
    if not around:
        check_shown(scenario, options.format, shown)
    if options.format == "xlsx" and options.output is None and sys.stdout.isatty():
        raise UnusableSettings(["a workbook is no text: say with --output where to write it"])
    stop = StopSignal()
    answer = _answer(scenario, options, stop)
    why = (
        why_none(scenario, ExplainSettings(options.seconds, conflicts=1, repairs=1), stop)
        if answer.status == INFEASIBLE
        else None
    )
    if why is not None and options.format == "json":
        write(json_text(answer_json(answer, explanation_json(why, source_of(options)))), options.output)
        return NONE_EXISTS
    if why is not None and options.format == "text":
        write(f"{answer_text(answer)}\n{explanation_text(why, source_of(options))}", options.output)
        return NONE_EXISTS
    try:
        if options.starters and not around:
            shown = replace(shown, opens=opens_in(answer, _starters(answer, options)))
        text = _around(answer, options, asked) if around else written(answer, options.format, shown)
        write(text, options.output)
        if isinstance(text, bytes) and options.format == "calendar":
            tell(calendar_notes(scenario, shown.previous, text))
    except NothingToShow as nothing:
        # An earlier file stays as it is.
        print(f"{nothing}.", file=sys.stderr)
    if why is not None:
        print(explanation_text(why, source_of(options)), file=sys.stderr, end="")
    return {INFEASIBLE: NONE_EXISTS, UNKNOWN: TIME_RAN_OUT}.get(answer.status, DONE)


def _answer(scenario: Scenario, options: argparse.Namespace, stop: StopSignal) -> Answer:
    """The plan handed in as it is, or the best sequence found in the time allowed."""
    if options.plan is not None:
        if options.alternatives or options.loss or options.pins is not None:
            raise UnusableSettings(["--plan shows a plan as it is: --alternatives, --loss and --pins cannot go with it"])
        return as_planned(scenario, sequence_in(scenario, options.plan))
    line = _ProgressLine() if sys.stderr.isatty() else None
    settings = SolveSettings(options.seconds, options.seed, alternatives=options.alternatives, loss=read_loss(options.loss))
    answer: Answer = run_until_stopped(lambda: solve(scenario, settings, line, stop), stop)
    if line is not None:
        line.close()
    return answer


def _check_around(options: argparse.Namespace) -> None:
    """What is asked for must go with the format: what surrounds a sequence takes other things than the sequence."""
    problems, around = [], [each.name for each in AROUND]
    if options.on is not None and options.format != "preparation":
        problems.append("--on can only be given with --format preparation")
    for way in ("json", "csv", "sheet"):
        if getattr(options, way) and options.format not in around:
            problems.append(f"--{way} is for the formats {', '.join(around)}: for the sequence there is --format {way}")
    open_with = [each.name for each in FORMATS if "opens" in each.heeds]
    if options.starters and options.format not in (*open_with, "coverage"):
        problems.append(f"--starters is for the formats {', '.join(open_with)}, coverage (not {options.format})")
    if options.format in around:
        heeded = {"teachers"} if options.format == "preparation" else set()
        for name, given in (("class", "classes"), ("teacher", "teachers"), ("earlier", "earlier"), ("copy", "copy")):
            if getattr(options, given) and given not in heeded:
                problems.append(f"--{name} cannot be given with --format {options.format}")
        if heeded and len(options.teachers) > 1:
            problems.append("--teacher can be given once with --format preparation")
    if problems:
        raise UnusableSettings(problems)


def _around(answer: Answer, options: argparse.Namespace, on: date | None) -> str | bytes:
    starters = _starters(answer, options) if options.starters or options.format == "starters" else None
    form = next((way for way in ("json", "csv", "sheet") if getattr(options, way)), "text")
    return around_written(answer, options.format, form, Asked(on, next(iter(options.teachers), None), starters))


def _starters(answer: Answer, options: argparse.Namespace) -> tuple[Starters, ...]:
    stop = StopSignal()
    found: tuple[Starters, ...] = run_until_stopped(lambda: assign_starters(answer, options.seconds, options.seed, stop), stop)
    return found


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


def _slots(options: argparse.Namespace) -> int:
    instance = build_instance(scenario_in(options.scenario))
    sys.stdout.write(json_text({"slots": slot_rows(instance)}) if options.format == "json" else slots_text(instance))
    return DONE


def _redate(options: argparse.Namespace) -> int:
    scenario = scenario_in(options.scenario)
    redated = redate(scenario, read_calendar(scenario, options.calendar))
    write(redated_yaml(redated), options.output)
    for misfit in redated.no_longer_fits:
        print(misfit.text, file=sys.stderr)
    return DONE


def _next(options: argparse.Namespace) -> int:
    first, last = read_day(options.first, "first"), read_day(options.last, "last")
    scenario = scenario_asked(options)
    rolled = next_term(scenario, sequence_in(scenario, options.sequence), first, last)
    write(next_term_yaml(rolled), options.output)
    for misfit in rolled.no_longer_fits:
        print(misfit, file=sys.stderr)
    return DONE


def _schema(_options: argparse.Namespace) -> int:
    sys.stdout.write(json_text(scenario_schema()))
    return DONE


_COMMANDS = {
    "sequence": _sequence,
    "check": run_check,
    "explain": run_explain,
    "compare": run_compare,
    "replan": run_replan,
    "price": run_price,
    "export": run_export,
    "batch": run_of_batch,
    "slots": _slots,
    "redate": _redate,
    "next": _next,
    "start": run_start,
    "schema": _schema,
}


if __name__ == "__main__":
    sys.exit(main())
