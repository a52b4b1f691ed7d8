"""Last year's scenario and this year's calendar in, this year's scenario out, with what no longer fits."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received
from api.media import AS_IT_IS, chosen_of, require_once
from api.openapi import answered, as_scenario, problems, reference, request_body

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/redatings",
    summary="Put last year's scenario on this year's calendar",
    openapi_extra=request_body("Redating", "Last year's scenario, and this year's calendar."),
    responses={
        200: as_scenario(answered("The new scenario, what no longer fits, and the dates that moved.", reference("Redated"))),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def redate_scenario(request: Request) -> Response:
    """Put a scenario on a new calendar: every date moves to the same weekday of the school week with the same number.

    What has no place there is left out and listed, never moved elsewhere.
    """
    readings = request.app.state.readings
    require_once(request)
    form = chosen_of(request, None, ("json", "yaml"))
    body = await received(request, readings, None)
    return await answered_by(request, readings, partial(work.redated, body, form), AS_IT_IS)
