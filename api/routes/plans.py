"""Sequences: the best one for a scenario, what surrounds it, one made before as it is, one made again."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Annotated

from fastapi import APIRouter, Path, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received, streamed, worked
from api.errors import NothingHere, UnusableOption
from api.media import (
    AS_IT_IS,
    EVENTS_TYPE,
    FORM_TYPES,
    SEQUENCE_FORMS,
    VARY,
    chosen_form,
    chosen_of,
    require_once,
    search_allowed,
    wants_events,
)
from api.openapi import READ, as_events, in_forms, problems, request_body
from api.requests import (
    OPTIONS,
    REPLAN_FORMS,
    SAID_FORMS,
    SEVERAL,
    AroundOptions,
    AssessmentsOptions,
    Check,
    CoverageOptions,
    OutlineOptions,
    Outlining,
    Planning,
    PreparationOptions,
    Replanning,
    ReplanOptions,
    ShowOptions,
    SolveOptions,
)
from api.streaming import ADDRESS
from sequencer import (
    AROUND_FORMS,
    FORMATS,
    Asked,
    Scenario,
    answers,
    around_named,
    format_named,
    load_replan,
    read_day,
    read_loss,
)
from sequencer.workers.serving import Caller

router = APIRouter(tags=["scenarios"])
around = APIRouter(tags=["around"])

_SCENARIO = request_body(Scenario, "The scenario.")


@router.post(
    "/v1/sequences",
    summary="Find the best sequence for a scenario",
    openapi_extra=request_body(Planning, "The scenario; or beside it what was planned earlier."),
    responses={
        200: as_events(
            in_forms(
                "The answer; as JSON `status` says what was found, or that no sequence exists.",
                answers.AnswerJson,
                SEQUENCE_FORMS.values(),
            )
        ),
        **READ,
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
    form = FORMATS[0] if streams else format_named(chosen_form(request, options.format, SEQUENCE_FORMS, (EVENTS_TYPE,)))
    state = request.app.state
    settings = search_allowed(request, options, alternatives=options.alternatives, loss=loss)
    body = await received(request, state.solves, SEVERAL)
    if options.starters and (streams or "opens" not in form.heeds):
        raise UnusableOption(f"The option starters {OPTIONS['starters']} (not {form.name}).")
    shown = options.shown()
    read = await worked(request, state.readings, partial(work.read_planning, body, form.name, shown))
    job = partial(work.sequenced, body, read, settings, form.name, options.starters, streams)
    if streams:
        return streamed(request, state.solves, job)
    return await answered_by(request, state.solves, job, VARY if form.name == "json" else AS_IT_IS)


@router.delete(
    ADDRESS + "{name}",
    summary="Stop a streamed search",
    status_code=204,
    responses={204: {"description": "It was told to stop."}, **problems(404)},
    response_class=Response,
)
async def stop(request: Request, name: Annotated[str, Path(description="The name that the event `begun` told.")]) -> Response:
    """Stop a search whose answer is streamed: its stream goes on to the answer with the best that was found.

    The address is the one that the event `begun` told. Where there is none of that name (any more, or on this server where
    several share the work), nothing happens; a client can always leave instead.
    """
    if not request.app.state.searches.stop(name):
        raise NothingHere("There is no such search: it is over, or was begun elsewhere.")
    return Response(status_code=204)


@router.post(
    "/v1/plans",
    summary="Show a plan made before as it is",
    openapi_extra=request_body(Check, "A scenario, and a sequence: an answer, or its `lessons`."),
    responses={200: in_forms("The plan; as JSON its aims have no bounds.", answers.AnswerJson, SEQUENCE_FORMS.values()), **READ},
)
async def show_plan(request: Request, options: Annotated[ShowOptions, Query()]) -> Response:
    """Show a plan as it is, in the form that `format` names or `Accept` prefers; nothing better is looked for.

    So a sheet, a calendar and a table can be had of one and the same sequence. The referee judges it: a plan that breaks a
    rule is refused.
    """
    form = format_named(chosen_form(request, options.format, SEQUENCE_FORMS))
    readings = request.app.state.readings
    shown = options.shown()
    body = await received(request, readings, SEVERAL)
    job = partial(work.shown_as_planned, body, form.name, shown)
    return await answered_by(request, readings, job, VARY if form.name == "json" else AS_IT_IS)


@router.post(
    "/v1/replans",
    summary="Make a plan again, moving as little as can be",
    openapi_extra=request_body(Replanning, "The scenario as it is now, and the sequence planned before."),
    responses={
        200: in_forms(
            "As JSON the new sequence and what moved; otherwise the change notice. `format` names further forms.",
            answers.ReplannedJson | answers.TradeOffJson | answers.ChangeNoticeJson,
            dict.fromkeys(FORM_TYPES[form] for form in REPLAN_FORMS),
        ),
        **READ,
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
    settings = search_allowed(request, options)
    body = await received(request, state.solves)
    read = await worked(request, state.readings, partial(work.read, load_replan, body))
    job = (
        partial(work.traded_off, read, settings, form)
        if options.trade_off
        else partial(work.planned_again, body, read, settings, form, options.most_moved)
    )
    return await answered_by(request, state.solves, job, AS_IT_IS)


@around.post(
    "/v1/preparations",
    summary="What to prepare, book, upload and mark by when",
    openapi_extra=_SCENARIO,
    responses={200: in_forms("Tasks, and minutes per school week.", answers.PreparationJson, AROUND_FORMS.values()), **READ},
)
async def prepare(request: Request, options: Annotated[PreparationOptions, Query()]) -> Response:
    """Find the best sequence for a scenario, and say what its teachers must have done by when."""
    on = read_day(options.on, "on") if options.on is not None else None
    return await _about(request, options, "preparation", Asked(on, options.teacher))


@around.post(
    "/v1/coverages",
    summary="Which specification points are taught, practised, met again and assessed",
    openapi_extra=_SCENARIO,
    responses={200: in_forms("Every point for every class, with dates.", answers.CoverageJson, AROUND_FORMS.values()), **READ},
)
async def cover(request: Request, options: Annotated[CoverageOptions, Query()]) -> Response:
    """Find the best sequence for a scenario, and say which points of its specifications it covers when."""
    return await _about(request, options, "coverage", Asked(), options.starters)


@around.post(
    "/v1/starters",
    summary="Which earlier topics each lesson opens with",
    openapi_extra=_SCENARIO,
    responses={
        200: in_forms(
            "Every opening of every class, and what is not met when due.", answers.StartersAnswerJson, AROUND_FORMS.values()
        ),
        **READ,
    },
)
async def open_lessons(request: Request, options: Annotated[AroundOptions, Query()]) -> Response:
    """Find the best sequence for a scenario, and assign the earlier topics that its lessons open with."""
    return await _about(request, options, "starters", Asked(), starters=True)


@around.post(
    "/v1/assessments",
    summary="The assessments of each year group",
    openapi_extra=_SCENARIO,
    responses={
        200: in_forms(
            "Every assessment of each cohort, or class, and what its weeks hold.",
            answers.AssessmentsJson,
            around_named("assessments").forms.values(),
        ),
        **READ,
    },
)
async def assess(request: Request, options: Annotated[AssessmentsOptions, Query()]) -> Response:
    """Find the best sequence for a scenario, and list the assessments of each year group, those fixed elsewhere among them."""
    return await _about(request, options, "assessments", Asked())


@around.post(
    "/v1/outlines",
    summary="What is done in each lesson, minute by minute",
    openapi_extra=request_body(
        Outlining, "The scenario; or beside it the sequence whose lessons are outlined, and outlines made before or by hand."
    ),
    responses={200: in_forms("An outline for every lesson that has parts.", answers.OutlinesJson, AROUND_FORMS.values()), **READ},
)
async def outline(request: Request, options: Annotated[OutlineOptions, Query()]) -> Response:
    """Find the best outline of each lesson that has parts, in the best sequence or in one as it is; or say why none.

    Outlines made by hand are judged instead, and put beside the best; or completed.
    """
    on = read_day(options.on, "on") if options.on is not None else None
    asked = Asked(on, lesson=options.lesson, minutes=options.minutes, copy=options.copy_, complete=options.complete)
    return await _about(request, options, "outlines", asked, options.starters, work.read_outlining)


async def _about(
    request: Request,
    options: AroundOptions,
    name: str,
    asked: Asked,
    starters: bool = False,
    reading: Callable[[work.Body, Caller], work.Read] = work.read_scenario,
) -> Response:
    """Solve a scenario as ``/v1/sequences`` does, and answer with something about its sequence, in the form that is accepted."""
    form = chosen_form(request, options.format, around_named(name).forms)
    state = request.app.state
    settings = search_allowed(request, options)
    body = await received(request, state.solves)
    read = await worked(request, state.readings, partial(reading, body))
    job = partial(work.surrounded, read, settings, name, form, asked, starters)
    return await answered_by(request, state.solves, job, AS_IT_IS)
