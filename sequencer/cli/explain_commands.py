"""The commands that explain and judge: why there is none, what could lie elsewhere, a rule's price, a sequence made by hand."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from functools import partial

from sequencer import (
    AimResult,
    Answer,
    Completion,
    ExplainSettings,
    Sequence,
    SolveSettings,
    StopSignal,
    answer_text,
    beside_json,
    build_instance,
    check,
    complete,
    completion_json,
    elsewhere,
    elsewhere_json,
    elsewhere_text,
    explain,
    explanation_json,
    explanation_text,
    export_models,
    lesson_asked,
    naming_of,
    pinned_sequence,
    price,
    read_scenario_file,
    scenario_yaml,
    solve,
    untitled,
    verdict_json,
    verdict_text,
)
from sequencer.cli.shared import (
    DONE,
    NONE_EXISTS,
    TIME_RAN_OUT,
    json_text,
    run_until_stopped,
    scenario_asked,
    sequence_in,
    source_of,
    write_text,
)
from sequencer.files.terminal import put_text, tell
from sequencer.words import INFEASIBLE, count_text


def run_explain(options: argparse.Namespace) -> int:
    """Say why a scenario has no sequence, and what would give it one."""
    if options.lesson is not None:
        return _elsewhere(options)
    scenario, stop = scenario_asked(options), StopSignal()
    settings = ExplainSettings(options.seconds, options.conflicts, options.repairs)
    why = run_until_stopped(lambda: explain(scenario, settings, stop), stop)
    source = source_of(options.scenario)
    as_json = options.format == "json"
    put_text(json_text(explanation_json(why, source)) if as_json else explanation_text(why, source, options.ids))
    return {True: DONE, False: NONE_EXISTS, None: TIME_RAN_OUT}[why.possible]


def _elsewhere(options: argparse.Namespace) -> int:
    scenario, sequence = scenario_asked(options), None
    if options.sequence is not None:
        sequence = sequence_in(scenario, options.sequence)
    class_id, ref = lesson_asked(build_instance(scenario), options.lesson)
    found = run_until_stopped(lambda: elsewhere(scenario, class_id, ref, sequence, options.seconds), None)
    put_text(
        json_text(elsewhere_json(found, source_of(options.scenario)))
        if options.format == "json"
        else elsewhere_text(found, options.ids)
    )
    return DONE


def run_price(options: argparse.Namespace) -> int:
    """Say what each aim would gain if a rule were dropped."""
    scenario, settings = read_scenario_file(options.scenario), SolveSettings(options.seconds)
    found = run_until_stopped(lambda: price(scenario, options.rule, settings), None)
    put_text(f"Without {options.rule}:\n")
    for with_it, without_it in zip(found.with_it, found.without_it, strict=True):
        now, before = _reached(without_it, found.status_without), _reached(with_it, found.status_with)
        put_text(f"  {with_it.aim}: {now} instead of {before}\n")
    return DONE


def _reached(aim: AimResult, status: str) -> str:
    """What an aim comes to, and how sure that is."""
    if aim.value is None:
        return "no sequence (proven)" if status == INFEASIBLE else "no sequence found in the time"
    sure = "proven best" if aim.proven else f"best found; it cannot be below {aim.bound}"
    return f"{aim.value} ({sure}{', given the values above' if aim.conditional else ''})"


def run_export(options: argparse.Namespace) -> int:
    """Write a scenario for a bug report."""
    scenario = untitled(read_scenario_file(options.scenario))
    write_text(scenario_yaml(scenario), options.output)
    for file in export_models(scenario, options.models) if options.models is not None else ():
        tell([f"written: {file}"])
    return DONE


def run_check(options: argparse.Namespace) -> int:
    """Let the referee judge a sequence."""
    scenario = scenario_asked(options)
    sequence = sequence_in(scenario, options.sequence) if options.sequence is not None else pinned_sequence(scenario)
    instance = build_instance(scenario)
    verdict = check(scenario, sequence)
    best = partial(run_until_stopped, lambda: solve(scenario, SolveSettings(options.seconds)), None)
    completion = partial(run_until_stopped, lambda: complete(scenario, sequence, options.seconds), None)
    if options.format == "json":
        body = verdict_json(instance, verdict)
        if options.best:
            body["beside_best"] = beside_json(verdict.aims, best())
        if options.complete:
            body["completion"] = completion_json(completion())
        put_text(json_text(body))
    else:
        values = ", ".join(f"{aim} {verdict.aims[aim]}" for aim in instance.aims)
        put_text(verdict_text(instance, verdict, options.ids) + f"Aims: {values}\n")
        if options.best:
            put_text(_beside_the_best(best(), verdict.aims) + "\n")
        if options.complete:
            put_text(_completed(options, completion(), sequence))
    return DONE if verdict.sound else NONE_EXISTS


def _beside_the_best(best: Answer, aims: Mapping[str, int]) -> str:
    if best.sequence is None:
        return "No sequence that keeps every rule was found: there is no best to compare it with."
    told = [f"{aim.aim} {aims[aim.aim]}, {'proven best' if aim.proven else 'best found'} {aim.value}" for aim in best.aims]
    return f"Beside the best sequence: {'; '.join(told)}"


def _completed(options: argparse.Namespace, found: Completion, sequence: Sequence) -> str:
    if found.answer is None:
        return "It cannot be completed: a lesson is given twice, or for a period in which its class does not meet.\n"
    if found.breaches:
        naming = naming_of(found.answer.instance, options.ids)
        told = [f"  rule {breach.rule} ({breach.name})  {naming(breach.message)}\n" for breach in found.breaches]
        return "It cannot be completed, since its lessons break rules where they lie:\n" + "".join(told)
    if found.explanation is not None:
        return f"It cannot be completed. {explanation_text(found.explanation, source_of(options.scenario), options.ids)}"
    if found.answer.sequence is None:
        return "Whether it can be completed was not settled in the time allowed.\n"
    more = len(found.answer.sequence.placements) - len(sequence.placements)
    return f"It can be completed, with {count_text(more, 'lesson')} more:\n{answer_text(found.answer, options.ids)}"
