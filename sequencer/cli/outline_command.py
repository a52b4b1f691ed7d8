"""The command that says what is done in each lesson, minute by minute."""

from __future__ import annotations

import argparse

from sequencer import (
    Answer,
    Asked,
    GivenPart,
    NothingToShow,
    SolveSettings,
    StopSignal,
    UnusableSettings,
    around_written,
    as_planned,
    load_outlines,
    read_day,
    solve,
    what_if_scenario,
)
from sequencer.cli.shared import (
    DONE,
    NONE_EXISTS,
    TIME_RAN_OUT,
    check_terminal_takes,
    run_until_stopped,
    scenario_asked,
    sequence_in,
    starters_of,
    write_form,
)
from sequencer.files.given_outlines import given_outlines
from sequencer.files.terminal import tell
from sequencer.scenario.documents import read_file
from sequencer.words import INFEASIBLE, UNKNOWN


def run_outline(options: argparse.Namespace) -> int:
    """Outline the lessons of the best sequence, or of a plan as it is."""
    if options.copy and options.format != "sheet":
        raise UnusableSettings(["--copy is for --format sheet: a copy for pupils"])
    if options.complete and options.check is None:
        raise UnusableSettings(["--complete is for --check FILE: outlines to be completed"])
    if options.on is not None and options.minutes is None:
        raise UnusableSettings(["--on is for --minutes N: the day on which periods have so many minutes"])
    on = read_day(options.on, "on") if options.on is not None else None
    check_terminal_takes(options.format, options.output)
    answer = _answer(options)
    starters = starters_of(answer, options) if options.starters else None
    before = None
    if options.before is not None:
        text, language = read_file(options.before)
        before = load_outlines(text, str(options.before), language)
    by_hand = tuple(GivenPart(**line) for line in given_outlines(options.check)) if options.check is not None else None
    asked = Asked(
        on, starters=starters, lesson=options.lesson, minutes=options.minutes, copy=options.copy, before=before,
        by_hand=by_hand, complete=options.complete, ids=options.ids,
    )  # fmt: skip
    try:
        found = run_until_stopped(lambda: around_written(answer, "outlines", options.format, asked), None)
        write_form(found, options.format, options.output)
    except NothingToShow as nothing:
        tell([f"{nothing}."])
    return {INFEASIBLE: NONE_EXISTS, UNKNOWN: TIME_RAN_OUT}.get(answer.status, DONE)


def _answer(options: argparse.Namespace) -> Answer:
    scenario = scenario_asked(options)
    scenario = what_if_scenario(scenario, options.what_if) if options.what_if is not None else scenario
    if options.plan is not None:
        return as_planned(scenario, sequence_in(scenario, options.plan))
    stop = StopSignal()
    settings = SolveSettings(options.seconds, options.seed)
    return run_until_stopped(lambda: solve(scenario, settings, None, stop), stop, lambda: stop.holding)
