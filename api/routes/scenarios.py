"""Scenarios: why one has no sequence, its what-ifs, a sequence judged by it, and what is made of it without a search."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request
from starlette.responses import Response

from api import work
from api.bodies import answered_by, received, streamed, worked
from api.media import (
    AS_IT_IS,
    EVENTS_TYPE,
    FORM_TYPES,
    JSON_TYPE,
    chosen_of,
    require_accepted,
    require_once,
    search_allowed,
    seconds_allowed,
    wants_events,
)
from api.openapi import READ, as_events, as_scenario, in_forms, request_body
from api.requests import (
    SAID_FORMS,
    Check,
    CheckOptions,
    CompareOptions,
    Comparing,
    Explaining,
    ExplainOptions,
    Reading,
    Redating,
    Rolling,
)
from sequencer import ExplainSettings, PastedLists, answers, load_explaining
from sequencer.workers.serving import Caller

router = APIRouter(tags=["scenarios"])


@router.post(
    "/v1/explanations",
    summary="Say why a scenario has no sequence",
    openapi_extra=request_body(Explaining, "The scenario; or beside it the sequence in which a lesson lies."),
    responses={
        200: in_forms(
            "Conflicts and repairs; `possible` says whether there is a sequence. With `lesson` where else that could lie.",
            answers.ExplanationJson | answers.ElsewhereJson,
            ["text/plain"],
        ),
        **READ,
    },
)
async def explain_scenario(request: Request, options: Annotated[ExplainOptions, Query()]) -> Response:
    """List the statements of a scenario that cannot all hold, and changes that give it a sequence, the cheapest that were found.

    With `lesson`, say instead where else that lesson could lie, in the sequence beside the scenario or else in the best one. When
    the client goes away, the search stops.
    """
    state = request.app.state
    seconds = seconds_allowed(request, options.seconds)
    form = chosen_of(request, options.format, SAID_FORMS)
    body = await received(request, state.solves)
    read = await worked(request, state.readings, partial(work.read, load_explaining, body))
    settings = ExplainSettings(seconds, options.conflicts, options.repairs)
    job = partial(work.explained, body, read, settings, form, options.lesson)
    return await answered_by(request, state.solves, job, AS_IT_IS)


@router.post(
    "/v1/comparisons",
    summary="Put the what-ifs of a scenario beside it",
    openapi_extra=request_body(Comparing, "A scenario with its what-ifs in it, or beside it; and openings asked for."),
    responses={
        200: as_events(
            in_forms("The base and each what-if, possible or not.", answers.ComparedJson, ["text/plain"]),
            "`future` with a ComparedFuture for the base and then for each what-if as it is ready, `opening` with a "
            "SharedOpening for each that is asked for",
            "Compared",
        ),
        **READ,
    },
)
async def compare_what_ifs(request: Request, options: Annotated[CompareOptions, Query()]) -> Response:
    """Solve the scenario and each of its what-ifs; the time allowed is shared out evenly among them and openings asked for.

    Beside the scenario, ``opening_until`` asks for one and the same beginning until a date, at which it is known which of them
    comes: the best for the worst case, or by ``weights``. A list of dates says what an earlier decision would be worth. With
    ``Accept: text/event-stream`` the base, each what-if and each opening come as they are ready, and last the whole ``answer``,
    or a ``problem`` document; ``begun`` says where the search can be told to stop. When the client goes away, the search stops.
    """
    state = request.app.state
    settings = search_allowed(request, options)
    streams = wants_events(request, options.format, [FORM_TYPES[form] for form in SAID_FORMS])
    form = "json" if streams else chosen_of(request, options.format, SAID_FORMS, (EVENTS_TYPE,))
    body = await received(request, state.solves)
    read = await worked(request, state.readings, partial(work.read_comparison, body, options.close))
    job = partial(work.compared, read, settings, form, options.close, streams)
    if streams:
        return streamed(request, state.solves, job)
    return await answered_by(request, state.solves, job, AS_IT_IS)


@router.post(
    "/v1/checks",
    summary="Let the referee judge a sequence",
    openapi_extra=request_body(Check, "A scenario, and a sequence: an answer, or its `lessons`."),
    responses={
        200: in_forms("The verdict; as JSON `sound` says whether every rule holds.", answers.CheckedJson, ["text/plain"]),
        **READ,
    },
)
async def check_sequence(request: Request, options: Annotated[CheckOptions, Query()]) -> Response:
    """Judge a sequence against a scenario: every broken rule, and every aim's value.

    On request also the aims beside the best, and whether a part can be completed. When the client goes away, the search stops.
    """
    state = request.app.state
    pool = state.solves if options.best or options.complete else state.readings
    settings = search_allowed(request, options)
    form = chosen_of(request, options.format, SAID_FORMS if pool is state.readings else ("json",))
    body = await received(request, pool)
    best = settings if options.best else None
    job = partial(work.checked, body, form, best, settings.seconds if options.complete else None)
    return await answered_by(request, pool, job, AS_IT_IS)


async def _made_of(request: Request, make: Callable[[work.Body, str, Caller], work.Written], book: bool = False) -> Response:
    """The scenario that is made of a body's, with what is said of it, or the scenario alone as YAML."""
    readings = request.app.state.readings
    require_once(request)
    form = chosen_of(request, None, ("json", "yaml"))
    body = await received(request, readings, book=book)
    return await answered_by(request, readings, partial(make, body, form), AS_IT_IS)


