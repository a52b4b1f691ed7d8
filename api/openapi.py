"""The OpenAPI 3.1 description: what the framework cannot read off routes and models, and what routes say to it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from fastapi import FastAPI
from pydantic import BaseModel
from pydantic.json_schema import GenerateJsonSchema, models_json_schema

from api.errors import ASKED_FOR, LIMITS, PROBLEM_TYPE, ProblemDocument, UnusableInputProblem, title_of
from api.example_answers import answers_of
from api.examples import bodies_of
from api.media import EVENTS_TYPE, JSON_TYPE, XLSX_TYPE, YAML_TYPE
from api.refusal_examples import refusals
from api.requests import BODIES
from api.routes.pages import BY_SECRET, OPEN_TO_ALL
from api.settings import Settings
from api.store.messages import CalendarAsked, WebhookAsked
from api.streaming import BegunEvent, ProgressEvent
from sequencer import WeekRows, calendar_schema, scenario_schema

_COMPONENTS = "#/components/schemas/"

DESCRIPTION = (
    "Turns a teacher's units, classes, timetable and calendar into a dated, provably best sequence of lessons. Bodies are "
    "JSON or YAML; whatever goes wrong is answered with a problem document (RFC 9457)."
)


class DescribedApi(FastAPI):
    """A FastAPI application whose description holds the shapes of all bodies, those that it does not read itself included."""

    def openapi(self) -> dict[str, Any]:
        """The description, made once."""
        if self.openapi_schema is None:
            document = super().openapi()
            document["components"]["schemas"] |= _shapes(bool(self.state.settings.store))
            _leave_out_the_frameworks_refusals(document)
            _add_what_surrounds_requests(document, self.state.settings)
            _add_examples(document)
            self.openapi_schema = document
        return self.openapi_schema


# -- what routes say ---------------------------------------------------------------------------------------------------


def _reference(model: type[BaseModel]) -> dict[str, str]:
    return {"$ref": _COMPONENTS + model.__name__}


def request_body(model: type[BaseModel], description: str, book: bool = False) -> dict[str, Any]:
    """What a handler that reads its own body takes, as its ``openapi_extra``: one of ``BODIES``, or a part; or a workbook too."""
    content: dict[str, Any] = {media_type: {"schema": _reference(model)} for media_type in (JSON_TYPE, YAML_TYPE)}
    content |= {XLSX_TYPE: {"schema": {"type": "string", "format": "binary"}}} if book else {}
    return {"requestBody": {"required": True, "description": description, "content": content}}


def header(name: str, description: str, example: str) -> dict[str, Any]:
    """A header that a request may have, as a parameter."""
    about = {"name": name, "in": "header", "required": False, "description": description}
    return {**about, "schema": {"type": "string"}, "example": example}


def in_forms(description: str, model: Any, media_types: Iterable[str] = ()) -> dict[str, Any]:
    """A response that may have any of some forms; the model, or one of several, is the shape of JSON."""
    texts = (each for each in media_types if each != JSON_TYPE)
    content = {each: {"schema": {"type": "string"} if each.startswith("text/") else {}} for each in texts}
    return {"description": description, "model": model, "content": content}


def as_scenario(description: str, model: type[BaseModel]) -> dict[str, Any]:
    """A response that may also come as nothing but a scenario, to be kept in a file."""
    return {"description": description, "model": model, "content": {YAML_TYPE: {"schema": {"$ref": f"{_COMPONENTS}Scenario"}}}}


def as_events(
    response: dict[str, Any], told: str = "`progress` with a ProgressEvent for every improvement", answer: str = "Answer"
) -> dict[str, Any]:
    """The same response, which may also come as a stream of events: what is told on the way, and what the answer is."""
    a = "an" if answer[0] in "AEIOU" else "a"
    says = (
        f"Server-sent events: `begun` with a BegunEvent, {told}, comments in between, and at the end one `answer` with {a} "
        f"{answer}, or one `problem` with a ProblemDocument."
    )
    events = {"schema": {"type": "string", "description": says}}
    return {**response, "content": {**response["content"], EVENTS_TYPE: events}}


def problems(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """The problem documents that a request may be answered with."""
    responses: dict[int | str, dict[str, Any]] = {}
    for status in statuses:
        schema = _reference(UnusableInputProblem if status == 422 else ProblemDocument)
        responses[status] = {"description": title_of(status), "content": {PROBLEM_TYPE: {"schema": schema}}}
        if status in (429, 503):
            again = {"description": "Seconds after which to try again.", "schema": {"type": "integer"}}
            responses[status]["headers"] = {"Retry-After": again}
    return responses


READ = problems(400, 406, 408, 413, 415, 422, 500, 503)
"""What may become of any request with a body."""


# -- what the framework does not say -----------------------------------------------------------------------------------


class _Untitled(GenerateJsonSchema):
    """Leaves out the titles that only repeat a key's name."""

    def field_title_should_be_set(self, schema: Any) -> bool:
        return False


