"""A scenario in, the best sequence for it out."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import JSONResponse, Response

from api.bodies import received, until_gone, worked
from api.errors import UnusableOption
from api.media import AS_IT_IS, VARY, chosen_format, seconds_allowed, wants_events, workers_allowed
from api.messages import OPTIONS, SEVERAL, SolveOptions, answer_body
from api.openapi import EXAMPLE_SCENARIO, as_events, in_forms, problems, request_body
from api.streaming import EventStream, Tell
from sequencer import (
    FORMATS,
    Answer,
    ExplainSettings,
    Scenario,
    Sequence,
    Shown,
    SolveSettings,
    Source,
    StopSignal,
    answer_json,
    assign_starters,
    check_shown,
    explain,
    explanation_json,
    load_with_earlier,
    opens_in,
    read_loss,
    sequence_calendar,
    solve,
    written,
)
from sequencer.words import INFEASIBLE

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/sequences",
    summary="Find the best sequence for a scenario",
    openapi_extra=request_body("Planning", "The scenario; or beside it what was planned earlier.", EXAMPLE_SCENARIO),
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

    With ``Accept: text/event-stream`` every improvement of an aim comes as a ``progress`` event,
    a comment keeps a silent connection alive, and the last event is the ``answer``, or a ``problem`` document.
    When the client goes away, the search stops. The body is a scenario, or `scenario` with `earlier` beside it: the text of a
    calendar made before, or a sequence, which a calendar asked for brings up to date.
    """
    loss = read_loss(options.loss.split(",") if options.loss is not None else ())
    streams = wants_events(request, options.format)
    form = FORMATS[0] if streams else chosen_format(request, options.format)
    state = request.app.state
    seconds = seconds_allowed(request, state.settings, options.seconds)
    workers = workers_allowed(state.settings, options.workers)
    body, language = await received(request, state.solves, None, SEVERAL)
    if options.starters and (streams or "opens" not in form.heeds):
        raise UnusableOption(f"The option starters {OPTIONS['starters']} (not {form.name}).")

    def read(_: StopSignal) -> tuple[Scenario, Shown]:
        scenario, earlier = load_with_earlier(body, "", language, state.settings.limits)
        if isinstance(earlier, Sequence):
            earlier = sequence_calendar(scenario, earlier)
        shown = Shown(tuple(options.class_), tuple(options.teacher), earlier, options.copy_)
        check_shown(scenario, form.name, shown)
        return scenario, shown

    scenario, shown = await worked(request, state.readings, read)
    settings = SolveSettings(seconds, options.seed, workers, alternatives=options.alternatives, loss=loss)

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
            return JSONResponse(told(answer, stop), headers=VARY)
        opened = shown
        if options.starters:
            opened = replace(shown, opens=opens_in(answer, assign_starters(answer, seconds, options.seed, stop)))
        return Response(written(answer, form.name, opened), media_type=form.content_type, headers=AS_IT_IS)

    response: Response = await worked(request, state.solves, work)
    return response
