"""Terms that are kept: put, read, planned by the week, undone and deleted, each under a condition; and what was changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request
from starlette.responses import Response

from api.bodies import received, worked
from api.errors import NothingHere, UnusableOption
from api.media import (
    AS_IT_IS,
    BOOK_FORMS,
    JSON_TYPE,
    SEQUENCE_FORMS,
    VARY,
    chosen_form,
    require_accepted,
    require_once,
    search_allowed,
)
from api.openapi import READ, header, in_forms, problems, request_body
from api.requests import SEVERAL, KeptWeekOptions, ShowOptions
from api.routes.weeks import TERM, TERM_FORMS
from api.store import kept_work as work
from api.store.access import holder_who_may
from api.store.conditions import Condition, is_known, sent_unless_known
from api.store.database import Database
from api.store.keys import PLAN_CLASS, PLAN_DEPARTMENT, READ_CLASS, Holder
from api.store.messages import NAME, ChangeList, ClassPlan, ListOptions, SinceOptions, TermEntry, TermList
from api.store.refusals import NotAllowed, TermChanged
from api.store.rendered import Rendered
from api.store.terms import PUT, UNDONE, WEEK, KeptTerm, Overtaken, changes, forget, keep, listed, read_term
from api.work import Written, in_json
from sequencer import Shown, WeekRows, answers, format_named, read_day
from sequencer.workers.pool import Pool
from sequencer.workers.refusals import PoolFull

router = APIRouter(tags=["kept terms"])

TRIES = 4
"""How often a change of one class is worked out anew where another class was changed meanwhile."""

TOLD = 20
"""Changes that are told of where a condition does not hold."""

NAMED = Annotated[
    str, Path(description="The name of the term.", json_schema_extra={"pattern": NAME.pattern}, examples=["autumn"])
]

_CHANGED = "The entity tag of what is changed, as it was read; without it nothing is changed (428)."
_HAD = "Entity tags of what the client has; where it is as it was the answer is 304, without a body."
_TAG = '"3-9f2c41d07a3be655"'
CONDITION = {"parameters": [header("If-Match", _CHANGED, _TAG)]}
KNOWN = {"parameters": [header("If-None-Match", _HAD, _TAG)]}
_UNCHANGED: dict[int | str, dict[str, Any]] = {304: {"description": "It is as the client has it."}}
_READ = {**_UNCHANGED, **problems(403, 404, 406, 429, 500, 503)}
CHANGE = problems(403, 404, 406, 412, 428, 429, 500, 503, 507)


@router.get(
    "/v1/terms",
    summary="The terms that are kept",
    openapi_extra=KNOWN,
    responses={200: {"description": "The terms, page by page.", "model": TermList}, **_READ, **problems(400)},
)
async def list_terms(request: Request, options: Annotated[ListOptions, Query()]) -> Response:
    """List the terms that the key may see, in the order of their names; `next` is the address of those that follow."""
    holder = asked_by(request, READ_CLASS)
    store = _store(request)

    def sees(kept: KeptTerm) -> bool:
        return holder.sees_term(kept.id, kept.classes)

    seen = await store.run(listed, store, holder.terms or None, options.after, options.limit + 1, sees)
    entries = [entry_of(each, holder) for each in seen[: options.limit]]
    following = f"/v1/terms?after={entries[-1].term}&limit={options.limit}" if len(seen) > options.limit else None
    return told(request, in_json(TermList(terms=entries, next=following).model_dump(mode="json")))


@router.put(
    "/v1/terms/{term}",
    summary="Keep a term",
    openapi_extra={**TERM, "parameters": [*CONDITION["parameters"], *KNOWN["parameters"]]},
    responses={
        200: {"description": "The term as it is kept.", "model": answers.WrittenTerm},
        201: {"description": "The same, of one that was not kept before.", "model": answers.WrittenTerm},
        **READ,
        **CHANGE,
    },
)
async def put(request: Request, term: NAMED) -> Response:
    """Keep a term under a name: a new one with `If-None-Match: *`, one that is kept already with `If-Match` and its entity tag.

    Sent again, a request that was carried out changes nothing: a term that is kept as it is sent is answered as it is. Nothing is
    looked for; `POST …/weeks` plans.
    """
    holder = asked_by(request, PLAN_DEPARTMENT)
    if not NAME.fullmatch(term):
        raise UnusableOption(
            "A term's name is up to 64 letters, digits, dots, hyphens and underscores, the first a letter or digit."
        )
    if holder.terms and term not in holder.terms:
        raise NotAllowed("This key is for other terms.")
    condition, readings, store = Condition(request), request.app.state.readings, _store(request)
    before = await store.run(read_term, store, term)
    body = await received(request, readings, book=True)
    job = partial(work.read_to_keep, body, before.document if before else "")
    done: work.Worked = await worked(request, readings, job)
    if done.content is None and before is not None:
        return _answered(done.answer, before)
    await _require(store, condition, term, before, holder)
    assert done.content is not None, "what was not kept before is new"
    try:
        version = before.version if before is not None else None
        kept = await store.run(keep, store, term, version, done.content, holder.author, PUT)
    except Overtaken:
        raise await _changed(store, condition, term, holder) from None
    return _answered(done.answer, kept, 200 if before is not None else 201)


@router.get(
    "/v1/terms/{term}",
    summary="A term that is kept",
    openapi_extra=KNOWN,
    responses={200: TERM_FORMS, **_READ},
)
async def get(request: Request, term: NAMED) -> Response:
    """Return a term as it is kept, as its file; its entity tag is what a change of it must name.

    A key for a class reads `…/plan` instead.
    """
    holder = holder_who_may(request, READ_CLASS)
    require_once(request)
    form = chosen_form(request, None, BOOK_FORMS)
    kept = await found(request, holder, term)
    if holder.of_classes:
        raise NotAllowed("A term as a whole needs a key that may plan a department; this one reads its class at …/plan.")
    if form == "json":
        return sent_unless_known(request, kept.tag(), Response(kept.document, media_type=JSON_TYPE, headers=VARY))
    tag = f'{kept.tag()[:-1]}-{form}"'
    if is_known(request, tag):
        return sent_unless_known(request, tag, Response(headers=AS_IT_IS))
    written: Written = await worked(request, request.app.state.readings, partial(work.kept_book, kept.document))
    return sent_unless_known(request, tag, Response(written.text, media_type=written.media_type, headers=AS_IT_IS))


@router.delete(
    "/v1/terms/{term}",
    summary="Delete a term for good",
    status_code=204,
    openapi_extra=CONDITION,
    responses={204: {"description": "It is deleted."}, **CHANGE},
    response_class=Response,
)
async def delete(request: Request, term: NAMED) -> Response:
    """Delete a term, with its calendars and with what its log says of lessons; that it was there stays in the log."""
    holder = holder_who_may(request, PLAN_DEPARTMENT)
    require_once(request)
    condition, store = Condition(request), _store(request)
    kept = await found(request, holder, term)
    await _require(store, condition, term, kept, holder)
    try:
        await store.run(forget, store, term, kept.version, holder.author)
    except Overtaken:
        raise await _changed(store, condition, term, holder) from None
    return Response(status_code=204)


@router.post(
    "/v1/terms/{term}/weeks",
    summary="Record a week of a kept term, and plan the rest again",
    openapi_extra={**request_body(WeekRows, "What happened, row by row of the plan."), **CONDITION},
    responses={200: {"description": "What was done and moved.", "model": answers.WeekJson | ClassPlan}, **READ, **CHANGE},
)
async def record_week(request: Request, term: NAMED, options: Annotated[KeptWeekOptions, Query()]) -> Response:
    """Record what is told of the plan's rows, plan the rest again with the fewest moves, and keep it; or make the first plan.

    Where no sequence is found the term stays as it is. A key that plans a class tells of its own rows and moves its own lessons;
    it is answered `lessons`, its rows, instead of the term. When the client goes away, the search stops, and nothing is changed.
    """
    holder, state = asked_by(request, PLAN_CLASS), request.app.state
    settings = search_allowed(request, options)
    on = read_day(options.on, "on") if options.on is not None else date.today()
    condition = Condition(request)
    body = await received(request, state.solves)

    def job(kept: KeptTerm) -> Any:
        own = holder.own(kept.classes) if holder.of_classes else None
        return partial(work.week_to_keep, kept.document, body, own, settings, on)

    return await changed_by(request, state.solves, holder, condition, term, job, WEEK)


@router.post(
    "/v1/terms/{term}/undo",
    summary="Bring back a kept term as it was before its last week",
    openapi_extra=CONDITION,
    responses={200: {"description": "What was undone.", "model": answers.WeekJson}, **problems(400), **CHANGE},
)
async def undo_week(request: Request, term: NAMED) -> Response:
    """Bring the plan and the record back as they were before the last week; whatever was set up stays."""
    holder, condition, readings = asked_by(request, PLAN_DEPARTMENT), Condition(request), request.app.state.readings
    return await changed_by(
        request, readings, holder, condition, term, lambda kept: partial(work.undone_to_keep, kept.document), UNDONE
    )


@router.get(
    "/v1/terms/{term}/plan",
    summary="The plan of a kept term",
    openapi_extra=KNOWN,
    responses={
        200: in_forms("The plan as it stands.", answers.AnswerJson | ClassPlan, SEQUENCE_FORMS.values()),
        **_READ,
        **problems(400, 413, 422),
    },
)
async def plan(request: Request, term: NAMED, options: Annotated[ShowOptions, Query()]) -> Response:
    """Show the plan as it stands, in the form that `format` names or `Accept` prefers; nothing better is looked for.

    A key for a class has that class's rows as JSON, and copies without private notes in the forms that are by class: `sheet`,
    `calendar`, `csv`, `xlsx`.
    """
    holder = holder_who_may(request, READ_CLASS)
    require_once(request, SEVERAL)
    forms = {name: kind for name, kind in SEQUENCE_FORMS.items() if not holder.of_classes or name in _BY_CLASS}
    form = format_named(chosen_form(request, options.format, forms))
    kept = await found(request, holder, term)
    shown = options.shown()
    own = holder.own(kept.classes) if holder.of_classes else None
    if own is not None:
        if unknown := [each for each in shown.classes if each not in own]:
            raise NotAllowed(f"This key is for {', '.join(own)}{'' if len(unknown) == 1 else ' only'}.")
        if shown.teachers:
            raise NotAllowed("A key for a class chooses no teachers.")
        shown = Shown(shown.classes or own, copy=True, weeks=shown.weeks)
    moment = datetime.fromisoformat(kept.changed if own is None else kept.made).astimezone(UTC)
    # The same written at a moment: one version is always the same bytes.
    job = (
        partial(work.class_rows, kept.document, shown.classes)
        if own is not None and form.name == "json"
        else partial(work.kept_plan, kept.document, form.name, replace(shown, now=moment), own is None)
    )
    rendered: Rendered = request.app.state.rendered
    asked = (kept.id, kept.version, kept.digest, form.name, own, shown.classes, shown.teachers, shown.copy, shown.weeks)
    written = rendered.get(asked)
    if written is None:
        written = await worked(request, request.app.state.readings, job)
        rendered.put(asked, written)
    if written.text == work.NOTHING_PLANNED:
        raise NothingHere("Nothing is planned yet: POST …/weeks makes the first plan.")
    tag = kept.tag(own) if own is not None and form.name == "json" and shown.classes == own else rendered.tag(written)
    headers = {**(VARY if form.name == "json" else AS_IT_IS), "Content-Type": written.media_type}
    return sent_unless_known(request, tag, Response(written.text, headers=headers))


_BY_CLASS = ("json", "sheet", "calendar", "csv", "xlsx")
"""The forms that a key for a class may have."""


@router.get(
    "/v1/terms/{term}/changes",
    summary="What was changed in a kept term",
    openapi_extra=KNOWN,
    responses={200: {"description": "The changes, the oldest first.", "model": ChangeList}, **_READ, **problems(400)},
)
async def list_changes(request: Request, term: NAMED, options: Annotated[SinceOptions, Query()]) -> Response:
    """List what was changed after a version: when, by whose key, what was done and which lessons moved; nothing of what they say.

    A key for a class is told of its own lessons. `since` is the version that was seen last.
    """
    holder = asked_by(request, READ_CLASS)
    await found(request, holder, term)
    store = _store(request)
    entries = _told_to(holder, await store.run(changes, store, term, options.since, options.limit))
    return told(request, in_json({"changes": entries}))


# -- what they share ----------------------------------------------------------------------------------------------------------


def asked_by(request: Request, role: str) -> Holder:
    """Who asks for an answer in JSON, if the key may do what a role may, and no option is given twice."""
    holder = holder_who_may(request, role)
    require_once(request)
    require_accepted(request, JSON_TYPE)
    return holder


def _store(request: Request) -> Database:
    store: Database = request.app.state.store
    return store


async def found(request: Request, holder: Holder, name: str) -> KeptTerm:
    """A term that a key may see.

    Raises
    ------
    NothingHere
        When there is none, or the key may not know of it.
    """
    store = _store(request)
    kept = await store.run(read_term, store, name) if holder.sees_term(name) else None
    if kept is None or not holder.sees_term(name, kept.classes):
        raise NothingHere("There is no such term; /v1/terms lists those there are.")
    return kept


def entry_of(kept: KeptTerm, holder: Holder) -> TermEntry:
    """A term as a list has it."""
    own = holder.own(kept.classes)
    whole = not holder.of_classes
    return TermEntry(
        term=kept.id,
        tag=_tag(kept, holder),
        version=kept.version if whole else None,
        title=kept.title if whole else None,
        classes=list(own),
        changed=kept.changed if whole else None,
    )


async def changed_by(
    request: Request,
    pool: Pool,
    holder: Holder,
    condition: Condition,
    name: str,
    job: Callable[[KeptTerm], Any],
    what: str,
) -> Response:
    """Work out a change of a term and keep it; anew where the part that the client has seen is still as it was."""
    store = _store(request)
    for _ in range(TRIES):
        kept = await found(request, holder, name)
        await _require(store, condition, name, kept, holder)
        done: work.Worked = await worked(request, pool, job(kept))
        if done.content is None:
            return _answered(done.answer, kept, holder=holder)
        try:
            after = await store.run(keep, store, name, kept.version, done.content, holder.author, what)
        except Overtaken:
            continue
        return _answered(done.answer, after, holder=holder)
    raise PoolFull(
        "Other classes of the term are changed all the time; nothing was changed by this request.", {"Retry-After": "1"}
    )


async def _require(store: Database, condition: Condition, name: str, kept: KeptTerm | None, holder: Holder) -> None:
    """Check that a condition holds of what is kept."""
    if not condition.holds(_tag(kept, holder)):
        raise await _changed(store, condition, name, holder)


async def _changed(store: Database, condition: Condition, name: str, holder: Holder) -> TermChanged:
    """What there is to say where a condition does not hold."""
    kept = await store.run(read_term, store, name)
    since = condition.version or max(0, (kept.version if kept is not None else 0) - TOLD)
    entries = _told_to(holder, await store.run(changes, store, name, since, TOLD))
    if kept is None:
        detail = "The term is not kept here (any more)."
    elif condition.is_new:
        detail = "A term of that name is kept already."
    else:
        detail = "The term is not as the request's If-Match says: it was changed since."
    tag = _tag(kept, holder)
    return TermChanged(detail, tag, entries, {"ETag": tag} if tag is not None else {})


def _tag(kept: KeptTerm | None, holder: Holder) -> str | None:
    """Its entity tag for a key; none where there is no term."""
    return None if kept is None else kept.tag(holder.own(kept.classes) if holder.of_classes else None)


def _told_to(holder: Holder, told: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What a key may know of changes."""
    if not holder.of_classes:
        return told
    own = ({**each, "moved": [move for move in each["moved"] if holder.sees_class(move["class"])]} for each in told)
    return [each for each in own if each["moved"]]


def told(request: Request, answer: Written) -> Response:
    """A short answer in JSON, with its entity tag."""
    return sent_unless_known(request, Rendered.tag(answer), Response(answer.text, media_type=JSON_TYPE, headers=VARY))


def _answered(answer: Written, kept: KeptTerm, status: int = 200, holder: Holder | None = None) -> Response:
    """The answer to a change, with the tag that the next one must name."""
    tag = _tag(kept, holder) if holder is not None else kept.tag()
    headers = {**VARY, "ETag": tag or "", "Cache-Control": "private, no-cache"}
    if holder is None:
        # What is answered is the term itself.
        headers["Content-Location"] = f"/v1/terms/{kept.id}"
    return Response(answer.text, status, headers, answer.media_type)
