"""A scenario in, in any form it may be written in; the scenario, or everything wrong with it, out."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, read_bytes, received
from api.media import JSON_TYPE, XLSX_TYPE, is_workbook, require_accepted, require_once
from api.openapi import EXAMPLE_SCENARIO, answered, problems, reference, request_body

router = APIRouter(tags=["scenarios"])

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
async def read(request: Request) -> Response:
    """Read a scenario, or a workbook that means one, and say what it is about. Nothing is kept, and nothing is looked for."""
    readings, settings = request.app.state.readings, request.app.state.settings
    if not is_workbook(request):
        body = await received(request, readings)
        return await answered_by(request, readings, partial(work.told_scenario, body, settings.most_seconds))
    require_once(request)
    require_accepted(request, JSON_TYPE)
    readings.refuse_if_full()
    book = await read_bytes(request, settings)
    return await answered_by(request, readings, partial(work.told_workbook, book, settings.limits, settings.most_seconds))
