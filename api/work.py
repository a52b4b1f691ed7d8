"""What the service does for each request once its body is here: documents in, a finished answer out.

Each function runs wherever a pool has it run, so arguments and outcomes are plain data that can be handed to another process.
"""

from __future__ import annotations

import json
import pickle
from base64 import b64decode
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import Any, Literal, TypeVar

from api.calls import Event
from api.media import FORM_TYPES, JSON_TYPE, XLSX_TYPE
from sequencer import (
    Answer,
    Asked,
    ExplainSettings,
    Future,
    GivenPart,
    Limits,
    Problem,
    Scenario,
    Sequence,
    SharedOpening,
    Shown,
    SolveSettings,
    Source,
    UnusableInput,
    UnusableSettings,
    WeekDone,
    WholeTerm,
    answer_json,
    around_named,
    around_written,
    as_planned,
    assign_starters,
    beside_json,
    build_instance,
    check,
    check_opening,
    check_shown,
    compare,
    comparison_json,
    comparison_text,
    complete,
    completion_json,
    elsewhere,
    elsewhere_json,
    elsewhere_text,
    explain,
    explanation_json,
    explanation_text,
    format_named,
    future_json,
    lesson_asked,
    load_changed,
    load_check,
    load_comparing_plan,
    load_outlining,
    load_pasted,
    load_redating,
    load_rolling,
    load_scenario,
    load_term,
    load_term_book,
    load_term_with,
    load_with_earlier,
    load_workbook,
    next_term,
    next_term_json,
    next_term_yaml,
    notice_html,
    notice_json,
    notice_text,
    opening_json,
    openings_json,
    openings_text,
    opens_in,
    pasted_json,
    read_json,
    redate,
    redated_json,
    redated_yaml,
    replan,
    replanned_json,
    replanned_text,
    scenario_yaml,
    sequence_calendar,
    share_openings,
    solve,
    term_data,
    term_written,
    trade_off,
    trade_off_json,
    trade_off_text,
    undo,
    verdict_json,
    verdict_text,
    week,
    week_json,
    written,
)
from sequencer.words import INFEASIBLE
from sequencer.workers.serving import Caller

Outcome = TypeVar("Outcome")

NOTICES = {"notice": notice_html, "notice-text": notice_text}
"""What writes a change notice in each form that is no JSON."""

MOST_UNPACKED = 3_000_000
"""Bytes of a workbook when it is unpacked; that of six classes has 150,000."""


WORKBOOK = "workbook"
"""The key beside a term of the workbook that it was read from, whose own columns and sheets are to stay."""

SHARE_OF_FIRST = 0.7
"""Share of the time allowed for what comes first, where something else has the rest: a sequence before its starters."""


@dataclass(frozen=True)
class Body:
    """A request's body, the language that it is in unless it is a workbook, and how much of everything it may hold."""

    text: bytes
    language: Literal["yaml", "json"]
    limits: Limits
    is_book: bool = False

    def read(self, load: Callable[..., Outcome]) -> Outcome:
        """What one of the product's readers of texts makes of it."""
        return load(self.text, "", self.language, self.limits)

    def source(self) -> Source:
        """The text, for saying where statements stand."""
        return replace(Source.of(self.text, "", self.language), within=("scenario",))


@dataclass(frozen=True)
class Written:
    """An answer as it goes out."""

    text: bytes
    media_type: str = JSON_TYPE


@dataclass(frozen=True)
class Read:
    """What was read from a body, packed: whoever hands it from one job to the next need not know what is in it."""

    packed: bytes

    @classmethod
    def of(cls, what: Any) -> Read:
        """Pack it."""
        return cls(pickle.dumps(what))

    def unpacked(self) -> Any:
        """What was packed."""
        return pickle.loads(self.packed)


def in_json(data: Any) -> Written:
    """Data as JSON; no line end stands in it."""
    return Written(json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode())


def answer_body(answer: dict[str, Any], seconds_allowed: float) -> dict[str, Any]:
    """An answer, and the time that this server allowed for it."""
    return {**answer, "run": {**answer["run"], "seconds_allowed": seconds_allowed}}


