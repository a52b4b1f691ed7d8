"""Examples of what refusals look like, for the description."""

from __future__ import annotations

from functools import cache
from typing import Any

from api.errors import DIED, PROBLEM_TYPES, limit_body, problem_body, problem_of
from api.example_answers import MOVED
from api.examples import SCENARIO
from api.media import JSON_TYPE, YAML_TYPE
from api.requests import OPTIONS
from api.settings import Settings
from sequencer import UnusableInput, load_scenario
from sequencer.workers.pool import Allowance


def refusals(status: int, limited: tuple[str, ...]) -> dict[str, Any]:
    """Examples of the problem documents of a status, by the last part of their types; ``limited`` are limits that can be met."""
    usual = Settings()
    detail = {
        400: f"The option seconds {OPTIONS['seconds']}.",
        401: "This server asks for a key: Authorization: Bearer and the key.",
        404: "There is no such type of problem document.",
        406: "The answer can be application/json, text/plain; the request's Accept takes none of these.",
        415: f"The body's Content-Type must be {JSON_TYPE} or {YAML_TYPE}.",
        500: "Something went wrong here: a defect of this program, not of the request.",
        421: "This server is not known by the name that the request states as its host.",
        431: "The head of the request is larger than 16,384 bytes.",
        503: "As many requests as this server takes are being worked on.",
        403: "This needs a key that may plan a department; this one may read a class.",
        428: "A change must say what it changes: If-Match with an entity tag, or If-None-Match: * for a new one.",
        429: "This key may be used 600 times a minute.",
        507: "There is no room left where terms are kept. Nothing was changed; make room, and send it again.",
    }
    found = [problem_body(status, detail[status])] if status in detail else []
    found += [_unusable()] if status == 422 else []
    if status == 412:
        change = {"version": 4, "at": "2026-11-06T15:04:05Z", "by": "Ms Oak", "what": "put", "moved": [MOVED]}
        detail_of = "The term is not as the request's If-Match says: it was changed since."
        found.append({**problem_body(status, detail_of), "current": '"4-07a3be6559f2c41d"', "changes": [change]})
    if status == DIED[0]:
        found.append({**problem_body(status, DIED[2]), "type": f"{PROBLEM_TYPES}{DIED[1]}"})
    told = {
        "body_bytes": (usual.body_bytes, "The body is larger than 2,000,000 bytes, which is the most that is read."),
        "head_seconds": (usual.head_seconds, "The head of the request did not arrive within 10 seconds."),
        "body_seconds": (usual.body_seconds, "The body did not arrive within 30 seconds."),
        "classes": (usual.most_classes, "There are 101 classes; at most 100 are taken here."),
        "lessons": (usual.most_lessons, "There are 5,210 lessons over all classes; at most 5,000 are taken here."),
        "slots": (usual.most_slots, "There are 20,040 periods in which classes meet, or more; at most 20,000 are taken here."),
        "what_ifs": (10, "There are 11 what-ifs; at most 10 are taken here."),
        "depth": (usual.most_depth, "There are more than 30 levels inside one another (line 3, column 40)."),
        "reading_seconds": (
            usual.most_reading_seconds,
            "Reading this, and checking it, takes longer than 10 s, the most for one request.",
        ),
        "memory": (usual.most_memory, "Working on this takes more than 2,000 MB of memory, the most for one request."),
        "grace": (usual.grace, str(Allowance(usual.seconds, usual.grace).overrun())),
        "seconds": (usual.most_seconds, "The option seconds is more than 120, the most that this server allows."),
        "workers": (usual.most_workers, "The option workers is more than 8, the most that this server allows."),
    }
    documents = [limit_body(limit, *told[limit]) for limit in limited]
    found += [document for document in documents if document["status"] == status]
    return {document["type"].removeprefix(PROBLEM_TYPES): document for document in found}


@cache
def _unusable() -> dict[str, Any]:
    """The problem document of a scenario with two mistakes in it."""
    try:
        load_scenario(SCENARIO.replace("load: 4", "load: four").replace("requires: source-task", "requires: source-tusk"))
    except UnusableInput as error:
        return problem_of(error, {})[1]
    raise AssertionError("two mistakes are found")
