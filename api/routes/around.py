"""A scenario in; what surrounds its best sequence out: preparation, starters, coverage."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from starlette.responses import JSONResponse

from api.around_messages import AroundOptions, PreparationOptions
from api.bodies import received, worked
from api.media import seconds_allowed
from api.openapi import EXAMPLE_SCENARIO, answered, problems, reference, request_body
from sequencer import (
    Answer,
    SolveSettings,
    StopSignal,
    assign_starters,
    coverage_json,
    load_scenario,
    preparation_json,
    read_day,
    solve,
    starters_json,
)

router = APIRouter(tags=["around"])

_BODY = request_body("Scenario", "The scenario.", EXAMPLE_SCENARIO)
_PROBLEMS = problems(400, 406, 408, 413, 415, 422, 500, 503)


@router.post(
    "/v1/preparations",
    summary="What to prepare, book, upload and mark by when",
    openapi_extra=_BODY,
    responses={200: answered("Tasks, and minutes per school week.", reference("Preparation")), **_PROBLEMS},
)
async def prepare(request: Request, options: Annotated[PreparationOptions, Query()]) -> JSONResponse:
    """Find the best sequence for a scenario, and say what its teachers must have done by when."""
    asked = read_day(options.on, "on") if options.on is not None else None
    return await _about(request, options, lambda answer, _: preparation_json(answer, asked, options.teacher))


@router.post(
    "/v1/coverages",
    summary="Which specification points are taught, practised, met again and assessed",
    openapi_extra=_BODY,
    responses={200: answered("Every point for every class, with dates.", reference("Coverage")), **_PROBLEMS},
)
async def cover(request: Request, options: Annotated[AroundOptions, Query()]) -> JSONResponse:
    """Find the best sequence for a scenario, and say which points of its specifications it covers when."""
    return await _about(request, options, lambda answer, _: coverage_json(answer))


@router.post(
    "/v1/starters",
    summary="Which earlier topics each lesson opens with",
    openapi_extra=_BODY,
    responses={
        200: answered("Every opening of every class, and what is not met when due.", reference("StartersAnswer")),
        **_PROBLEMS,
    },
)
async def open_lessons(request: Request, options: Annotated[AroundOptions, Query()]) -> JSONResponse:
    """Find the best sequence for a scenario, and assign the earlier topics that its lessons open with, in as much time again."""

    def about(answer: Answer, stop: StopSignal) -> dict[str, Any]:
        seconds = seconds_allowed(request, request.app.state.settings, options.seconds)
        return starters_json(answer, assign_starters(answer, seconds, options.seed, stop))

    return await _about(request, options, about)


async def _about(request: Request, options: AroundOptions, about: Callable[[Answer, StopSignal], dict[str, Any]]) -> JSONResponse:
    """Solve a scenario as ``/v1/sequences`` does, and answer with something about its sequence."""
    state = request.app.state
    body, language = await received(request, state.solves)
    scenario = await worked(request, state.readings, lambda _: load_scenario(body, "", language))
    settings = SolveSettings(seconds_allowed(request, state.settings, options.seconds), options.seed, state.settings.workers)

    def work(stop: StopSignal) -> dict[str, Any]:
        return about(solve(scenario, settings, None, stop), stop)

    return JSONResponse(await worked(request, state.solves, work))