def in_form(form: str, text: str) -> Written:
    """A text in one of the forms; YAML is UTF-8 without saying so."""
    media_type = FORM_TYPES[form]
    return Written(text.encode(), f"{media_type}; charset=utf-8" if media_type.startswith("text/") else media_type)


# -- reading -----------------------------------------------------------------------------------------------------------


def read(load: Callable[..., Any], body: Body, _: Caller) -> Read:
    """What a reader of texts makes of a body."""
    return Read.of(body.read(load))


def read_comparison(body: Body, close: bool, _: Caller) -> Read:
    """A scenario with its what-ifs, the openings asked for, and the plan as it stands; all can be had."""
    scenario, asked, plan = body.read(load_comparing_plan)
    if asked is not None:
        check_opening(scenario, asked.until, close, asked.weights)
    return Read.of((scenario, asked, plan))


def read_scenario(body: Body, _: Caller) -> Read:
    """A scenario, beside which nothing can stand."""
    return Read.of((body.read(load_scenario), None, {}))


def read_outlining(body: Body, _: Caller) -> Read:
    """A scenario, and where they are given the sequence to be outlined and outlines made before or by hand."""
    scenario, sequence, before, lines = body.read(load_outlining)
    by_hand = tuple(GivenPart(**line) for line in lines) if lines is not None else None
    return Read.of((scenario, sequence, {"before": before, "by_hand": by_hand}))


def read_planning(body: Body, form: str, shown: Shown, _: Caller) -> Read:
    """A scenario, and what is shown of its sequence, what was planned earlier included; both can be."""
    scenario, earlier = body.read(load_with_earlier)
    if isinstance(earlier, Sequence):
        earlier = sequence_calendar(scenario, earlier)
    shown = replace(shown, previous=earlier)
    check_shown(scenario, form, shown)
    return Read.of((scenario, shown))


# -- reading and answering at once -------------------------------------------------------------------------------------


def redated(body: Body, form: str, _: Caller) -> Written:
    """A scenario on a new calendar."""
    found = redate(*body.read(load_redating))
    return in_json(redated_json(found)) if form == "json" else in_form(form, redated_yaml(found))


def next_begun(body: Body, form: str, _: Caller) -> Written:
    """The next term's scenario."""
    rolled = next_term(*body.read(load_rolling))
    return in_json(next_term_json(rolled)) if form == "json" else in_form(form, next_term_yaml(rolled))


def checked(body: Body, form: str, best: SolveSettings | None, completed: float | None, caller: Caller) -> Written:
    """The verdict on a sequence; beside the best where that is asked for, and completed within so many seconds."""
    scenario, sequence = body.read(load_check)
    verdict = check(scenario, sequence)
    if form == "text":
        return in_form(form, verdict_text(build_instance(scenario), verdict))
    answer = verdict_json(build_instance(scenario), verdict)
    if best is not None:
        if completed is not None:
            best, completed = best.shortened(SHARE_OF_FIRST), completed * (1 - SHARE_OF_FIRST)
        answer["beside_best"] = beside_json(verdict.aims, solve(scenario, best, stop=caller.stop))
    if completed is not None:
        answer["completion"] = completion_json(complete(scenario, sequence, completed, caller.stop))
    return in_json(answer)


def told_scenario(most_seconds: float, body: Body, form: str, _: Caller) -> Written:
    """A scenario with changes made to it, how much there is to place, and how long it may be searched for here."""
    scenario = load_workbook(body.text, "", MOST_UNPACKED, body.limits) if body.is_book else body.read(load_changed)
    return in_json(read_json(scenario, most_seconds)) if form == "json" else in_form(form, scenario_yaml(scenario))


def term_in(body: Body) -> WholeTerm:
    """The term that a text or a workbook holds."""
    return load_term_book(body.text, "", MOST_UNPACKED, body.limits).term if body.is_book else body.read(load_term)


