"""What is worked out for kept terms in the processes of the pools: plain data in and out. Nothing here knows the store."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from api.media import XLSX_TYPE
from api.store.messages import CalendarAsked, WebhookAsked
from api.store.refusals import NotAllowed
from api.work import Body, Written, in_json, in_sequence_form, term_in, week_body
from sequencer import (
    Problem,
    Shown,
    SolveSettings,
    TermPlan,
    UnusableInput,
    UnusableSettings,
    WholeTerm,
    as_it_stands,
    as_planned,
    check_shown,
    format_named,
    known_names,
    load_week_rows,
    parse_document,
    plan_previous,
    plan_sequence,
    read_foreign_calendar,
    read_foreign_table,
    subscribed_calendar,
    term_data,
    term_from_data,
    term_written,
    undo,
    week_json,
    week_of_rows,
    with_foreign,
)
from sequencer.words import LOST, SKIPPED
from sequencer.workers.serving import Caller

Asked = TypeVar("Asked", bound=BaseModel)

NOTHING_PLANNED = b""
"""What stands for the plan of a term that has none."""


@dataclass(frozen=True)
class Content:
    """What is kept of a term: its document in JSON, and what is known of that without reading it."""

    document: str
    title: str | None
    parts: dict[str, str]
    """Its classes, each with a digest of what there is to see of it."""
    moved: tuple[dict[str, Any], ...] = ()
    """What the change to it moved in its plan: class, unit, lesson, from, to."""


@dataclass(frozen=True)
class Worked:
    """A term after a change, None where it is to stay as it is, and what is answered to whoever asked for the change."""

    content: Content | None
    answer: Written


def read_to_keep(body: Body, before: str, _: Caller) -> Worked:
    """A term that is to be kept; ``before`` is the one that was kept until now, empty where there is none."""
    return to_keep(term_in(body), before)


def week_to_keep(
    document: str, body: Body, classes: tuple[str, ...] | None, settings: SolveSettings, on: date, caller: Caller
) -> Worked:
    """A week of a kept term: what is told of rows is recorded, and the rest planned again.

    ``classes`` are those that alone may be told of and moved, and of which alone is answered; None where all may.
    """
    term = _read(document)
    rows = body.read(load_week_rows)
    if classes is not None and term.plan is None:
        raise NotAllowed("Nothing is planned yet: a key that may plan a department makes the first plan.")
    if classes is not None and any(row.class_ not in classes for row in rows.happened):
        raise NotAllowed(f"This key tells of lessons of {', '.join(classes)} alone.")
    if classes is None:
        done = week_of_rows(term, rows, on, settings, None, caller.stop)
        told = week_body(done, settings)
    else:
        with _quoting_no_other_class():
            done = week_of_rows(term, rows, on, settings, classes.__contains__, caller.stop)
        told = week_json(replace(done, answer=None, again=None))
        del told["answer"], told["term"]
        told["lessons"] = _rows(done.term, classes)
    return _worked(done.term, document, in_json(told))


def undone_to_keep(document: str, _: Caller) -> Worked:
    """A kept term as it was before its last week."""
    done = undo(_read(document))
    return _worked(done.term, document, in_json(week_json(done)))


def kept_book(document: str, _: Caller) -> Written:
    """The workbook that holds a term."""
    return Written(term_written(_read(document)), XLSX_TYPE)


def kept_plan(document: str, form: str, shown: Shown, titled: bool, _: Caller) -> Written:
    """The plan of a kept term as it stands, in one of the forms; nothing where nothing is planned.

    Unless it is ``titled`` nothing shows what the whole term is called.
    """
    term = _read(document)
    if term.plan is None:
        return Written(NOTHING_PLANNED)
    if not titled:
        term = term.model_copy(update={"scenario": term.scenario.model_copy(update={"title": None})})
    check_shown(term.scenario, form, shown)
    with nullcontext() if titled else _quoting_no_other_class():
        stands = as_it_stands(term)
        return in_sequence_form(as_planned(stands.scenario, plan_sequence(stands.scenario, stands.plan, "")), form, shown)


def class_rows(document: str, classes: tuple[str, ...], _: Caller) -> Written:
    """The rows of some classes in the plan of a kept term, and nothing else of it."""
    term = _read(document)
    if term.plan is None:
        return Written(NOTHING_PLANNED)
    return in_json({"classes": list(classes), "lessons": _rows(term, classes)})


def calendar_to_send(document: str, kind: str, name: str, before: str | None, moment: datetime, _: Caller) -> Written:
    """The calendar of a class, a teacher or a cohort, brought up to date from what was sent before."""
    term = as_it_stands(_read(document))
    plan = None
    if term.plan is not None:
        rows = tuple(row for row in term.plan.lessons if row.what not in (SKIPPED, LOST))
        plan = plan_previous(term.scenario, TermPlan(lessons=rows), "")
    sent = before.encode() if before is not None else None
    text = subscribed_calendar(term.scenario, plan, kind, name, sent, moment)
    return Written(text, format_named("calendar").content_type)


def calendar_asked(document: str, body: Body, _: Caller) -> tuple[str, str]:
    """Whose calendar a body asks for, of those that a kept term has."""
    asked = _asked(CalendarAsked, body, "must be a mapping with kind (class, teacher or cohort) and name")
    known = known_names(_read(document).scenario, asked.kind)
    if asked.name not in known:
        there = ", ".join(known) or "none"
        raise UnusableInput((Problem("name", f"is no {asked.kind} of the term (there are: {there})", "/name"),))
    return asked.kind, asked.name


def foreign_to_keep(document: str, content: bytes, is_table: bool, keep: bool, _: Caller) -> Worked:
    """A term with what another program knows of its calendar and timetables, and what of that was understood."""
    term = _read(document)
    before = term.scenario
    foreign = (read_foreign_table if is_table else read_foreign_calendar)(content, before)
    scenario = with_foreign(before, foreign)
    changed = [name for name in ("term", "holidays", "closures", "classes") if getattr(before, name) != getattr(scenario, name)]
    understood = [{"line": line, "says": says} for line, says in sorted(foreign.told)]
    answer = in_json({"kept": keep and bool(changed), "understood": understood, "changed": changed})
    return _worked(term.model_copy(update={"scenario": scenario}) if keep else term, document, answer)


def webhook_asked(body: Body, _: Caller) -> WebhookAsked:
    """What a body asks for of a webhook."""
    what = "address (http or https, without a password) and perhaps terms, a list of names"
    return _asked(WebhookAsked, body, f"must be a mapping with {what}")


def _asked(model: type[Asked], body: Body, message: str) -> Asked:
    try:
        return model.model_validate(parse_document(body.text, "", body.language)[0])
    except ValidationError:
        raise UnusableInput((Problem("", message),)) from None


@contextmanager
def _quoting_no_other_class() -> Iterator[None]:
    """What does not fit is told to a key for a class so far as it is of what it sent: the rest may be another class's."""
    try:
        yield
    except (UnusableInput, UnusableSettings) as unusable:
        problems = unusable.problems if isinstance(unusable, UnusableInput) else ()
        own = tuple(each for each in problems if isinstance(each, Problem) and each.pointer.startswith("/happened"))
        raise UnusableInput(own or (Problem("", _UNFIT),)) from None


