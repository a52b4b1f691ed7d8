"""A scenario with what-ifs in, each of them beside it out."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received, worked
from api.comparison_messages import CompareOptions
from api.media import AS_IT_IS, JSON_TYPE, chosen_of, seconds_allowed, workers_allowed
from api.messages import SAID_FORMS
from api.openapi import in_forms, problems, request_body
from sequencer import SolveSettings

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/comparisons",
    summary="Put the what-ifs of a scenario beside it",
    openapi_extra=request_body("Comparing", "A scenario with its what-ifs in it, or beside it."),
    responses={
        200: in_forms("The base and each what-if, possible or not.", "Compared", (JSON_TYPE, "text/plain")),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def compare_what_ifs(request: Request, options: Annotated[CompareOptions, Query()]) -> Response:
    """Solve the scenario and each of its what-ifs; the time allowed is shared out evenly among them.

    When the client goes away, the search stops.
    """
    state = request.app.state
    seconds = seconds_allowed(request, state.settings, options.seconds)
    workers = workers_allowed(state.settings, options.workers)
    form = chosen_of(request, options.format, SAID_FORMS)
    body = await received(request, state.solves, None)
    read = await worked(request, state.readings, partial(work.read_comparison, body))
    settings = SolveSettings(seconds, options.seed, workers)
    return await answered_by(request, state.solves, partial(work.compared, read, settings, form, options.close), AS_IT_IS)
