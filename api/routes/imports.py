"""What other programs know of a term: a calendar or a table, said back as it was understood, and kept where that is asked for."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api.bodies import read_bytes, worked
from api.errors import UnsupportedMedia
from api.media import JSON_TYPE, VARY, media_type_of
from api.openapi import READ
from api.routes.kept import CHANGE, CONDITION, NAMED, asked_by, changed_by, found
from api.store import kept_work as work
from api.store.conditions import Condition
from api.store.keys import PLAN_DEPARTMENT
from api.store.messages import ImportOptions, ImportUnderstood
from api.store.terms import IMPORTED, KeptTerm
from sequencer.workers.serving import Job

router = APIRouter(tags=["kept terms"])

CALENDAR, TABLE = "text/calendar", "text/csv"

_EXAMPLES = {
    CALENDAR: "BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//x//EN\nBEGIN:VEVENT\nUID:1\nDTSTAMP:20260901T000000Z\n"
    "SUMMARY:INSET day\nDTSTART;VALUE=DATE:20261113\nEND:VEVENT\nEND:VCALENDAR\n",
    TABLE: "kind,name,first,last\nholiday,Half-term,2026-10-26,2026-10-30\n",
}

_BODY = {
    "requestBody": {
        "required": True,
        "description": "A calendar (RFC 5545), or a table (RFC 4180) whose first line names its columns.",
        "content": {each: {"schema": {"type": "string"}, "example": text} for each, text in _EXAMPLES.items()},
    }
}


@router.post(
    "/v1/terms/{term}/imports",
    summary="Put what another program knows into a kept term",
    openapi_extra={**_BODY, **CONDITION},
    responses={200: {"description": "What was understood.", "model": ImportUnderstood}, **READ, **CHANGE},
)
async def take(request: Request, term: NAMED, options: Annotated[ImportOptions, Query()]) -> Response:
    """Say what is understood of a calendar or a table: dates of term, holidays, closures, and timetables of classes.

    With `keep` the term is changed and kept; then `If-Match` must name what is changed. Nothing is planned: `…/weeks` does that.
    """
    holder = asked_by(request, PLAN_DEPARTMENT)
    kind = media_type_of(request.headers.get("content-type", ""))[0]
    if kind not in (CALENDAR, TABLE):
        taken = {"Accept": f"{CALENDAR}, {TABLE}"}
        raise UnsupportedMedia(f"The body's Content-Type must be {CALENDAR} or {TABLE}.", taken)
    condition = Condition(request) if options.keep else None
    readings = request.app.state.readings
    readings.refuse_if_full()
    content = await read_bytes(request, request.app.state.settings)

    def job(kept: KeptTerm) -> Job:
        return partial(work.foreign_to_keep, kept.document, content, kind == TABLE, options.keep)

    if condition is not None:
        return await changed_by(request, readings, holder, condition, term, job, IMPORTED)
    done: work.Worked = await worked(request, readings, job(await found(request, holder, term)))
    return Response(done.answer.text, media_type=JSON_TYPE, headers=VARY)
