"""A scenario and a sequence in, the referee's verdict out."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received
from api.check_messages import CheckOptions
from api.media import seconds_allowed, workers_allowed
from api.openapi import EXAMPLE_SCENARIO, EXAMPLE_SEQUENCE, answered, example_of, problems, reference, request_body
from sequencer import SolveSettings

router = APIRouter(tags=["scenarios"])

EXAMPLE = example_of(scenario=EXAMPLE_SCENARIO, sequence=EXAMPLE_SEQUENCE)


@router.post(
    "/v1/checks",
    summary="Let the referee judge a sequence",
    openapi_extra=request_body("Check", "A scenario, and a sequence: an answer, or its `lessons`.", EXAMPLE),
    responses={
        200: answered("The verdict; `sound` says whether every rule holds.", reference("Checked")),
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
    body = await received(request, pool)
    best = SolveSettings(seconds, workers=workers) if options.best else None
    return await answered_by(request, pool, partial(work.checked, body, best, seconds if options.complete else None))
