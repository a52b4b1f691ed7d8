"""The OpenAPI 3.1 description: bodies, media types and problem documents that the framework cannot infer."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from fastapi import FastAPI
from pydantic import BaseModel
from pydantic.json_schema import models_json_schema

from api.around_messages import AROUND_MODELS
from api.check_messages import CHECK_MODELS
from api.comparison_messages import COMPARISON_MODELS
from api.errors import ASKED_FOR, LIMITS, PROBLEM_TYPE, title_of
from api.examples import answers_of, bodies_of, refusals
from api.front_messages import FRONT_MODELS
from api.front_parts import PARTS
from api.media import EVENTS_TYPE, JSON_TYPE, YAML_TYPE
from api.messages import (
    Answer,
    BegunEvent,
    Explanation,
    Health,
    ProblemDocument,
    ProblemType,
    ProgressEvent,
    Redated,
    Rolled,
    UnusableInputProblem,
    Verdict,
)
from api.replan_messages import REPLAN_MODELS
from api.settings import Settings
from sequencer import GUIDE, MOST_DATES, MOST_WEIGHT, GivenSequence, calendar_schema, scenario_schema

_COMPONENTS = "#/components/schemas/"

DESCRIPTION = (
    "Turns a teacher's units, classes, timetable and calendar into a dated, provably best sequence of lessons. Bodies are "
    "JSON or YAML; whatever goes wrong is answered with a problem document (RFC 9457). Nothing is stored."
)

_DOCS = ("/docs", "/docs/start.js", "/docs/swagger-ui.css", "/docs/swagger-ui-bundle.js")
_GUIDE = ("/guide", *(f"/guide/{topic.name}" for topic in GUIDE))

OPEN_TO_ALL = ("/healthz", *_DOCS, *_GUIDE, "/", *PARTS)
"""Addresses that ask for no key: whoever watches over the service need not hold one, and a browser brings none to a page."""


class DescribedApi(FastAPI):
    """A FastAPI application whose description holds the shapes of all bodies, those that it does not read itself included."""

    def openapi(self) -> dict[str, Any]:
        """The description, made once."""
        if self.openapi_schema is None:
            document = super().openapi()
            document.setdefault("components", {})["schemas"] = _schemas()
            _leave_out_the_frameworks_refusals(document)
            _add_what_surrounds_requests(document, self.state.settings)
            _add_examples(document)
            self.openapi_schema = document
        return self.openapi_schema


def _leave_out_the_frameworks_refusals(document: dict[str, Any]) -> None:
    """The framework states one wherever it reads an option; ours never leave it to the framework to refuse."""
    for operations in document["paths"].values():
        for operation in operations.values():
            if JSON_TYPE in operation["responses"].get("422", {}).get("content", {}):
                del operation["responses"]["422"]


def _add_what_surrounds_requests(document: dict[str, Any], settings: Settings) -> None:
    """Keys, the time that a client is ready to wait, the most of what this server gives, and what every answer says."""
    most = {"seconds": settings.most_seconds, "workers": max(settings.workers, settings.most_workers)}
    document["components"]["securitySchemes"] = {
        "key": {"type": "http", "scheme": "bearer", "description": "Only where the server asks for keys."}
    }
    wait = {
        "name": "Prefer",
        "in": "header",
        "required": False,
        "description": "`wait=` and seconds (RFC 7240): the time allowed unless `seconds` says it, as the server allows.",
        "schema": {"type": "string"},
        "example": "wait=10",
    }
    applied = {"description": "The wait that was allowed, where one was preferred.", "schema": {"type": "string"}}
    number = {"description": "Names the request; the server's log names it so too.", "schema": {"type": "string"}}
    for path, operations in document["paths"].items():
        for operation in operations.values():
            for option in operation.get("parameters", []):
                if option["name"] in most:
                    option["schema"]["anyOf"][0]["maximum"] = most[option["name"]]
            if any(each["name"] == "seconds" for each in operation.get("parameters", [])):
                operation["parameters"].append(wait)
                operation["responses"]["200"]["headers"] = {"Preference-Applied": applied}
            surrounding = problems(400, 421, 431)
            if path not in OPEN_TO_ALL:
                operation["security"] = [{}, {"key": []}]
                surrounding |= problems(401)
            operation["responses"] = {str(status): said for status, said in surrounding.items()} | operation["responses"]
            if path not in OPEN_TO_ALL:
                operation["responses"]["401"]["headers"] = {"WWW-Authenticate": _ASKED_FOR}
            for response in operation["responses"].values():
                response["headers"] = {**response.get("headers", {}), "X-Request-Id": number}


def _add_examples(document: dict[str, Any]) -> None:
    """Every body and every answer, and a problem document of every type that an address can answer with."""
    for path, operations in document["paths"].items():
        for operation in operations.values():
            takes = operation.get("requestBody", {}).get("content", {})
            for media_type in takes.keys() & {JSON_TYPE, YAML_TYPE}:
                takes[media_type]["example"] = bodies_of(path)
            options = {option["name"] for option in operation.get("parameters", [])}
            limited = tuple(limit for limit in LIMITS if (ASKED_FOR[limit] in options if limit in ASKED_FOR else bool(takes)))
            for status, response in operation["responses"].items():
                for media_type, content in response.get("content", {}).items():
                    refused = media_type == PROBLEM_TYPE
                    found = refusals(int(status), limited) if refused else answers_of(path, media_type)
                    if len(found) == 1:
                        content["example"] = next(iter(found.values()))
                    elif found:
                        content["examples"] = {name: {"value": value} for name, value in found.items()}


_ASKED_FOR = {"description": "Bearer: the kind of key that is asked for.", "schema": {"type": "string"}}


def reference(name: str) -> dict[str, str]:
    """A reference to one of the shapes."""
    return {"$ref": _COMPONENTS + name}


def request_body(name: str, description: str) -> dict[str, Any]:
    """What a handler that reads its own body takes, as its ``openapi_extra``."""
    content = {media_type: {"schema": reference(name)} for media_type in (JSON_TYPE, YAML_TYPE)}
    return {"requestBody": {"required": True, "description": description, "content": content}}


def answered(description: str, schema: dict[str, Any], media_type: str = JSON_TYPE) -> dict[str, Any]:
    """A response with a body."""
    return {"description": description, "content": {media_type: {"schema": schema}}}


def in_forms(description: str, name: str | tuple[str, ...], media_types: Iterable[str]) -> dict[str, Any]:
    """A response that may have any of some forms; the shape named, or one of several, is that of JSON."""
    content: dict[str, Any] = {each: {"schema": {"type": "string"} if each.startswith("text/") else {}} for each in media_types}
    content[JSON_TYPE] = {"schema": reference(name) if isinstance(name, str) else {"anyOf": [reference(each) for each in name]}}
    return {"description": description, "content": content}


def as_scenario(response: dict[str, Any]) -> dict[str, Any]:
    """The same response, which may also come as nothing but a scenario, to be kept in a file."""
    return {**response, "content": {**response["content"], YAML_TYPE: {"schema": reference("Scenario")}}}


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
        name = "UnusableInputProblem" if status == 422 else "ProblemDocument"
        responses[status] = answered(title_of(status), reference(name), PROBLEM_TYPE)
        if status == 503:
            responses[status]["headers"] = {
                "Retry-After": {"description": "Seconds after which to try again.", "schema": {"type": "integer"}}
            }
    return responses


def _schemas() -> dict[str, Any]:
    models: tuple[type[BaseModel], ...] = (
        Answer,
        BegunEvent,
        Explanation,
        Health,
        ProblemDocument,
        ProblemType,
        ProgressEvent,
        Redated,
        Rolled,
        UnusableInputProblem,
        Verdict,
        *AROUND_MODELS,
        *CHECK_MODELS,
        *COMPARISON_MODELS,
        *FRONT_MODELS,
        *REPLAN_MODELS,
    )
    _, written = models_json_schema([(model, "serialization") for model in models], ref_template=_COMPONENTS + "{model}")
    schemas: dict[str, Any] = dict(written["$defs"])
    read = {
        "Scenario": scenario_schema(),
        "NewCalendar": calendar_schema(),
        "GivenSequence": GivenSequence.model_json_schema(),
    }
    for name, schema in read.items():
        for part, inner in {**schema.pop("$defs", {}), name: schema}.items():
            if schemas.setdefault(part, moved := _moved(inner)) != moved:
                raise ValueError(f"two shapes are named {part}")
    schemas["Repair"]["properties"]["changes"] |= {"items": schemas["WhatIf"]["properties"]["changes"]["items"]}
    for name, says in (("Redated", "The new scenario."), ("Rolled", "The new scenario."), ("ReadScenario", "The scenario.")):
        schemas[name]["properties"]["scenario"] = {**reference("Scenario"), "description": says}
    check = {"scenario": "Scenario", "sequence": "GivenSequence"}
    # Shapes within others have names of their own, so that generated clients can name them.
    schemas["AnswerRow"] = {"type": "object", "description": "A lesson as an answer has it."}
    schemas["RecordFile"] = _record_file()
    schemas["Check"] = _together(
        check, "A scenario, and a sequence to be judged by it: an answer, or its `lessons`; without one the scenario's own pins."
    )
    schemas["Check"]["required"] = ["scenario"]
    schemas["Rolling"] = _together(check, "This term's scenario and sequence, and the next term's first and last day.")
    again = {"scenario": "Scenario", "previous": "GivenSequence"}
    schemas["Replanning"] = _together(again, "The scenario as it is now, and the sequence planned before.")
    for name in ("Check", "Rolling", "Replanning"):
        schemas[name]["properties"]["record"] = _document("record", "RecordFile")
    planning = _together({"scenario": "Scenario"}, "A scenario, and what was planned earlier.")
    before: dict[str, Any] = {
        "anyOf": [
            {"type": "string"},
            reference("GivenSequence"),
            {"type": "array", "items": {"type": "object", **reference("AnswerRow")}},
        ]
    }
    before["description"] = "The text of a calendar made before, or a sequence: a calendar asked for brings it up to date."
    planning["properties"] |= {"record": _document("record", "RecordFile"), "earlier": before}
    schemas["Planning"] = {"anyOf": [reference("Scenario"), planning], "description": "A scenario to be planned."}
    comparing = _together({"scenario": "Scenario"}, "A scenario, and its what-ifs unless they stand in it.")
    comparing["properties"] |= {
        "record": _document("record", "RecordFile"),
        "what_ifs": schemas["Scenario"]["properties"]["what_ifs"],
    }
    comparing["properties"] |= _openings_asked()
    schemas["Comparing"] = {"anyOf": [reference("Scenario"), comparing], "description": "A scenario with what-ifs."}
    what_changes = schemas["WhatIf"]["properties"]["changes"]["items"]
    schemas["ComparedFuture"]["properties"]["changes"] |= {"items": what_changes}
    day = {"type": "string", "format": "date"}
    schemas["Rolling"]["properties"] |= {
        "first": {**day, "description": "The next term's first day."},
        "last": {**day, "description": "Its last day."},
    }
    schemas["Rolling"]["required"] += ["first", "last"]
    redating = {"scenario": "Scenario", "calendar": "NewCalendar"}
    schemas["Redating"] = _together(redating, "Last year's scenario, and this year's calendar.")
    return schemas


def _openings_asked() -> dict[str, Any]:
    """What asks for openings, beside a scenario with what-ifs."""
    day = {"type": "string", "format": "date"}
    until = {
        "anyOf": [day, {"type": "array", "items": day, "minItems": 1, "maxItems": MOST_DATES, "uniqueItems": True}],
        "description": "The date by which it is known which future comes, in the term and after its first day: an opening is "
        "found that all share before it. A list asks what an earlier decision would be worth.",
        "examples": ["2026-11-04", ["2026-11-04", "2026-11-05"]],
    }
    weights = {
        "type": "object",
        "additionalProperties": {"type": "integer", "minimum": 1, "maximum": MOST_WEIGHT},
        "description": "With `opening_until`: how much futures count, by what-ifs' names and `base`; 1 where others have a "
        "weight. Instead of the weights that the what-ifs state. The worst case counts where it is empty, or neither is there.",
        "examples": [{"base": 3, "snow": 2}],
    }
    return {"opening_until": until, "weights": weights}


def _record_file() -> dict[str, Any]:
    """The shape of a record beside a scenario."""
    record = {
        "type": "object",
        "properties": {
            "today": {"type": "string", "format": "date", "description": "The day up to which it is told."},
            "record": {"type": "array", "items": reference("RecordEntry"), "description": "What happened, in any order."},
        },
        "required": ["record"],
        "additionalProperties": False,
    }
    answer = {
        "type": "object",
        "properties": {
            "lessons": {
                "type": "array",
                "items": {"type": "object", **reference("AnswerRow")},
                "description": "Its lessons.",
            }
        },
        "required": ["lessons"],
    }
    description = "What happened; or an answer, in whose `lessons` those that have come about say `what` became of them."
    return {"anyOf": [record, answer], "description": description}


_SAID = {
    "scenario": "The scenario.",
    "sequence": "The sequence.",
    "previous": "The sequence planned before.",
    "calendar": "This year's calendar.",
    "record": "What happened since.",
}
"""What each document of a body that holds several is."""


def _document(key: str, name: str) -> dict[str, str]:
    """The shape of one document of several."""
    return {**reference(name), "description": _SAID[key]}


def _together(parts: dict[str, str], description: str) -> dict[str, Any]:
    """The shape of a body that holds several documents, each by the name of its shape."""
    return {
        "type": "object",
        "description": description,
        "properties": {key: _document(key, name) for key, name in parts.items()},
        "required": list(parts),
        "additionalProperties": False,
    }


def _moved(schema: Any) -> Any:
    """A schema whose references point to where its parts stand in the description."""
    if isinstance(schema, list):
        return [_moved(inner) for inner in schema]
    if not isinstance(schema, dict):
        return schema
    moved = {key: _moved(inner) for key, inner in schema.items() if key != "$schema"}
    if isinstance(moved.get("mapping"), dict):
        moved["mapping"] = {word: _COMPONENTS + name.rpartition("/")[2] for word, name in moved["mapping"].items()}
    if isinstance(moved.get("anyOf"), list):
        # The same said as most generators of clients understand it within a choice.
        moved["anyOf"] = [
            {**{key: said for key, said in each.items() if key != "const"}, "enum": [each["const"]]} if "const" in each else each
            for each in moved["anyOf"]
        ]
    if isinstance(moved.get("$ref"), str):
        moved["$ref"] = _COMPONENTS + moved["$ref"].rpartition("/")[2]
    return moved