_UNFIT = "the plan does not fit what is set up any more: whoever plans the department has to plan it again"


def _read(document: str) -> WholeTerm:
    return term_from_data(json.loads(document))


def to_keep(term: WholeTerm, before: str) -> Worked:
    """A term that was read, as it is to be kept."""
    # What its rows say must be able to have been, or it could not be shown.
    as_it_stands(term)
    return _worked(term, before, in_json(term_data(term)))


def _worked(term: WholeTerm, before: str, answer: Written) -> Worked:
    data = term_data(term)
    document = in_json(data).text.decode()
    if document == before:
        return Worked(None, answer)
    moved = _moved(json.loads(before) if before else {}, data)
    return Worked(Content(document, term.scenario.title, _parts(term), moved), answer)


def _parts(term: WholeTerm) -> dict[str, str]:
    rows: dict[str, list[dict[str, Any]]] = {}
    for row in term.plan.lessons if term.plan is not None else ():
        rows.setdefault(row.class_, []).append(row.model_dump(mode="json", by_alias=True))
    return {each.id: hashlib.sha256(json.dumps(rows.get(each.id)).encode()).hexdigest()[:24] for each in term.scenario.classes}


def _rows(term: WholeTerm, classes: tuple[str, ...]) -> list[dict[str, Any]]:
    rows = term.plan.lessons if term.plan is not None else ()
    return [row.model_dump(mode="json", by_alias=True) for row in rows if row.class_ in classes]


def _moved(before: dict[str, Any], after: dict[str, Any]) -> tuple[dict[str, Any], ...]:
    """The lessons that lie elsewhere in another plan, are new in it, or are gone from it: names, dates and periods alone."""
    was, is_now = _places(before), _places(after)
    return tuple(
        {"class": name[0], "unit": name[1], "lesson": name[2], "from": was.get(name), "to": is_now.get(name)}
        for name in dict.fromkeys([*was, *is_now])
        if was.get(name) != is_now.get(name)
    )


def _places(term: dict[str, Any]) -> dict[tuple[str, str, str], dict[str, Any]]:
    rows = (term.get("plan") or {}).get("lessons", ())
    return {(row["class"], row["unit"], row["lesson"]): {"date": row["date"], "period": row["period"]} for row in rows}
