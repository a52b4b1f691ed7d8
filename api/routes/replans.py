"""A scenario and the sequence planned before in; the plan made again out, with as little moved as can be."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received, worked
from api.errors import UnusableOption
from api.media import AS_IT_IS, JSON_TYPE, chosen_form, require_once, seconds_allowed, workers_allowed
from api.openapi import EXAMPLE_SCENARIO, EXAMPLE_SEQUENCE, example_of, problems, reference, request_body
from api.replan_messages import ReplanOptions
from api.work import NOTICES
from sequencer import SolveSettings

router = APIRouter(tags=["scenarios"])

EXAMPLE = example_of(scenario=EXAMPLE_SCENARIO, previous=EXAMPLE_SEQUENCE)
_FORMS = {
    JSON_TYPE: {"schema": {"anyOf": [reference("Replanned"), reference("TradeOff")]}},
    **{media: {"schema": {"type": "string"}} for media in NOTICES},
}


@router.post(
    "/v1/replans",
    summary="Make a plan again, moving as little as can be",
    openapi_extra=request_body("Replanning", "The scenario as it is now, and the sequence planned before.", EXAMPLE),
    responses={
        200: {"description": "As JSON the new sequence and what moved; otherwise the change notice.", "content": _FORMS},
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def make_again(request: Request, options: Annotated[ReplanOptions, Query()]) -> Response:
    """Make the plan again; `Accept` chooses between all of it (JSON) and the change notice (HTML, text).

    When the client goes away, the search stops.
    """
    require_once(request)
    if options.trade_off and options.most_moved is not None:
        raise UnusableOption("The options trade_off and most_moved cannot both be given.")
    offered = [JSON_TYPE] if options.trade_off else [JSON_TYPE, *NOTICES]
    form = chosen_form(request, None, [(media, media) for media in offered])
    state = request.app.state
    seconds = seconds_allowed(request, state.settings, options.seconds)
    workers = workers_allowed(state.settings, options.workers)
    body = await received(request, state.solves, None)
    read = await worked(request, state.readings, partial(work.read_replan, body))
    settings = SolveSettings(seconds, options.seed, workers)
    job = (
        partial(work.traded_off, read, settings)
        if options.trade_off
        else partial(work.planned_again, read, settings, form, options.most_moved)
    )
    return await answered_by(request, state.solves, job, AS_IT_IS)
