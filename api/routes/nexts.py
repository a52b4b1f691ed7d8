"""This term's scenario and its sequence in, a skeleton of the next term's out."""

from __future__ import annotations

from functools import partial

from fastapi import APIRouter, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received
from api.openapi import EXAMPLE_SCENARIO, EXAMPLE_SEQUENCE, answered, example_of, problems, reference, request_body

router = APIRouter(tags=["scenarios"])

EXAMPLE = example_of(scenario=EXAMPLE_SCENARIO, sequence=EXAMPLE_SEQUENCE) + "first: 2026-11-16\nlast: 2026-12-18\n"


@router.post(
    "/v1/next-terms",
    summary="Begin the next term's scenario",
    openapi_extra=request_body("Rolling", "This term's scenario and sequence, and the next term's dates.", EXAMPLE),
    responses={
        200: answered("The new scenario, what was carried over, and what is to be filled in.", reference("Rolled")),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def begin_next_term(request: Request) -> Response:
    """Begin the next term's scenario from this term's and its sequence.

    What is left to be met again, practised, marked or taught is carried over; nothing new is invented.
    """
    readings = request.app.state.readings
    return await answered_by(request, readings, partial(work.next_begun, await received(request, readings)))
