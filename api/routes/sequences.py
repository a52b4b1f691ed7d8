"""A scenario in, the best sequence for it out."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import JSONResponse

from api.bodies import read_body, until_gone
from api.errors import UnusableOption
from api.media import JSON_TYPE, require_accepted
from api.messages import OPTIONS, SolveOptions, answer_body
from api.openapi import EXAMPLE_SCENARIO, answered, problems, reference, request_body
from sequencer import (
    ExplainSettings,
    SolveSettings,
    Source,
    StopSignal,
    answer_json,
    explain,
    explanation_json,
    load_scenario,
    read_loss,
    solve,
)
from sequencer.words import INFEASIBLE

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/sequences",
    summary="Find the best sequence for a scenario",
    openapi_extra=request_body("Scenario", "The scenario.", EXAMPLE_SCENARIO),
    responses={
        200: answered("The answer; `status` says what was found, or that no sequence exists.", reference("Answer")),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def make_sequence(request: Request, options: Annotated[SolveOptions, Query()]) -> JSONResponse:
    """Find the best sequence for a scenario, within the time allowed.

    When the client goes away, the search stops.
    """
    for name in OPTIONS:
        if len(request.query_params.getlist(name)) > 1:
            raise UnusableOption(f"The option {name} {OPTIONS[name]}.")
    loss = read_loss(options.loss.split(",") if options.loss is not None else ())
    require_accepted(request, JSON_TYPE)
    state = request.app.state
    state.solves.refuse_if_full()
    body, language = await read_body(request, state.settings)
    scenario = await state.readings.run(lambda _: load_scenario(body, "", language), lambda: until_gone(request))

    seconds = state.settings.allowed(options.seconds)
    settings = SolveSettings(seconds, options.seed, state.settings.workers, alternatives=options.alternatives, loss=loss)

    def work(stop: StopSignal) -> dict[str, Any]:
        answer = solve(scenario, settings, None, stop)
        if answer.status != INFEASIBLE:
            return answer_json(answer)
        why = explain(scenario, ExplainSettings(seconds, conflicts=1, repairs=1), stop)
        return answer_json(answer, explanation_json(why, Source.of(body, "", language)))

    answer = await state.solves.run(work, lambda: until_gone(request))
    return JSONResponse(answer_body(answer, seconds))