def told_term(body: Body, form: str, _: Caller) -> Written:
    """A term, or a scenario as a term of which nothing is planned yet; as a workbook where one is asked for."""
    before = body.text if body.is_book else None
    term, beside = (term_in(body), None) if body.is_book else body.read(partial(load_term_with, WORKBOOK))
    if beside is not None:
        try:
            before = b64decode(beside, validate=True)
        except (ValueError, TypeError):
            raise UnusableInput((Problem(WORKBOOK, "must be a workbook's bytes in base64", f"/{WORKBOOK}"),)) from None
        load_term_book(before, WORKBOOK, MOST_UNPACKED, body.limits)
    return in_json(term_data(term)) if form == "json" else Written(term_written(term, before), XLSX_TYPE)


def understood_lessons(body: Body, _: Caller) -> Written:
    """What pasted lessons mean."""
    return in_json(pasted_json(body.read(load_pasted)))


def shown_as_planned(body: Body, form: str, shown: Shown, _: Caller) -> Written:
    """A plan as it is, in one of the forms."""
    scenario, sequence = body.read(load_check)
    check_shown(scenario, form, shown)
    return in_sequence_form(as_planned(scenario, sequence), form, shown)


def in_sequence_form(plan: Answer, form: str, shown: Shown) -> Written:
    """A plan in one of the forms; no time was allowed for it."""
    if form == "json":
        return in_json(answer_body(answer_json(plan), 0.0))
    return _written(plan, form, shown)


def _written(answer: Answer, form: str, shown: Shown) -> Written:
    return Written(_in_bytes(written(answer, form, shown)), format_named(form).content_type)


# -- solving -----------------------------------------------------------------------------------------------------------


def sequenced(body: Body, read: Read, settings: SolveSettings, form: str, starters: bool, heard: bool, caller: Caller) -> Written:
    """The best sequence in one of the forms; ``heard`` says whether somebody wants to be told of improvements."""
    scenario, shown = read.unpacked()
    first = settings.shortened(SHARE_OF_FIRST) if starters else settings
    answer = solve(scenario, first, caller.tell if heard else None, caller.stop)
    if form == "json":
        return in_json(_told(body, scenario, settings, answer, caller))
    if starters:
        found = assign_starters(answer, settings.seconds - answer.run.seconds, settings.seed, caller.stop)
        shown = replace(shown, opens=opens_in(answer, found))
    return _written(answer, form, shown)


def _told(body: Body, scenario: Scenario, settings: SolveSettings, answer: Answer, caller: Caller) -> dict[str, Any]:
    why = None
    if answer.status == INFEASIBLE:
        found = explain(scenario, ExplainSettings(settings.seconds, conflicts=1, repairs=1), caller.stop)
        why = explanation_json(found, body.source())
    return answer_body(answer_json(answer, why), settings.seconds)


def surrounded(
    read: Read, settings: SolveSettings, name: str, form: str, asked: Asked, starters: bool, caller: Caller
) -> Written:
    """Something about the best sequence, or one as it is: what is to prepare, what is covered, what lessons open with."""
    first = settings.shortened(SHARE_OF_FIRST) if starters else settings
    scenario, sequence, beside = read.unpacked()
    asked = replace(asked, **beside)
    if asked.complete and asked.by_hand is None:
        raise UnusableSettings(["complete is for outlines by_hand: give those that are to be completed beside the scenario"])
    answer = as_planned(scenario, sequence) if sequence is not None else solve(scenario, first, None, caller.stop)
    if starters:
        found = assign_starters(answer, settings.seconds - answer.run.seconds, settings.seed, caller.stop)
        asked = replace(asked, starters=found)
    text = _in_bytes(around_written(answer, name, form, asked))
    # JSON is UTF-8 without saying so.
    kind = around_named(name).forms[form]
    return Written(text, f"{kind}; charset=utf-8" if kind.startswith("text/") else kind)