@router.post(
    "/v1/redatings",
    summary="Put last year's scenario on this year's calendar",
    openapi_extra=request_body(Redating, "Last year's scenario, and this year's calendar."),
    responses={200: as_scenario("The new scenario, what no longer fits, and the dates that moved.", answers.RedatedJson), **READ},
)
async def redate_scenario(request: Request) -> Response:
    """Put a scenario on a new calendar: every date moves to the same weekday of the school week with the same number.

    What has no place there is left out and listed, never moved elsewhere.
    """
    return await _made_of(request, work.redated)


@router.post(
    "/v1/next-terms",
    summary="Begin the next term's scenario",
    openapi_extra=request_body(Rolling, "This term's scenario and sequence, and the next term's dates."),
    responses={
        200: as_scenario("The new scenario, what was carried over, and what is to be filled in.", answers.RolledJson),
        **READ,
    },
)
async def begin_next_term(request: Request) -> Response:
    """Begin the next term's scenario from this term's and its sequence.

    What is left to be met again, practised, marked or taught is carried over; nothing new is invented.
    """
    return await _made_of(request, work.next_begun)


@router.post(
    "/v1/scenarios",
    summary="Read a scenario",
    openapi_extra=request_body(Reading, "The scenario, perhaps with changes beside it; or a workbook that means one.", book=True),
    responses={200: as_scenario("The scenario, and how much there is to place.", answers.ReadScenarioJson), **READ},
)
async def read(request: Request) -> Response:
    """Read a scenario, or a workbook that means one, and say what it is about; as YAML nothing but the scenario, for a file.

    Where ``changes`` stand beside the scenario, it is the one that they make of it. Nothing is kept, and nothing is looked for.
    """
    return await _made_of(request, partial(work.told_scenario, request.app.state.settings.most_seconds), book=True)


@router.post(
    "/v1/lesson-lists",
    summary="Understand lessons that are written one to a line",
    openapi_extra=request_body(PastedLists, "A list of lessons for each class."),
    responses={200: {"description": "How each line is understood.", "model": answers.PastedJson}, **READ},
)
async def understand(request: Request) -> Response:
    """Say how lessons are understood that stand one to a line, with marks in brackets behind them, and make units of them.

    `Meanders (hard)`, `A sketch (practice)`, `Rivers test (test, double)`; a line that ends with a colon names the unit beneath.
    """
    readings = request.app.state.readings
    require_once(request)
    require_accepted(request, JSON_TYPE)
    body = await received(request, readings)
    return await answered_by(request, readings, partial(work.understood_lessons, body), AS_IT_IS)
