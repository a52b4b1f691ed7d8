"""A scenario in, the best sequence for it out."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import JSONResponse, Response

from api.bodies import received, until_gone, worked
from api.media import chosen_format, seconds_allowed, wants_events
from api.messages import SEVERAL, SolveOptions, answer_body
from api.openapi import EXAMPLE_SCENARIO, as_events, in_forms, problems, request_body
from api.streaming import EventStream, Tell
from sequencer import (
    FORMATS,
    Answer,
    ExplainSettings,
    Scenario,
    Shown,
    SolveSettings,
    Source,
    StopSignal,
    answer_json,
    check_shown,
    explain,
    explanation_json,
    load_scenario,
    read_loss,
    solve,
    written,
)
from sequencer.words import INFEASIBLE

router = APIRouter(tags=["scenarios"])

_VARY = {"Vary": "Accept"}

_AS_IT_IS = {
    "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'",
    "X-Content-Type-Options": "nosniff",
}
"""A browser takes a sheet for what it says it is, and runs and loads nothing from it."""


@router.post(
    "/v1/sequences",
    summary="Find the best sequence for a scenario",
    openapi_extra=request_body("Scenario", "The scenario.", EXAMPLE_SCENARIO),
    responses={
        200: as_events(in_forms("The answer; as JSON `status` says what was found, or that no sequence exists.", "Answer")),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def make_sequence(request: Request, options: Annotated[SolveOptions, Query()]) -> Response:
    """Find the best sequence for a scenario, within the time allowed, in the form that `format` names or `Accept` prefers.

    With ``Accept: text/event-stream`` every improvement of an aim comes as a ``progress`` event,
    a comment keeps a silent connection alive, and the last event is the ``answer``, or a ``problem`` document.
    When the client goes away, the search stops.
    """
    loss = read_loss(options.loss.split(",") if options.loss is not None else ())
    streams = wants_events(request, options.format)
    form = FORMATS[0] if streams else chosen_format(request, options.format)
    state = request.app.state
    body, language = await received(request, state.solves, None, SEVERAL)
    shown = Shown(tuple(options.class_), tuple(options.teacher))

    def read(_: StopSignal) -> Scenario:
        scenario = load_scenario(body, "", language)
        check_shown(scenario, form.name, shown)
        return scenario

    scenario = await worked(request, state.readings, read)
    seconds = seconds_allowed(request, state.settings, options.seconds)
    settings = SolveSettings(seconds, options.seed, state.settings.workers, alternatives=options.alternatives, loss=loss)

    def told(answer: Answer, stop: StopSignal) -> dict[str, Any]:
        why = None
        if answer.status == INFEASIBLE:
            found = explain(scenario, ExplainSettings(seconds, conflicts=1, repairs=1), stop)
            why = explanation_json(found, Source.of(body, "", language))
        return answer_body(answer_json(answer, why), seconds)

    if streams:

        def streamed(tell: Tell, stop: StopSignal) -> dict[str, Any]:
            return told(solve(scenario, settings, tell, stop), stop)

        return EventStream(state.solves, streamed, lambda: until_gone(request), state.settings.heartbeat)

    def work(stop: StopSignal) -> Response:
        answer = solve(scenario, settings, None, stop)
        if form.name == "json":
            return JSONResponse(told(answer, stop), headers=_VARY)
        return Response(written(answer, form.name, shown), media_type=form.content_type, headers={**_VARY, **_AS_IT_IS})

    response: Response = await worked(request, state.solves, work)
    return response
