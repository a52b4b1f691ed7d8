"""A scenario in, the best sequence for it out."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import JSONResponse, Response

from api.bodies import read_body, until_gone
from api.media import chosen_format, require_once
from api.messages import SEVERAL, SolveOptions, answer_body
from api.openapi import EXAMPLE_SCENARIO, in_forms, problems, request_body
from sequencer import (
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
        200: in_forms("The answer; as JSON `status` says what was found, or that no sequence exists.", "Answer"),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def make_sequence(request: Request, options: Annotated[SolveOptions, Query()]) -> Response:
    """Find the best sequence for a scenario, within the time allowed, in the form that `format` names or `Accept` prefers.

    When the client goes away, the search stops.
    """
    require_once(request, SEVERAL)
    loss = read_loss(options.loss.split(",") if options.loss is not None else ())
    form = chosen_format(request, options.format)
    state = request.app.state
    state.solves.refuse_if_full()
    body, language = await read_body(request, state.settings)
    shown = Shown(tuple(options.class_), tuple(options.teacher))

    def read(_: StopSignal) -> Scenario:
        scenario = load_scenario(body, "", language)
        check_shown(scenario, form.name, shown)
        return scenario

    scenario = await state.readings.run(read, lambda: until_gone(request))
    seconds = state.settings.allowed(options.seconds)
    settings = SolveSettings(seconds, options.seed, state.settings.workers, alternatives=options.alternatives, loss=loss)

    def work(stop: StopSignal) -> Response:
        answer = solve(scenario, settings, None, stop)
        if form.name == "json":
            why = None
            if answer.status == INFEASIBLE:
                found = explain(scenario, ExplainSettings(seconds, conflicts=1, repairs=1), stop)
                why = explanation_json(found, Source.of(body, "", language))
            return JSONResponse(answer_body(answer_json(answer, why), seconds), headers=_VARY)
        return Response(written(answer, form.name, shown), media_type=form.content_type, headers={**_VARY, **_AS_IT_IS})

    response: Response = await state.solves.run(work, lambda: until_gone(request))
    return response
