"""Terms: one read or written as the file that holds it, and a week of one: recorded, planned again, or undone."""

from __future__ import annotations

from datetime import date
from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received, streamed, worked
from api.media import (
    AS_IT_IS,
    BOOK_FORMS,
    EVENTS_TYPE,
    JSON_TYPE,
    chosen_form,
    chosen_of,
    require_once,
    search_allowed,
    wants_events,
)
from api.openapi import READ, as_events, in_forms, request_body
from api.requests import TermBegun, WeekOptions
from sequencer import WholeTerm, answers, load_term, read_day

router = APIRouter(tags=["terms"])


TERM = request_body(TermBegun, "A term, or a scenario; or a workbook that holds one.", book=True)
TERM_FORMS = in_forms("The term; or the workbook that holds it.", answers.WrittenTerm, BOOK_FORMS.values())


@router.post(
    "/v1/terms",
    summary="Read a term, begin one, or have its workbook",
    openapi_extra=TERM,
    responses={200: TERM_FORMS, **READ},
)
async def read_term(request: Request) -> Response:
    """Read a term, or begin one with a scenario: what was set up, what happened, the plan as it stands, the plans before.

    With `Accept` of a workbook the answer is the one that holds it; what is the teacher's own in the `workbook` handed in
    beside it stays. Nothing is kept, and nothing is looked for.
    """
    readings = request.app.state.readings
    require_once(request)
    form = chosen_form(request, None, BOOK_FORMS)
    body = await received(request, readings, book=True)
    return await answered_by(request, readings, partial(work.told_term, body, form), AS_IT_IS)


@router.post(
    "/v1/weeks",
    summary="Record a week of a term, and plan the rest again",
    openapi_extra=request_body(WholeTerm, "A term, with what happened filled in and whatever was changed."),
    responses={200: as_events(in_forms("The term afterwards, and what moved.", answers.WeekJson), answer="Week"), **READ},
)
async def make_week(request: Request, options: Annotated[WeekOptions, Query()]) -> Response:
    """Record what the plan's rows say happened, and plan the rest again with the fewest moves; or make the first plan.

    Where nothing happened and nothing was changed, the same term is answered, and that is said. With `undo` the week before is
    brought back. With ``Accept: text/event-stream`` it is streamed as ``/v1/sequences`` is. When the client goes away, the
    search stops.
    """
    state = request.app.state
    settings = search_allowed(request, options)
    on = read_day(options.on, "on") if options.on is not None else date.today()
    streams = wants_events(request, options.format, (JSON_TYPE,)) and not options.undo
    if not streams:
        chosen_of(request, options.format, ("json",), (EVENTS_TYPE,))
    body = await received(request, state.readings if options.undo else state.solves)
    if options.undo:
        return await answered_by(request, state.readings, partial(work.week_undone, body), AS_IT_IS)
    read = await worked(request, state.readings, partial(work.read, load_term, body))
    job = partial(work.week_done, body, read, settings, on, streams)
    return streamed(request, state.solves, job) if streams else await answered_by(request, state.solves, job, AS_IT_IS)
