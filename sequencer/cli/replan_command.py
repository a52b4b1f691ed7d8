"""The command that makes a plan again."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from sequencer import (
    Previous,
    Replanned,
    Scenario,
    Shown,
    SolveSettings,
    StopSignal,
    UnusableSettings,
    calendar_notes,
    check_shown,
    is_table,
    notice_html,
    notice_json,
    notice_text,
    read_plan_record,
    replan,
    replanned_json,
    replanned_text,
    sequence_calendar,
    trade_off,
    trade_off_json,
    trade_off_text,
    why_not,
    written,
)
from sequencer.cli.shared import (
    DONE,
    NONE_EXISTS,
    TIME_RAN_OUT,
    check_terminal_takes,
    json_text,
    keeps_file,
    previous_in,
    run_until_stopped,
    scenario_asked,
    source_of,
    write_form,
)
from sequencer.files.terminal import tell
from sequencer.words import FEASIBLE, INFEASIBLE, UNKNOWN


def run_replan(options: argparse.Namespace) -> int:
    """Make a plan again, moving as little as can be, or list what each further move would gain."""
    as_text = options.format in ("text", "json")
    if options.trade_off and not as_text:
        raise UnusableSettings([f"{options.format} tells of one plan: give --most-moved instead of --trade-off"])
    check_terminal_takes(options.format, options.output)
    scenario, stop = scenario_asked(options), StopSignal()
    if options.record is None and is_table(options.previous):
        # What its rows say became of lessons counts, wherever else they are read.
        scenario = read_plan_record(scenario, options.previous)
    previous = previous_in(scenario, options.previous)
    shown = Shown(previous=_calendar_before(scenario, previous, options), ids=options.ids)
    if not as_text and options.format not in _NOTICES:
        check_shown(scenario, options.format, shown)
    settings = SolveSettings(options.seconds, options.seed)
    if options.trade_off:
        listed = run_until_stopped(lambda: trade_off(scenario, previous, settings, stop), stop)
        status = FEASIBLE if listed.steps else INFEASIBLE if listed.afresh.status == INFEASIBLE else UNKNOWN
        text = json_text(trade_off_json(listed)) if options.format == "json" else trade_off_text(listed, options.ids)
        if not keeps_file(status, options.output):
            write_form(text, options.format, options.output)
    else:
        again = run_until_stopped(lambda: replan(scenario, previous, settings, options.most_moved, stop), stop)
        status = again.answer.status
        if keeps_file(status, options.output):
            return TIME_RAN_OUT
        if as_text:
            source = source_of(options.scenario)
            text = (
                replanned_text(again, source, options.ids)
                if options.format == "text"
                else json_text(replanned_json(again, source))
            )
            write_form(text, options.format, options.output)
        else:
            _write_shown(again, options, shown)
    return {INFEASIBLE: NONE_EXISTS, UNKNOWN: TIME_RAN_OUT}.get(status, DONE)


_NOTICES: dict[str, Callable[[Replanned], str]] = {
    "notice": notice_html,
    "notice-text": notice_text,
    "notice-json": lambda again: json_text(notice_json(again)),
}


def _write_shown(again: Replanned, options: argparse.Namespace, shown: Shown) -> None:
    """The notice, or the new sequence in one of its forms; where there is none, an earlier file of it stays as it is."""
    none = again.answer.sequence is None
    if none:
        tell(line for text in why_not(again, source_of(options.scenario), options.ids) for line in text.splitlines())
    if options.format in _NOTICES:
        write_form(_NOTICES[options.format](again), "text" if options.format == "notice-text" else options.format, options.output)
        return
    if none:
        tell([f"There is no sequence to write as {options.format}."])
        return
    text = written(again.answer, options.format, shown)
    write_form(text, options.format, options.output)
    if isinstance(text, bytes) and options.format == "calendar":
        tell(calendar_notes(again.answer.instance.scenario, shown.previous, text))


def _calendar_before(scenario: Scenario, previous: Previous, options: argparse.Namespace) -> bytes | None:
    """The calendar that a new one brings up to date: the one named, or that of the earlier plan."""
    if options.format != "calendar":
        if options.earlier is not None:
            raise UnusableSettings(["--earlier belongs to --format calendar"])
        return None
    return options.earlier.read_bytes() if options.earlier is not None else sequence_calendar(scenario, previous)
