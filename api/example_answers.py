"""Examples of answers for the description: those that are kept in ``answers``, and short ones."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from typing import Any

from api.errors import KINDS, PROBLEM_TYPES, title_of
from api.examples import ASKED, EVENTS, READY, SCENARIO, ExampleRequest
from api.media import EVENTS_TYPE, JSON_TYPE, SCHEMA_TYPE, YAML_TYPE
from sequencer import parse_document

MOVED = {
    "class": "9B",
    "unit": "rivers",
    "lesson": "quiz",
    "from": {"date": "2026-11-05", "period": 2},
    "to": {"date": "2026-11-06", "period": 5},
}

_ALIKE = {
    "/v1/terms/{term}": "/v1/terms",
    "/v1/terms/{term}/weeks": "/v1/weeks",
    "/v1/terms/{term}/undo": "/v1/weeks",
    "/v1/terms/{term}/plan": "/v1/plans",
}
"""Addresses that answer as others do."""

UNASKED: dict[tuple[str, str], Any] = {
    ("/v1/sequences", EVENTS_TYPE): EVENTS,
    ("/v1/comparisons", EVENTS_TYPE): READY,
    ("/v1/weeks", EVENTS_TYPE): EVENTS.replace('"status": "optimal"', '"done": "planned again"'),
    ("/healthz", JSON_TYPE): {"status": "ok", "running": 1, "waiting": 0},
    ("/v1/demos", JSON_TYPE): {"demos": [{"name": "small", "title": "8P, three weeks", "says": "One class, eight lessons."}]},
    ("/v1/demos/{name}", YAML_TYPE): parse_document(SCENARIO)[0],
    ("/v1/formats", JSON_TYPE): {
        "formats": [{"name": "csv", "media_type": "text/csv", "what": "a table", "ending": ".csv", "needs_sequence": True}]
    },
    ("/v1/holidays", JSON_TYPE): {"holidays": [{"name": "Easter Monday", "on": "2027-03-29"}]},
    ("get /v1/terms", JSON_TYPE): {
        "terms": [
            {
                "term": "autumn",
                "tag": '"3-9f2c41d07a3be655"',
                "version": 3,
                "title": "Three lessons in a week",
                "classes": ["9B"],
                "changed": "2026-11-06T15:04:05Z",
            }
        ],
        "next": None,
    },
    ("/v1/terms/{term}/changes", JSON_TYPE): {
        "changes": [{"version": 3, "at": "2026-11-06T15:04:05Z", "by": "Ms Oak", "what": "week", "moved": [MOVED]}]
    },
    ("post /v1/terms/{term}/calendars", JSON_TYPE): {
        "calendar": "9f2c41d0",
        "kind": "class",
        "name": "9B",
        "address": "/v1/calendars/Xk3nQv0e7sTz1mPqLw9aBc2dXk3nQv0e7sTz1mPqLw9.ics",
    },
    ("get /v1/terms/{term}/calendars", JSON_TYPE): {
        "calendars": [{"calendar": "9f2c41d0", "kind": "class", "name": "9B", "made": "2026-11-06T15:04:05Z", "sent": None}]
    },
    ("/v1/terms/{term}/imports", JSON_TYPE): {
        "kept": False,
        "understood": [{"line": 2, "says": '"Half-term": a holiday, Mon 26 Oct 2026 to Fri 30 Oct 2026'}],
        "changed": ["holidays"],
    },
    ("post /v1/webhooks", JSON_TYPE): {
        "address": "https://pages.example/plan-changed",
        "terms": ["autumn"],
        "webhook": "41d07a3b",
        "secret": "qLw9aBc2dXk3nQv0e7sTz1mPqLw9aBc2dXk3nQv0e7s",
    },
    ("get /v1/webhooks", JSON_TYPE): {
        "webhooks": [
            {
                "address": "https://pages.example/plan-changed",
                "terms": ["autumn"],
                "webhook": "41d07a3b",
                "made": "2026-11-06T15:04:05Z",
                "given_up": None,
                "waiting": 1,
                "failed": "answered 502",
            }
        ]
    },
    ("/v1/calendars/{secret}.ics", "text/calendar"): "BEGIN:VCALENDAR\nVERSION:2.0\nEND:VCALENDAR\n",
    ("/v1/scenario-schema", SCHEMA_TYPE): {"$schema": "https://json-schema.org/draft/2020-12/schema", "type": "object"},
    ("/v1/problems/{name}", JSON_TYPE): {
        "type": f"{PROBLEM_TYPES}{KINDS[422][0]}",
        "title": title_of(422),
        "status": 422,
        "says": KINDS[422][1],
    },
}
"""Examples of answers that are not kept, since they are short, or are cut short."""


def answers_of(path: str, media_type: str, method: str = "post") -> dict[str, Any]:
    """The examples of answers that an address gives in a form, by their names."""
    for asked in (f"{method} {path}", path):
        if (asked, media_type) in UNASKED:
            return {"as usual": UNASKED[asked, media_type]}
    path = _ALIKE.get(path, path)
    return {each.name: kept(each) for each in ASKED if (each.path, each.media_type) == (path, media_type)}


@cache
def kept(asked: ExampleRequest) -> Any:
    """An answer that is kept: data, or text."""
    text = (files("api") / "answers" / asked.file).read_text(encoding="utf-8")
    match asked.media_type:
        case "application/json":
            return json.loads(text)
        case "application/yaml":
            return parse_document(text)[0]
    return text
