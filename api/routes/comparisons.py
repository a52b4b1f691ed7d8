"""A scenario with what-ifs in, each of them beside it out."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import JSONResponse

from api.bodies import received, worked
from api.comparison_messages import CompareOptions
from api.media import seconds_allowed, workers_allowed
from api.messages import answer_body
from api.openapi import EXAMPLE_SCENARIO, answered, example_of, problems, reference, request_body
from sequencer import SolveSettings, StopSignal, compare, comparison_json, load_comparison

router = APIRouter(tags=["scenarios"])

EXAMPLE_WHAT_IFS = """\
- name: snow
  changes:
    - change: add closure
      closure: {name: Snow, on: 2026-11-03}
"""
EXAMPLE = example_of(scenario=EXAMPLE_SCENARIO, what_ifs=EXAMPLE_WHAT_IFS)


@router.post(
    "/v1/comparisons",
    summary="Put the what-ifs of a scenario beside it",
    openapi_extra=request_body("Comparing", "A scenario with its what-ifs in it, or beside it.", EXAMPLE),
    responses={
        200: answered("The base and each what-if, possible or not.", reference("Compared")),
        **problems(400, 406, 408, 413, 415, 422, 500, 503),
    },
)
async def compare_what_ifs(request: Request, options: Annotated[CompareOptions, Query()]) -> JSONResponse:
    """Solve the scenario and each of its what-ifs; the time allowed is shared out evenly among them.

    When the client goes away, the search stops.
    """
    state = request.app.state
    seconds = seconds_allowed(request, state.settings, options.seconds)
    workers = workers_allowed(state.settings, options.workers)
    body, language = await received(request, state.solves)
    scenario = await worked(request, state.readings, lambda _: load_comparison(body, "", language, state.settings.limits))
    seconds = seconds / (len(scenario.what_ifs) + 1)
    settings = SolveSettings(seconds, options.seed, workers)

    def work(stop: StopSignal) -> dict[str, Any]:
        found = comparison_json(compare(scenario, settings, options.close, stop))
        told = [answer_body(future, seconds) for future in found["what_ifs"]]
        return {**found, "base": answer_body(found["base"], seconds), "what_ifs": told}

    return JSONResponse(await worked(request, state.solves, work))
