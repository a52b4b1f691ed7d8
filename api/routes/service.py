"""What the service has to offer: forms, demo scenarios, the language's schema, kinds of problems; and whether it runs."""

from __future__ import annotations

import asyncio
from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Path, Query, Request
from pydantic import Field
from starlette.responses import JSONResponse, Response

from api.demos import demos
from api.errors import PROBLEM_TYPES, TYPES, NothingHere, ProblemType, title_of
from api.media import JSON_TYPE, SCHEMA_TYPE, XLSX_TYPE, YAML_TYPE, require_accepted, require_once
from api.openapi import problems
from api.requests import Closed, HolidayOptions
from sequencer import FORMATS, bank_holidays, blank_workbook, read_day, scenario_schema

router = APIRouter(tags=["scenarios"])
service = APIRouter(tags=["service"])


class DemoEntry(Closed):
    """A demo scenario."""

    name: str = Field(description="Its name: its text is at /v1/demos/ and this name.")
    title: str = Field(description="The scenario's title.")
    says: str = Field(description="Why it exists, in a sentence.")


class DemoList(Closed):
    """The demo scenarios."""

    demos: list[DemoEntry] = Field(description="In the order of their names.")


class FormEntry(Closed):
    """A form in which a sequence can be had."""

    name: str = Field(description="How it is asked for: `format=` and this name.")
    media_type: str = Field(description="What it is over HTTP: what `Accept` names.")
    what: str = Field(description="What it is, in a few words.")
    ending: str = Field(description="The end of its file's name, such as .ics.")
    needs_sequence: bool = Field(description="Whether there is nothing to write where there is no sequence.")


class FormList(Closed):
    """The forms in which a sequence can be had."""

    formats: list[FormEntry] = Field(description="The one that is usual first.")


class HolidayEntry(Closed):
    """A bank holiday, as an entry of a scenario's holidays has it."""

    name: str = Field(description="What it is called.")
    on: date = Field(description="Its date: Monday to Friday.")


class HolidayList(Closed):
    """Bank holidays."""

    holidays: list[HolidayEntry] = Field(description="In the order of their dates.")


class Health(Closed):
    """That the service runs, and how busy it is."""

    status: Literal["ok"] = Field(description="That it runs.")
    running: int = Field(description="Solves that run.")
    waiting: int = Field(description="Solves that wait for their turn.")


class SchemaResponse(JSONResponse):
    """A JSON Schema."""

    media_type = SCHEMA_TYPE


@router.get(
    "/v1/formats",
    summary="The forms in which a sequence can be had",
    responses={200: {"description": "The forms, by name."}, **problems(406)},
)
async def formats(request: Request) -> FormList:
    """List the forms in which a sequence can be had."""
    require_accepted(request, JSON_TYPE)
    return FormList(formats=[FormEntry.model_validate(each) for each in FORMATS])


@router.get(
    "/v1/blank-workbook",
    summary="A workbook to fill in",
    responses={200: {"description": "The workbook.", "content": {XLSX_TYPE: {}}}, **problems(406)},
    response_class=Response,
)
async def blank(request: Request) -> Response:
    """Give the workbook in which a term is set up, with an example to type over."""
    require_accepted(request, XLSX_TYPE)
    return Response(await asyncio.to_thread(blank_workbook), media_type=XLSX_TYPE)


@router.get(
    "/v1/holidays",
    summary="Bank holidays of a country or a part of it",
    responses={200: {"description": "Those from one day to another, Monday to Friday."}, **problems(400, 406)},
)
async def holidays(request: Request, options: Annotated[HolidayOptions, Query()]) -> HolidayList:
    """List the bank holidays of a term, to be offered when it is begun: none is a day off unless a scenario lists it."""
    require_accepted(request, JSON_TYPE)
    require_once(request)
    first, last = read_day(options.first, "first"), read_day(options.last, "last")
    found = await asyncio.to_thread(bank_holidays, options.country, first, last)
    return HolidayList(holidays=[HolidayEntry.model_validate(each) for each in found])


@router.get(
    "/v1/demos",
    summary="The demo scenarios",
    responses={200: {"description": "Their names and what they show."}, **problems(406)},
)
async def listed(request: Request) -> DemoList:
    """List the demo scenarios."""
    require_accepted(request, JSON_TYPE)
    return DemoList(demos=[DemoEntry.model_validate(each) for each in await asyncio.to_thread(demos)])


@router.get(
    "/v1/demos/{name}",
    summary="A demo scenario",
    responses={
        200: {
            "description": "The scenario, as `/v1/sequences` takes it.",
            "content": {YAML_TYPE: {"schema": {"$ref": "#/components/schemas/Scenario"}}},
        },
        **problems(404, 406),
    },
    response_class=Response,
)
async def demo(
    request: Request, name: Annotated[str, Path(description="The name of the demo, as `/v1/demos` lists it.")]
) -> Response:
    """Return a demo scenario with its comments."""
    require_accepted(request, YAML_TYPE)
    for each in await asyncio.to_thread(demos):
        if each.name == name:
            return Response(each.text, media_type=YAML_TYPE)
    raise NothingHere("There is no such demo scenario; /v1/demos lists those there are.")


@router.get(
    "/v1/scenario-schema",
    summary="The JSON Schema of scenarios",
    response_class=SchemaResponse,
    responses={
        200: {"description": "A JSON Schema (2020-12).", "content": {SCHEMA_TYPE: {"schema": {"type": "object"}}}},
        **problems(406),
    },
)
async def schema(request: Request) -> SchemaResponse:
    """Return the JSON Schema (2020-12) of scenarios."""
    require_accepted(request, SCHEMA_TYPE)
    return SchemaResponse(scenario_schema())


@service.get(
    PROBLEM_TYPES + "{name}",
    summary="What a type of problem document means",
    responses={200: {"description": "The type."}, **problems(404, 406)},
)
async def problem_type(
    request: Request, name: Annotated[str, Path(description="The last part of the type's address.")]
) -> ProblemType:
    """Say what a type of problem document means."""
    require_accepted(request, JSON_TYPE)
    for status, known, says in TYPES:
        if known == name:
            return ProblemType(type=PROBLEM_TYPES + known, title=title_of(status), status=status, says=says)
    raise NothingHere("There is no such type of problem document.")


@service.get("/healthz", responses={200: {"description": "It runs."}})
async def health(request: Request) -> Health:
    """Say that the service runs, and how busy it is."""
    running, waiting = request.app.state.solves.counts()
    return Health(status="ok", running=running, waiting=waiting)
