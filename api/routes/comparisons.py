"""A scenario with what-ifs in, each of them beside it out."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received, streamed, worked
from api.comparison_messages import CompareOptions
from api.media import AS_IT_IS, EVENTS_TYPE, FORM_TYPES, JSON_TYPE, chosen_of, seconds_allowed, wants_events, workers_allowed
from api.messages import SAID_FORMS
from api.openapi import as_events, in_forms, problems, request_body
from sequencer import SolveSettings

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/comparisons",
    summary="Put the what-ifs of a scenario beside it",
    openapi_extra=request_body("Comparing", "A scenario with its what-ifs in it, or beside it; and openings asked for."),
    responses={
        200: as_events(
            in_forms("The base and each what-if, possible or not.", "Compared", (JSON_TYPE, "text/plain")),
            "`future` with a ComparedFuture for the base and then for each what-if as it is ready, `opening` with a "
            "SharedOpening for each that is asked for",
            "Compared",
        ),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def compare_what_ifs(request: Request, options: Annotated[CompareOptions, Query()]) -> Response:
    """Solve the scenario and each of its what-ifs; the time allowed is shared out evenly among them and openings asked for.

    Beside the scenario, ``opening_until`` asks for one and the same beginning until a date, at which it is known which of them
    comes: the best for the worst case, or by ``weights``. A list of dates says what an earlier decision would be worth. With
    ``Accept: text/event-stream`` the base, each what-if and each opening come as they are ready, and last the whole ``answer``,
    or a ``problem`` document; ``begun`` says where the search can be told to stop. When the client goes away, the search stops.
    """
    state = request.app.state
    seconds = seconds_allowed(request, state.settings, options.seconds)
    workers = workers_allowed(state.settings, options.workers)
    streams = wants_events(request, options.format, [FORM_TYPES[form] for form in SAID_FORMS])
    form = "json" if streams else chosen_of(request, options.format, SAID_FORMS, (EVENTS_TYPE,))
    body = await received(request, state.solves, None)
    read = await worked(request, state.readings, partial(work.read_comparison, body, options.close))
    settings = SolveSettings(seconds, options.seed, workers)
    job = partial(work.compared, read, settings, form, options.close, streams)
    if streams:
        return streamed(request, state.solves, job)
    return await answered_by(request, state.solves, job, AS_IT_IS)
