"""A scenario in, the best sequence for it out."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received, streamed, worked
from api.errors import UnusableOption
from api.media import AS_IT_IS, VARY, chosen_format, seconds_allowed, wants_events, workers_allowed
from api.messages import OPTIONS, SEVERAL, SolveOptions
from api.openapi import as_events, in_forms, problems, request_body
from sequencer import FORMATS, Shown, SolveSettings, read_loss

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/sequences",
    summary="Find the best sequence for a scenario",
    openapi_extra=request_body("Planning", "The scenario; or beside it what was planned earlier."),
    responses={
        200: as_events(
            in_forms(
                "The answer; as JSON `status` says what was found, or that no sequence exists.",
                "Answer",
                [each.media_type for each in FORMATS],
            )
        ),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def make_sequence(request: Request, options: Annotated[SolveOptions, Query()]) -> Response:
    """Find the best sequence for a scenario, within the time allowed, in the form that `format` names or `Accept` prefers.

    With ``Accept: text/event-stream`` the first event, ``begun``, says where the search can be told to stop and answer with the
    best it has; every improvement of an aim comes as a ``progress`` event, a comment keeps a silent connection alive, and the
    last event is the ``answer``, or a ``problem`` document. When the client goes away, the search stops. The body is a
    scenario, or `scenario` with `earlier` beside it: the text of a calendar made before, or a sequence, which a calendar asked
    for brings up to date.
    """
    loss = read_loss(options.loss.split(",") if options.loss is not None else ())
    streams = wants_events(request, options.format)
    form = FORMATS[0] if streams else chosen_format(request, options.format)
    state = request.app.state
    seconds = seconds_allowed(request, state.settings, options.seconds)
    workers = workers_allowed(state.settings, options.workers)
    body = await received(request, state.solves, None, SEVERAL)
    if options.starters and (streams or "opens" not in form.heeds):
        raise UnusableOption(f"The option starters {OPTIONS['starters']} (not {form.name}).")
    shown = Shown(tuple(options.class_), tuple(options.teacher), copy=options.copy_)
    read = await worked(request, state.readings, partial(work.read_planning, body, form.name, shown))
    settings = SolveSettings(seconds, options.seed, workers, alternatives=options.alternatives, loss=loss)
    job = partial(work.sequenced, body, read, settings, form.name, options.starters, streams)
    if streams:
        return streamed(request, state.solves, job)
    return await answered_by(request, state.solves, job, VARY if form.name == "json" else AS_IT_IS)