def _shapes(stored: bool) -> dict[str, Any]:
    """The shapes of bodies, problem documents and events, which no route reads or answers by a model."""
    kept = (WeekRows, CalendarAsked, WebhookAsked) if stored else ()
    models = (*BODIES, *kept, ProblemDocument, UnusableInputProblem, BegunEvent, ProgressEvent)
    _, written = models_json_schema(
        [(model, "validation") for model in models], ref_template=_COMPONENTS + "{model}", schema_generator=_Untitled
    )
    shapes: dict[str, Any] = _as_generators_read_it(written["$defs"])
    for name, schema in (("Scenario", scenario_schema()), ("NewCalendar", calendar_schema())):
        shapes[name] |= {key: schema[key] for key in ("title", "description")}
    return shapes


def _as_generators_read_it(schema: Any) -> Any:
    """The same, with a word within a choice said as most generators of clients understand it."""
    if isinstance(schema, list):
        return [_as_generators_read_it(inner) for inner in schema]
    if not isinstance(schema, dict):
        return schema
    said = {key: _as_generators_read_it(inner) for key, inner in schema.items()}
    for each in said["anyOf"] if isinstance(said.get("anyOf"), list) else ():
        if "const" in each:
            each["enum"] = [each.pop("const")]
    return said


def _leave_out_the_frameworks_refusals(document: dict[str, Any]) -> None:
    """The framework states one wherever it reads an option; ours never leave it to the framework to refuse."""
    for operations in document["paths"].values():
        for operation in operations.values():
            if JSON_TYPE in operation["responses"].get("422", {}).get("content", {}):
                del operation["responses"]["422"]
    for name in ("HTTPValidationError", "ValidationError"):
        document["components"]["schemas"].pop(name, None)


def _add_what_surrounds_requests(document: dict[str, Any], settings: Settings) -> None:
    """Keys, the time that a client is ready to wait, the most of what this server gives, and what every answer says."""
    most = {"seconds": settings.most_seconds, "workers": max(settings.workers, settings.most_workers)}
    document["components"]["securitySchemes"] = {
        "key": {"type": "http", "scheme": "bearer", "description": "Only where the server asks for keys."}
    }
    waits = "`wait=` and seconds (RFC 7240): the time allowed unless `seconds` says it, as the server allows."
    wait = header("Prefer", waits, "wait=10")
    applied = {"description": "The wait that was allowed, where one was preferred.", "schema": {"type": "string"}}
    number = {"description": "Names the request; the server's log names it so too.", "schema": {"type": "string"}}
    asked_for = {"description": "Bearer: the kind of key that is asked for.", "schema": {"type": "string"}}
    for path, operations in document["paths"].items():
        for operation in operations.values():
            options = operation.get("parameters", [])
            for option in options:
                if option["name"] in most:
                    option["schema"]["anyOf"][0]["maximum"] = most[option["name"]]
            if any(each["name"] == "seconds" for each in options):
                options.append(wait)
                operation["responses"]["200"]["headers"] = {"Preference-Applied": applied}
            surrounding = problems(400, 421, 431)
            if path not in OPEN_TO_ALL and not path.startswith(BY_SECRET):
                operation["security"] = [{}, {"key": []}]
                # A key that is kept is counted, and looked up where it may not be found.
                surrounding |= problems(401, *((429, 503) if settings.store else ()))
                surrounding[401]["headers"] = {"WWW-Authenticate": asked_for}
            operation["responses"] = {str(status): said for status, said in surrounding.items()} | operation["responses"]
            for response in operation["responses"].values():
                response["headers"] = {**response.get("headers", {}), "X-Request-Id": number}


def _add_examples(document: dict[str, Any]) -> None:
    """Every body and every answer, and a problem document of every type that an address can answer with."""
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            takes = operation.get("requestBody", {}).get("content", {})
            for media_type in takes.keys() & {JSON_TYPE, YAML_TYPE}:
                takes[media_type]["example"] = bodies_of(path)
            options = {option["name"] for option in operation.get("parameters", [])}
            limited = tuple(
                limit
                for limit in LIMITS
                if (ASKED_FOR[limit] in options if limit in ASKED_FOR else takes or limit in ("reading_seconds", "memory"))
            )
            for status, response in operation["responses"].items():
                for media_type, content in response.get("content", {}).items():
                    refused = media_type == PROBLEM_TYPE
                    found = refusals(int(status), limited) if refused else answers_of(path, media_type, method)
                    if len(found) == 1:
                        content["example"] = next(iter(found.values()))
                    elif found:
                        content["examples"] = {name: {"value": value} for name, value in found.items()}
