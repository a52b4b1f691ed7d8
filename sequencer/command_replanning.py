"""The command that makes a plan again."""

from __future__ import annotations

import argparse
from collections.abc import Callable

from sequencer import (
    Replanned,
    SolveSettings,
    StopSignal,
    TradeOff,
    UnusableSettings,
    notice_html,
    notice_json,
    notice_text,
    replan,
    replanned_json,
    replanned_text,
    trade_off,
    trade_off_json,
    trade_off_text,
)
from sequencer.command_files import (
    DONE,
    NONE_EXISTS,
    TIME_RAN_OUT,
    json_text,
    run_until_stopped,
    scenario_asked,
    sequence_in,
    write,
)
from sequencer.words import FEASIBLE, INFEASIBLE, UNKNOWN


def run_replan(options: argparse.Namespace) -> int:
    """Make a plan again, moving as little as can be, or list what each further move would gain."""
    as_notice = options.format.startswith("notice")
    if options.trade_off and as_notice:
        raise UnusableSettings(["a notice tells of one plan: give --most-moved instead of --trade-off"])
    scenario, stop = scenario_asked(options), StopSignal()
    previous = sequence_in(scenario, options.previous)
    settings = SolveSettings(options.seconds, options.seed)
    as_json = options.format == "json"
    if options.trade_off:
        listed: TradeOff = run_until_stopped(lambda: trade_off(scenario, previous, settings, stop), stop)
        write(json_text(trade_off_json(listed)) if as_json else trade_off_text(listed), options.output)
        status = FEASIBLE if listed.steps else INFEASIBLE if listed.afresh.status == INFEASIBLE else UNKNOWN
    else:
        again: Replanned = run_until_stopped(lambda: replan(scenario, previous, settings, options.most_moved, stop), stop)
        write(_NOTICES[options.format](again) if as_notice else _whole(again, as_json), options.output)
        status = again.answer.status
    return {INFEASIBLE: NONE_EXISTS, UNKNOWN: TIME_RAN_OUT}.get(status, DONE)


_NOTICES: dict[str, Callable[[Replanned], str]] = {
    "notice": notice_html,
    "notice-text": notice_text,
    "notice-json": lambda again: json_text(notice_json(again)),
}


def _whole(again: Replanned, as_json: bool) -> str:
    return json_text(replanned_json(again)) if as_json else replanned_text(again)
