"""A scenario in, in any form it may be written in; the scenario, or everything wrong with it, out."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import JSONResponse

from api.bodies import read_body, read_bytes, worked
from api.media import JSON_TYPE, XLSX_TYPE, is_workbook, require_accepted, require_once
from api.openapi import EXAMPLE_SCENARIO, answered, problems, reference, request_body
from sequencer import StopSignal, load_scenario, load_workbook, read_json

router = APIRouter(tags=["scenarios"])

MOST_UNPACKED = 3_000_000
"""Bytes of a workbook when it is unpacked; that of six classes has 150,000."""

_BODY = request_body("Scenario", "The scenario; or a workbook that means one.", EXAMPLE_SCENARIO)
_BODY["requestBody"]["content"][XLSX_TYPE] = {"schema": {"type": "string", "format": "binary"}}


@router.post(
    "/v1/scenarios",
    summary="Read a scenario",
    openapi_extra=_BODY,
    responses={
        200: answered("The scenario, and how much there is to place.", reference("ReadScenario")),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def read(request: Request) -> JSONResponse:
    """Read a scenario, or a workbook that means one, and say what it is about. Nothing is kept, and nothing is looked for."""
    state = request.app.state
    require_once(request)
    require_accepted(request, JSON_TYPE)
    state.readings.refuse_if_full()
    if is_workbook(request):
        body, language = await read_bytes(request, state.settings), None
    else:
        body, language = await read_body(request, state.settings)

    def work(_: StopSignal) -> dict[str, Any]:
        scenario = load_workbook(body, "", MOST_UNPACKED) if language is None else load_scenario(body, "", language)
        return read_json(scenario)

    return JSONResponse(await worked(request, state.readings, work))
