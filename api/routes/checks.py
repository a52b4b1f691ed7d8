"""A scenario and a sequence in, the referee's verdict out."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received
from api.check_messages import CheckOptions
from api.media import AS_IT_IS, JSON_TYPE, chosen_of, seconds_allowed, workers_allowed
from api.messages import SAID_FORMS
from api.openapi import in_forms, problems, request_body
from sequencer import SolveSettings

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/checks",
    summary="Let the referee judge a sequence",
    openapi_extra=request_body("Check", "A scenario, and a sequence: an answer, or its `lessons`."),
    responses={
        200: in_forms("The verdict; as JSON `sound` says whether every rule holds.", "Checked", (JSON_TYPE, "text/plain")),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def check_sequence(request: Request, options: Annotated[CheckOptions, Query()]) -> Response:
    """Judge a sequence against a scenario: every broken rule, and every aim's value.

    On request also the aims beside the best, and whether a part can be completed. When the client goes away, the search stops.
    """
    state = request.app.state
    pool = state.solves if options.best or options.complete else state.readings
    seconds = seconds_allowed(request, state.settings, options.seconds)
    workers = workers_allowed(state.settings, options.workers)
    form = chosen_of(request, options.format, SAID_FORMS if pool is state.readings else ("json",))
    body = await received(request, pool, None)
    best = SolveSettings(seconds, workers=workers) if options.best else None
    return await answered_by(
        request, pool, partial(work.checked, body, form, best, seconds if options.complete else None), AS_IT_IS
    )
