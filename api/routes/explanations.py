"""A scenario in; why it has no sequence, and what would give it one, out."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import JSONResponse

from api.bodies import received, worked
from api.media import seconds_allowed
from api.messages import ExplainOptions
from api.openapi import EXAMPLE_IMPOSSIBLE, answered, problems, reference, request_body
from sequencer import ExplainSettings, Source, StopSignal, elsewhere, elsewhere_json, explain, explanation_json, load_scenario

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/explanations",
    summary="Say why a scenario has no sequence",
    openapi_extra=request_body("Scenario", "The scenario.", EXAMPLE_IMPOSSIBLE),
    responses={
        200: answered(
            "Conflicts and repairs; `possible` says whether there is a sequence. With `lesson` where else that could lie.",
            {"anyOf": [reference("Explanation"), reference("Elsewhere")]},
        ),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def explain_scenario(request: Request, options: Annotated[ExplainOptions, Query()]) -> JSONResponse:
    """List the statements of a scenario that cannot all hold, and the cheapest changes that give it a sequence.

    With `lesson`, say instead where else that lesson could lie. When the client goes away, the search stops.
    """
    state = request.app.state
    seconds = seconds_allowed(request, state.settings, options.seconds)
    body, language = await received(request, state.solves)
    scenario = await worked(request, state.readings, lambda _: load_scenario(body, "", language, state.settings.limits))
    settings = ExplainSettings(seconds, options.conflicts, options.repairs)

    def work(stop: StopSignal) -> dict[str, Any]:
        if options.lesson is not None:
            class_id, _, ref = options.lesson.partition(":")
            return elsewhere_json(elsewhere(scenario, class_id, ref, None, settings.seconds, stop), Source.of(body, "", language))
        return explanation_json(explain(scenario, settings, stop), Source.of(body, "", language))

    return JSONResponse(await worked(request, state.solves, work))
