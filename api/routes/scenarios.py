"""A scenario in, in any form it may be written in; the scenario, or everything wrong with it, out."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, read_bytes, received
from api.media import AS_IT_IS, XLSX_TYPE, chosen_of, is_workbook, require_once
from api.openapi import answered, as_scenario, problems, reference, request_body

router = APIRouter(tags=["scenarios"])

_BODY = request_body("Scenario", "The scenario; or a workbook that means one.")
_BODY["requestBody"]["content"][XLSX_TYPE] = {"schema": {"type": "string", "format": "binary"}}


@router.post(
    "/v1/scenarios",
    summary="Read a scenario",
    openapi_extra=_BODY,
    responses={
        200: as_scenario(answered("The scenario, and how much there is to place.", reference("ReadScenario"))),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def read(request: Request) -> Response:
    """Read a scenario, or a workbook that means one, and say what it is about; as YAML nothing but the scenario, for a file.

    Nothing is kept, and nothing is looked for.
    """
    readings, settings = request.app.state.readings, request.app.state.settings
    require_once(request)
    form = chosen_of(request, None, ("json", "yaml"))
    if is_workbook(request):
        readings.refuse_if_full()
        book = await read_bytes(request, settings)
        job = partial(work.told_workbook, book, settings.limits, form, settings.most_seconds)
    else:
        job = partial(work.told_scenario, await received(request, readings, None), form, settings.most_seconds)
    return await answered_by(request, readings, job, AS_IT_IS)
