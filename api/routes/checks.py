"""A scenario and a sequence in, the referee's verdict out."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse

from api.bodies import received, worked
from api.openapi import EXAMPLE_SCENARIO, EXAMPLE_SEQUENCE, answered, example_of, problems, reference, request_body
from sequencer import StopSignal, build_instance, check, load_check, verdict_json

router = APIRouter(tags=["scenarios"])

EXAMPLE = example_of(scenario=EXAMPLE_SCENARIO, sequence=EXAMPLE_SEQUENCE)


@router.post(
    "/v1/checks",
    summary="Let the referee judge a sequence",
    openapi_extra=request_body("Check", "A scenario, and a sequence: an answer, or its `lessons`.", EXAMPLE),
    responses={
        200: answered("The verdict; `sound` says whether every rule holds.", reference("Verdict")),
        **problems(406, 408, 413, 415, 422, 500, 503),
    },
)
async def check_sequence(request: Request) -> JSONResponse:
    """Judge a sequence against a scenario: every broken rule, and every aim's value."""
    readings = request.app.state.readings
    body, language = await received(request, readings)

    def work(_: StopSignal) -> dict[str, Any]:
        scenario, sequence = load_check(body, "", language)
        return verdict_json(build_instance(scenario), check(scenario, sequence))

    return JSONResponse(await worked(request, readings, work))
