"""A scenario and a sequence in, the referee's verdict out."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import JSONResponse

from api.bodies import received, worked
from api.check_messages import CheckOptions
from api.media import seconds_allowed, workers_allowed
from api.openapi import EXAMPLE_SCENARIO, EXAMPLE_SEQUENCE, answered, example_of, problems, reference, request_body
from sequencer import (
    SolveSettings,
    StopSignal,
    beside_json,
    build_instance,
    check,
    complete,
    completion_json,
    load_check,
    solve,
    verdict_json,
)

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
async def check_sequence(request: Request, options: Annotated[CheckOptions, Query()]) -> JSONResponse:
    """Judge a sequence against a scenario: every broken rule, and every aim's value.

    On request also the aims beside the best, and whether a part can be completed. When the client goes away, the search stops.
    """
    state = request.app.state
    pool = state.solves if options.best or options.complete else state.readings
    seconds = seconds_allowed(request, state.settings, options.seconds)
    workers = workers_allowed(state.settings, options.workers)
    body, language = await received(request, pool)

    def work(stop: StopSignal) -> dict[str, Any]:
        scenario, sequence = load_check(body, "", language, state.settings.limits)
        verdict = check(scenario, sequence)
        answer = verdict_json(build_instance(scenario), verdict)
        if options.best:
            best = solve(scenario, SolveSettings(seconds, workers=workers), stop=stop)
            answer["beside_best"] = beside_json(verdict.aims, best)
        if options.complete:
            answer["completion"] = completion_json(complete(scenario, sequence, seconds, stop))
        return answer

    return JSONResponse(await worked(request, pool, work))
