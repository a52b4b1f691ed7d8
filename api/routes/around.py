"""A scenario in; what surrounds its best sequence out: preparation, starters, coverage."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.around_messages import AroundOptions, CoverageOptions, PreparationOptions
from api.bodies import answered_by, received, worked
from api.media import AS_IT_IS, chosen_form, seconds_allowed, workers_allowed
from api.openapi import in_forms, problems, request_body
from sequencer import AROUND_FORMS, Asked, SolveSettings, read_day

router = APIRouter(tags=["around"])

_BODY = request_body("Scenario", "The scenario.")
_FORMS = tuple(AROUND_FORMS.values())
_PROBLEMS = problems(400, 406, 408, 413, 415, 422, 500, 503)


@router.post(
    "/v1/preparations",
    summary="What to prepare, book, upload and mark by when",
    openapi_extra=_BODY,
    responses={200: in_forms("Tasks, and minutes per school week.", "Preparation", _FORMS), **_PROBLEMS},
)
async def prepare(request: Request, options: Annotated[PreparationOptions, Query()]) -> Response:
    """Find the best sequence for a scenario, and say what its teachers must have done by when."""
    on = read_day(options.on, "on") if options.on is not None else None
    return await _about(request, options, "preparation", Asked(on, options.teacher))


@router.post(
    "/v1/coverages",
    summary="Which specification points are taught, practised, met again and assessed",
    openapi_extra=_BODY,
    responses={200: in_forms("Every point for every class, with dates.", "Coverage", _FORMS), **_PROBLEMS},
)
async def cover(request: Request, options: Annotated[CoverageOptions, Query()]) -> Response:
    """Find the best sequence for a scenario, and say which points of its specifications it covers when."""
    return await _about(request, options, "coverage", Asked(), options.starters)


@router.post(
    "/v1/starters",
    summary="Which earlier topics each lesson opens with",
    openapi_extra=_BODY,
    responses={
        200: in_forms("Every opening of every class, and what is not met when due.", "StartersAnswer", _FORMS),
        **_PROBLEMS,
    },
)
async def open_lessons(request: Request, options: Annotated[AroundOptions, Query()]) -> Response:
    """Find the best sequence for a scenario, and assign the earlier topics that its lessons open with."""
    return await _about(request, options, "starters", Asked(), starters=True)


async def _about(request: Request, options: AroundOptions, name: str, asked: Asked, starters: bool = False) -> Response:
    """Solve a scenario as ``/v1/sequences`` does, and answer with something about its sequence, in the form that is accepted."""
    form = chosen_form(request, options.format, list(AROUND_FORMS.items()))
    state = request.app.state
    seconds = seconds_allowed(request, state.settings, options.seconds)
    workers = workers_allowed(state.settings, options.workers)
    body = await received(request, state.solves, None)
    read = await worked(request, state.readings, partial(work.read_scenario, body))
    settings = SolveSettings(seconds, options.seed, workers)
    job = partial(work.surrounded, read, settings, name, form, asked, starters)
    return await answered_by(request, state.solves, job, AS_IT_IS)
