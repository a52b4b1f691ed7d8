"""The command line: ``python -m sequencer``; it calls the public functions and decides nothing.

Exit codes: 0 a sequence, a sound check or a new scenario, 1 no sequence exists (or a check found breaches), 2 the input
cannot be used or written, 3 time ran out with no sequence found, 4 a defect of this program, 130 an interrupt ended it.
"""

from __future__ import annotations

import argparse
import os
import sys
import threading
import traceback
from dataclasses import replace
from datetime import date
from functools import partial
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
    StopSignal,
    UnusableInput,
    UnusableSettings,
    answer_json,
    answer_text,
    around_written,
    as_planned,
    build_instance,
    calendar_notes,
    check_shown,
    explain,
    explanation_json,
    explanation_text,
    is_table,
    next_term,
    next_term_yaml,
    opens_in,
    read_calendar,
    read_day,
    read_loss,
    read_scenario_file,
    redate,
    redated_yaml,
    sequence_calendar,
    slot_rows,
    slots_text,
    solve,
    term_bytes,
    term_of,
    what_if_scenario,
    written,
)
from sequencer.cli.arguments import parser_of
from sequencer.cli.batch import parts_elsewhere, run_of_batch
from sequencer.cli.comparing import run_compare
from sequencer.cli.explain_commands import run_check, run_explain, run_export, run_price
from sequencer.cli.guide_command import run_guide, run_rules, run_schema
from sequencer.cli.outline_command import run_outline
from sequencer.cli.replan_command import run_replan
from sequencer.cli.shared import (
    DEFECT,
    DONE,
    NONE_EXISTS,
    TIME_RAN_OUT,
    UNUSABLE,
    check_output,
    check_terminal_takes,
    json_text,
    keeps_file,
    run_until_stopped,
    scenario_asked,
    sequence_in,
    source_of,
    starters_of,
    write_data,
    write_form,
    write_text,
)
from sequencer.cli.start import run_start
from sequencer.cli.week_command import run_week
from sequencer.files.interrupts import INTERRUPTED, leave_when_interrupted
from sequencer.files.terminal import errors_are_on_a_terminal, open_streams, put_text, tell, tell_over
from sequencer.scenario.documents import LANGUAGES
from sequencer.words import INFEASIBLE, UNKNOWN


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code."""
    open_streams()
    try:
        options = parser_of(_COMMANDS).parse_args(arguments)
        check_output(options)
        code: int = options.run(options)
    except UnusableInput as unusable:
        tell(problem.text(unusable.source) for problem in unusable.problems)
        return UNUSABLE
    except UnusableSettings as unusable:
        tell(unusable.problems)
        return UNUSABLE
    except KeyboardInterrupt:
        return INTERRUPTED
    except OSError as error:
        if error.strerror is None:
            return _told_defect(error)
        # A workbook is put together in temporary files, whose names say nothing to anybody.
        named = (getattr(options, each, None) for each in ("output", "path", "term"))
        name = error.filename or next((each for each in named if each is not None), "standard output")
        tell([f"{name}: {'' if error.filename else 'cannot be written: '}{error.strerror}"])
        return UNUSABLE
    except Exception as defect:
        return _told_defect(defect)
    return code


def _told_defect(defect: Exception) -> int:
    """Tell of a defect of ours in one line, and where it happened to those who look for it."""
    if os.environ.get(TRACEBACK):
        tell("".join(traceback.format_exception(defect)).splitlines())
    what = f"{type(defect).__name__}: {defect}".rstrip(": ")
    if isinstance(defect, RefereeDisagrees):
        what = f"its referee rejects the sequence found: {defect}"
    tell(
        [
            f"A defect of this program ({what}). Please send this line, and the file that "
            '`python -m sequencer export SCENARIO --output report.yaml` writes, as the README says under "If it fails".'
        ]
    )
    return DEFECT


TRACEBACK = "SEQUENCER_TRACEBACK"
"""The environment variable that asks for the lines of the program that a defect passed through."""


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
    scenario = what_if_scenario(scenario, options.what_if) if options.what_if is not None else scenario
    weeks = (*options.weeks, *([asked] if asked is not None else []))
    classes, teachers = tuple(options.classes), tuple(options.teachers)
    shown = Shown(classes, teachers, _earlier(scenario, options.earlier), options.copy, weeks=weeks, ids=options.ids)
    if not around:
        check_shown(scenario, options.format, shown)
    check_terminal_takes(_way(options) if around else options.format, options.output)
    stop = StopSignal()
    answer = _answer(scenario, options, stop)
    if answer.status == UNKNOWN and stop.stopped:
        return INTERRUPTED
    if keeps_file(answer.status, options.output):
        return TIME_RAN_OUT
    why = None
    if answer.status == INFEASIBLE:
        asked_why = ExplainSettings(options.seconds, conflicts=1, repairs=1)
        why = run_until_stopped(lambda: explain(scenario, asked_why, stop), stop)
    if why is not None and options.format == "json":
        write_data(json_text(answer_json(answer, explanation_json(why, source_of(options.scenario)))), options.output)
        return NONE_EXISTS
    if why is not None and options.format == "text":
        told = explanation_text(why, source_of(options.scenario), options.ids)
        write_text(f"{answer_text(answer, options.ids)}\n{told}", options.output)
        return NONE_EXISTS
    try:
        if options.starters and not around:
            shown = replace(shown, opens=opens_in(answer, starters_of(answer, options)))
        form = _way(options) if around else options.format
        text = _around(answer, options, asked) if around else written(answer, options.format, shown)
        write_form(text, form, options.output)
        if isinstance(text, bytes) and options.format == "calendar":
            tell(calendar_notes(scenario, shown.previous, text))
    except NothingToShow as nothing:
        # An earlier file stays as it is.
        tell([f"{nothing}."])
    if why is not None:
        tell(explanation_text(why, source_of(options.scenario), options.ids).splitlines())
    return {INFEASIBLE: NONE_EXISTS, UNKNOWN: TIME_RAN_OUT}.get(answer.status, DONE)


def _answer(scenario: Scenario, options: argparse.Namespace, stop: StopSignal) -> Answer:
    """The plan handed in as it is, or the best sequence found in the time allowed."""
    if options.plan is not None:
        if options.alternatives or options.loss or options.pins is not None or options.cluster is not None:
            told = "--alternatives, --loss, --pins and --cluster cannot go with it"
            raise UnusableSettings([f"--plan shows a plan as it is: {told}"])
        return as_planned(scenario, sequence_in(scenario, options.plan))
    line = _ProgressLine() if errors_are_on_a_terminal() else None
    settings = SolveSettings(options.seconds, options.seed, alternatives=options.alternatives, loss=read_loss(options.loss))
    with parts_elsewhere(options.cluster, scenario, stop) as elsewhere:
        search = solve if elsewhere is None else partial(solve, elsewhere=elsewhere)
        answer = run_until_stopped(lambda: search(scenario, settings, line, stop), stop, lambda: stop.holding)
    if line is not None:
        line.close()
    return answer


_WAYS = ("json", "csv", "sheet", "xlsx", "calendar")
"""How what surrounds a sequence can be written, beside text."""


def _check_around(options: argparse.Namespace) -> None:
    """What is asked for must go with the format: what surrounds a sequence takes other things than the sequence."""
    problems, around = [], [each.name for each in AROUND]
    if options.on is not None and options.format not in ("preparation", "sheet"):
        problems.append("--on can only be given with --format preparation or sheet")
    for way in _WAYS:
        written_so = [each.name for each in AROUND if way in each.forms]
        if getattr(options, way) and options.format not in written_so:
            problems.append(f"--{way} is for the formats {', '.join(written_so)}: for the sequence there is --format {way}")
    open_with = [each.name for each in FORMATS if "opens" in each.heeds]
    if options.starters and options.format not in (*open_with, "coverage"):
        problems.append(f"--starters is for the formats {', '.join(open_with)}, coverage (not {options.format})")
    if options.format in around:
        heeded = {"teachers"} if options.format == "preparation" else set()
        refused = {"class": "classes", "teacher": "teachers", "earlier": "earlier", "copy": "copy", "week": "weeks", "ids": "ids"}
        for name, given in refused.items():
            if getattr(options, given) and given not in heeded:
                problems.append(f"--{name} cannot be given with --format {options.format}")
        if heeded and len(options.teachers) > 1:
            problems.append("--teacher can be given once with --format preparation")
    if problems:
        raise UnusableSettings(problems)


def _around(answer: Answer, options: argparse.Namespace, on: date | None) -> str | bytes:
    starters = starters_of(answer, options) if options.starters or options.format == "starters" else None
    return around_written(answer, options.format, _way(options), Asked(on, next(iter(options.teachers), None), starters))


def _way(options: argparse.Namespace) -> str:
    """How what surrounds a sequence is to be written."""
    return next((way for way in _WAYS if getattr(options, way)), "text")


class _ProgressLine:
    """A line per aim on a terminal: best value, bound and elapsed time, rewritten while the aim is being settled."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._showing: tuple[str, tuple[str, ...]] | None = None
        self._prices = ""

    def __call__(self, progress: Progress) -> None:
        with self._lock:
            about = (progress.aim, progress.classes)
            if self._showing is not None and self._showing != about:
                tell([""])
            self._prices = self._prices if self._showing == about else ""
            self._showing = about
            if progress.prices is not None:
                self._prices = progress.prices.text()
            classes = ", ".join(progress.classes)
            reached = f"best {progress.value}, bound {progress.bound}, {progress.seconds:.1f} s"
            tell_over(f"{classes}: {progress.aim}: {reached}{self._prices}")

    def close(self) -> None:
        """End the last line."""
        if self._showing is not None:
            tell([""])


