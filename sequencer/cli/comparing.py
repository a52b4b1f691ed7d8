"""The command that puts what-ifs beside a scenario, with the openings that all of them can share."""

from __future__ import annotations

import argparse

from sequencer import (
    OpeningsAsked,
    SolveSettings,
    StopSignal,
    UnusableSettings,
    check_opening,
    compare,
    comparison_json,
    comparison_text,
    future_line,
    opening_line,
    openings_json,
    openings_text,
    read_day,
    share_openings,
)
from sequencer.cli.shared import (
    DONE,
    NONE_EXISTS,
    TIME_RAN_OUT,
    json_text,
    previous_in,
    run_until_stopped,
    scenario_asked,
    standing_plan,
)
from sequencer.files.terminal import put_text, tell
from sequencer.words import INFEASIBLE, UNKNOWN


def run_compare(options: argparse.Namespace) -> int:
    """Put the what-ifs of a scenario beside it."""
    scenario, stop = scenario_asked(options), StopSignal()
    settings = SolveSettings(options.seconds, options.seed)
    asked = _openings_asked(options)
    plan = previous_in(scenario, options.plan).sequence if options.plan is not None else None
    if plan is None and asked is None:
        plan = standing_plan(scenario, options.scenario)
    if asked is not None:
        check_opening(scenario, asked.until, options.close or plan is not None, asked.weights)
    found = run_until_stopped(
        lambda: compare(scenario, settings, options.close, stop, lambda future: tell([future_line(future)]), plan), stop
    )
    as_json = options.format == "json"
    if asked is None:
        put_text(json_text(comparison_json(found)) if as_json else comparison_text(found, options.moves, options.ids))
        return DONE
    openings = run_until_stopped(
        lambda: share_openings(found, asked.until, settings, asked.weights, stop, lambda each: tell([opening_line(each)])), stop
    )
    if as_json:
        put_text(json_text({**comparison_json(found), **openings_json(openings, asked.several, found.base.answer.instance)}))
    else:
        told = openings_text(openings, asked.several, found.base.answer.instance, options.ids)
        put_text(f"{comparison_text(found, options.moves, options.ids)}\n{told}")
    statuses = {shared.status for shared in openings}
    if statuses <= {INFEASIBLE, UNKNOWN}:
        return TIME_RAN_OUT if UNKNOWN in statuses else NONE_EXISTS
    return DONE


def _openings_asked(options: argparse.Namespace) -> OpeningsAsked | None:
    """``--opening-until DATE``, which may be repeated or hold several with commas between them."""
    weights = _weights(options)
    listed = [text.strip() for each in options.opening_until for text in each.split(",")]
    if not listed:
        return None
    dates = {read_day(text, "opening-until") for text in listed}
    return OpeningsAsked(tuple(sorted(dates)), len(listed) > 1, weights)


def _weights(options: argparse.Namespace) -> dict[str, int] | None:
    """``--weights name=2,other=3``; none for the worst case; those of the what-ifs where nothing is given."""
    if options.weights and not options.opening_until:
        raise UnusableSettings(["weights belong to --opening-until"])
    if options.weights == ["none"]:
        return {}
    pairs = [pair.rpartition("=") for text in options.weights for pair in text.split(",")]
    wrong = [f"weights: {name or number!r} must be a name and a whole number, such as base=2"
             for name, _, number in pairs if not name or not number.strip().isdecimal()]  # fmt: skip
    if wrong:
        raise UnusableSettings(wrong)
    return {name.strip(): int(number) for name, _, number in pairs} or None
