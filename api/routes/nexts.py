"""This term's scenario and its sequence in, a skeleton of the next term's out."""

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
    "/v1/next-terms",
    summary="Begin the next term's scenario",
    openapi_extra=request_body("Rolling", "This term's scenario and sequence, and the next term's dates."),
    responses={
        200: as_scenario(answered("The new scenario, what was carried over, and what is to be filled in.", reference("Rolled"))),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def begin_next_term(request: Request) -> Response:
    """Begin the next term's scenario from this term's and its sequence.

    What is left to be met again, practised, marked or taught is carried over; nothing new is invented.
    """
    readings = request.app.state.readings
    require_once(request)
    form = chosen_of(request, None, ("json", "yaml"))
    body = await received(request, readings, None)
    return await answered_by(request, readings, partial(work.next_begun, body, form), AS_IT_IS)