def _slots(options: argparse.Namespace) -> int:
    instance = build_instance(read_scenario_file(options.scenario))
    put_text(json_text({"slots": slot_rows(instance)}) if options.format == "json" else slots_text(instance))
    return DONE


def _redate(options: argparse.Namespace) -> int:
    scenario = read_scenario_file(options.scenario)
    redated = redate(scenario, read_calendar(scenario, options.calendar))
    write_text(redated_yaml(redated), options.output)
    tell(misfit.text for misfit in redated.no_longer_fits)
    return DONE


def _next(options: argparse.Namespace) -> int:
    first, last = read_day(options.first, "first"), read_day(options.last, "last")
    scenario = scenario_asked(options)
    rolled = next_term(scenario, sequence_in(scenario, options.sequence or options.scenario), first, last)
    if options.output is not None and options.output.suffix.lower() in (".xlsx", ".json"):
        write_data(term_bytes(term_of(rolled.scenario), options.output), options.output)
        tell([*rolled.carried, *(f"To be filled in: {each}" for each in rolled.to_fill_in)])
    else:
        write_text(next_term_yaml(rolled), options.output)
    tell(str(misfit) for misfit in rolled.no_longer_fits)
    return DONE


_COMMANDS = {
    "sequence": _sequence,
    "outline": run_outline,
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
    "week": run_week,
    "schema": run_schema,
    "guide": run_guide,
    "rules": run_rules,
}


def run() -> int:
    """Run one command as the program itself, ``python -m sequencer`` or ``unit-sequencer``."""
    leave_when_interrupted()
    if not os.environ.get(TRACEBACK):
        sys.unraisablehook = lambda _: None  # what a library cannot end any more is no news to anybody
    return main()


if __name__ == "__main__":
    sys.exit(run())
