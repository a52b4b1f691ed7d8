"""A scenario in; why it has no sequence, and what would give it one, out."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received, worked
from api.media import AS_IT_IS, JSON_TYPE, chosen_of, seconds_allowed
from api.messages import SAID_FORMS, ExplainOptions
from api.openapi import in_forms, problems, request_body
from sequencer import ExplainSettings

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/explanations",
    summary="Say why a scenario has no sequence",
    openapi_extra=request_body("Scenario", "The scenario."),
    responses={
        200: in_forms(
            "Conflicts and repairs; `possible` says whether there is a sequence. With `lesson` where else that could lie.",
            ("Explanation", "Elsewhere"),
            (JSON_TYPE, "text/plain"),
        ),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def explain_scenario(request: Request, options: Annotated[ExplainOptions, Query()]) -> Response:
    """List the statements of a scenario that cannot all hold, and changes that give it a sequence, the cheapest that were found.

    With `lesson`, say instead where else that lesson could lie. When the client goes away, the search stops.
    """
    state = request.app.state
    seconds = seconds_allowed(request, state.settings, options.seconds)
    form = chosen_of(request, options.format, SAID_FORMS)
    body = await received(request, state.solves, None)
    read = await worked(request, state.readings, partial(work.read_scenario, body))
    settings = ExplainSettings(seconds, options.conflicts, options.repairs)
    job = partial(work.explained, body, read, settings, form, options.lesson)
    return await answered_by(request, state.solves, job, AS_IT_IS)
