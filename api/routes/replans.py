"""A scenario and the sequence planned before in; the plan made again out, with as little moved as can be."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received, worked
from api.errors import UnusableOption
from api.media import AS_IT_IS, FORM_TYPES, chosen_of, require_once, seconds_allowed, workers_allowed
from api.messages import SAID_FORMS
from api.openapi import in_forms, problems, request_body
from api.replan_messages import REPLAN_FORMS, ReplanOptions
from sequencer import SolveSettings

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/replans",
    summary="Make a plan again, moving as little as can be",
    openapi_extra=request_body("Replanning", "The scenario as it is now, and the sequence planned before."),
    responses={
        200: in_forms(
            "As JSON the new sequence and what moved; otherwise the change notice. `format` names further forms.",
            ("Replanned", "TradeOff", "ChangeNotice"),
            dict.fromkeys(FORM_TYPES[form] for form in REPLAN_FORMS),
        ),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def make_again(request: Request, options: Annotated[ReplanOptions, Query()]) -> Response:
    """Make the plan again; `format` or `Accept` chooses between all of it and the change notice for colleagues.

    When the client goes away, the search stops.
    """
    if options.trade_off and options.most_moved is not None:
        raise UnusableOption("The options trade_off and most_moved cannot both be given.")
    require_once(request)
    form = chosen_of(request, options.format, SAID_FORMS if options.trade_off else REPLAN_FORMS)
    state = request.app.state
    seconds = seconds_allowed(request, state.settings, options.seconds)
    workers = workers_allowed(state.settings, options.workers)
    body = await received(request, state.solves, None)
    read = await worked(request, state.readings, partial(work.read_replan, body))
    settings = SolveSettings(seconds, options.seed, workers)
    job = (
        partial(work.traded_off, read, settings, form)
        if options.trade_off
        else partial(work.planned_again, body, read, settings, form, options.most_moved)
    )
    return await answered_by(request, state.solves, job, AS_IT_IS)