def compared(read: Read, settings: SolveSettings, form: str, close: bool, heard: bool, caller: Caller) -> Written:
    """A scenario and its what-ifs side by side, and the openings asked for; the time is shared out evenly among all of them.

    ``heard`` says whether somebody wants to be told of each as it is ready.
    """
    scenario, asked, plan = read.unpacked()
    seconds = settings.seconds / (len(scenario.what_ifs) + 1 + (len(asked.until) if asked is not None else 0))
    each = replace(settings, seconds=seconds)
    base: list[Future] = []

    def future_ready(future: Future) -> None:
        if not base:
            base.append(future)
        caller.tell(Event("future", in_json(answer_body(future_json(future, base[0]), seconds)).text))

    def opening_ready(shared: SharedOpening) -> None:
        caller.tell(Event("opening", in_json(opening_json(shared, base[0].answer.instance if base else None)).text))

    comparison = compare(scenario, each, close, caller.stop, future_ready if heard else None, plan)
    openings: tuple[SharedOpening, ...] = ()
    if asked is not None:
        openings = share_openings(comparison, asked.until, each, asked.weights, caller.stop, opening_ready if heard else None)
    if form == "text":
        text = comparison_text(comparison)
        instance = comparison.base.answer.instance
        return in_form(form, f"{text}\n{openings_text(openings, asked.several, instance)}" if asked is not None else text)
    found = comparison_json(comparison)
    told = [answer_body(future, seconds) for future in found["what_ifs"]]
    beside = openings_json(openings, asked.several, comparison.base.answer.instance) if asked is not None else {}
    return in_json({**found, "base": answer_body(found["base"], seconds), "what_ifs": told, **beside})


def explained(body: Body, read: Read, settings: ExplainSettings, form: str, lesson: str | None, caller: Caller) -> Written:
    """Why there is no sequence; or where else one lesson could lie."""
    scenario, sequence = read.unpacked()
    if lesson is not None:
        class_id, ref = lesson_asked(build_instance(scenario), lesson)
        found = elsewhere(scenario, class_id, ref, sequence, settings.seconds, caller.stop)
        return in_form(form, elsewhere_text(found)) if form == "text" else in_json(elsewhere_json(found, body.source()))
    why = explain(scenario, settings, caller.stop)
    return in_form(form, explanation_text(why)) if form == "text" else in_json(explanation_json(why, body.source()))


def planned_again(body: Body, read: Read, settings: SolveSettings, form: str, most_moved: int | None, caller: Caller) -> Written:
    """A plan made again: all of it, or a change notice."""
    scenario, previous = read.unpacked()
    again = replan(scenario, previous, settings, most_moved, caller.stop)
    if form == "json":
        return in_json(answer_body(replanned_json(again, body.source()), settings.seconds))
    if form == "text":
        return in_form(form, replanned_text(again, body.source()))
    return in_json(notice_json(again)) if form == "notice-json" else in_form(form, NOTICES[form](again))


def week_done(body: Body, read: Read, settings: SolveSettings, on: date, heard: bool, caller: Caller) -> Written:
    """What became of a term in a week; ``heard`` says whether somebody wants to be told of improvements."""
    done = week(read.unpacked(), on, settings, caller.stop, caller.tell if heard else None)
    return in_json(week_body(done, settings, body.source()))


def week_body(done: WeekDone, settings: SolveSettings, source: Source | None = None) -> dict[str, Any]:
    """What became of a term, with the time that this server allowed for its plan."""
    told = week_json(done, source)
    return told | {"answer": answer_body(told["answer"], settings.seconds) if told["answer"] is not None else None}


def week_undone(body: Body, _: Caller) -> Written:
    """A term as it was before its last week."""
    return in_json(week_json(undo(body.read(load_term))))


def traded_off(read: Read, settings: SolveSettings, form: str, caller: Caller) -> Written:
    """The best sequence for each number of moves."""
    scenario, previous = read.unpacked()
    found = trade_off(scenario, previous, settings, caller.stop)
    if form == "text":
        return in_form(form, trade_off_text(found))
    listed = trade_off_json(found)
    return in_json({**listed, "steps": [answer_body(step, settings.seconds) for step in listed["steps"]]})


def _in_bytes(text: str | bytes) -> bytes:
    return text.encode() if isinstance(text, str) else text
