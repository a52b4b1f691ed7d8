"""Calendars to subscribe to: made and revoked by whoever plans a department, fetched by whoever has the address."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import partial
from typing import Annotated

from fastapi import APIRouter, Path, Request
from starlette.responses import Response

from api.bodies import received, worked
from api.errors import NothingHere
from api.media import JSON_TYPE, require_accepted, require_once
from api.openapi import READ, problems, request_body
from api.routes.kept import KNOWN, NAMED, TRIES, asked_by, found, told
from api.routes.pages import BY_SECRET
from api.store import kept_work as work
from api.store.access import holder_who_may
from api.store.calendars import ENDING, calendars_of, make_calendar, revoke_calendar, subscription, was_sent
from api.store.conditions import sent_unless_known
from api.store.keys import PLAN_DEPARTMENT
from api.store.messages import CalendarAsked, CalendarList, CalendarMade
from api.store.rendered import Rendered
from api.store.terms import read_term
from api.work import Written, in_json
from sequencer import format_named
from sequencer.workers.refusals import PoolFull

router = APIRouter(tags=["kept terms"])

FRESH_SECONDS = 300
"""How long a program that subscribes may take what it has for the latest."""


@router.post(
    "/v1/terms/{term}/calendars",
    summary="Make a calendar to subscribe to",
    status_code=201,
    openapi_extra=request_body(CalendarAsked, "Whose calendar: a class's, a teacher's or a cohort's."),
    responses={
        201: {"description": "Its address, which is told this once.", "model": CalendarMade},
        **READ,
        **problems(403, 404, 429, 507),
    },
)
async def make(request: Request, term: NAMED) -> Response:
    """Make a calendar of a class, a teacher or a cohort (its assessments) at an address that cannot be guessed.

    Whoever has the address may read the calendar, and nothing else. It holds no private notes.
    """
    holder = asked_by(request, PLAN_DEPARTMENT)
    state = request.app.state
    body = await received(request, state.readings)
    kept = await found(request, holder, term)
    kind, name = await worked(request, state.readings, partial(work.calendar_asked, kept.document, body))
    made = await state.store.run(make_calendar, state.store, term, kind, name)
    if made is None:
        raise NothingHere("There is no such term; /v1/terms lists those there are.")
    public, address = made
    answer = in_json(CalendarMade(calendar=public, kind=kind, name=name, address=address).model_dump())
    return Response(answer.text, 201, {"Location": address, "Cache-Control": "no-store"}, JSON_TYPE)


@router.get(
    "/v1/terms/{term}/calendars",
    summary="The calendars of a kept term",
    openapi_extra=KNOWN,
    responses={
        200: {"description": "The calendars, without their addresses.", "model": CalendarList},
        304: {"description": "They are as the client has them."},
        **problems(403, 404, 406, 429, 500, 503),
    },
)
async def listed(request: Request, term: NAMED) -> Response:
    """List the calendars of a term. Their addresses were told when they were made, and are kept nowhere."""
    await found(request, asked_by(request, PLAN_DEPARTMENT), term)
    store = request.app.state.store
    entries = {"calendars": await store.run(calendars_of, store, term)}
    return told(request, in_json(CalendarList.model_validate(entries).model_dump()))


@router.delete(
    "/v1/terms/{term}/calendars/{calendar}",
    summary="Revoke a calendar's address",
    status_code=204,
    responses={204: {"description": "Its address leads nowhere any more."}, **problems(403, 404, 429, 500, 503, 507)},
    response_class=Response,
)
async def revoke(
    request: Request, term: NAMED, calendar: Annotated[str, Path(description="Its id, as the list of calendars has it.")]
) -> Response:
    """Let a calendar's address lead nowhere any more. Who subscribed keeps what was fetched before."""
    holder = holder_who_may(request, PLAN_DEPARTMENT)
    await found(request, holder, term)
    store = request.app.state.store
    if not await store.run(revoke_calendar, store, term, calendar):
        raise NothingHere("There is no such calendar of this term.")
    return Response(status_code=204)


@router.get(
    BY_SECRET + "{secret}" + ENDING,
    summary="A calendar that is subscribed to",
    openapi_extra=KNOWN,
    responses={
        200: {"description": "The calendar.", "content": {"text/calendar": {"schema": {"type": "string"}}}},
        304: {"description": "It is as the client has it."},
        **problems(404, 406, 413, 429, 500, 503),
    },
    response_class=Response,
)
async def fetch(
    request: Request, secret: Annotated[str, Path(description="What nobody can guess, as it was told when it was made.")]
) -> Response:
    """Return the calendar as the plan stands: events keep their UID over all plans, and what falls away is cancelled.

    It asks for no key: whoever has the address may read it.
    """
    require_once(request)
    require_accepted(request, "text/calendar")
    state = request.app.state
    store = state.store
    for _ in range(TRIES):
        asked = await store.run(subscription, store, secret)
        if asked is None:
            raise NothingHere("There is no such calendar (any more).")
        state.kept.access.rates.count(f"calendar {asked.id}")
        kept = await store.run(read_term, store, asked.term)
        if kept is None:
            continue
        text = asked.sent
        if text is None or asked.sent_version != kept.version:
            moment = datetime.fromisoformat(kept.changed).astimezone(UTC)
            job = partial(work.calendar_to_send, kept.document, asked.kind, asked.name, asked.sent, moment)
            written: Written = await worked(request, state.readings, job)
            text = written.text.decode()
            if not await store.run(was_sent, store, asked, text, kept.version):
                continue
        sent = Written(text.encode(), format_named("calendar").content_type)
        headers = {"Cache-Control": f"private, max-age={FRESH_SECONDS}"}
        return sent_unless_known(request, Rendered.tag(sent), Response(sent.text, media_type=sent.media_type), headers)
    raise PoolFull("The term is changed all the time.", {"Retry-After": "1"})
