"""A scenario and a sequence made for it in; the same sequence in any form out."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received
from api.media import AS_IT_IS, VARY, chosen_form
from api.messages import SEVERAL, ShowOptions
from api.openapi import in_forms, problems, request_body
from sequencer import FORMATS, Shown, format_named

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/plans",
    summary="Show a plan made before as it is",
    openapi_extra=request_body("Check", "A scenario, and a sequence: an answer, or its `lessons`."),
    responses={
        200: in_forms("The plan; as JSON its aims have no bounds.", "Answer", [each.media_type for each in FORMATS]),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def show_plan(request: Request, options: Annotated[ShowOptions, Query()]) -> Response:
    """Show a plan as it is, in the form that `format` names or `Accept` prefers; nothing better is looked for.

    So a sheet, a calendar and a table can be had of one and the same sequence. The referee judges it: a plan that breaks a
    rule is refused.
    """
    form = format_named(chosen_form(request, options.format, [(each.name, each.media_type) for each in FORMATS]))
    readings = request.app.state.readings
    shown = Shown(tuple(options.class_), tuple(options.teacher), copy=options.copy_)
    body = await received(request, readings, None, SEVERAL)
    job = partial(work.shown_as_planned, body, form.name, shown)
    return await answered_by(request, readings, job, VARY if form.name == "json" else AS_IT_IS)
