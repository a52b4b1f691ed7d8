"""Last year's scenario and this year's calendar in, this year's scenario out, with what no longer fits."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received
from api.openapi import EXAMPLE_CALENDAR, EXAMPLE_SCENARIO, answered, example_of, problems, reference, request_body

router = APIRouter(tags=["scenarios"])

EXAMPLE = example_of(scenario=EXAMPLE_SCENARIO, calendar=EXAMPLE_CALENDAR)


@router.post(
    "/v1/redatings",
    summary="Put last year's scenario on this year's calendar",
    openapi_extra=request_body("Redating", "Last year's scenario, and this year's calendar.", EXAMPLE),
    responses={
        200: answered("The new scenario, what no longer fits, and the dates that moved.", reference("Redated")),
        **problems(406, 408, 413, 415, 422, 500, 503),
    },
)
async def redate_scenario(request: Request) -> Response:
    """Put a scenario on a new calendar: every date moves to the same weekday of the school week with the same number.

    What has no place there is left out and listed, never moved elsewhere.
    """
    readings = request.app.state.readings
    return await answered_by(request, readings, partial(work.redated, await received(request, readings)))
