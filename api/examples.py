"""Examples for the description: a body for every address, what it is answered with in every form, and what refusals look like.

What requests are answered with is kept in ``answers``; ``python -m tests.api.test_examples`` writes it anew.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from api.errors import DIED, KINDS, PROBLEM_TYPES, limit_body, problem_body, problem_of, title_of
from api.media import EVENTS_TYPE, JSON_TYPE, SCHEMA_TYPE, YAML_TYPE
from api.requests import OPTIONS
from api.settings import Settings
from sequencer import UnusableInput, load_scenario, parse_document
from sequencer.workers.pool import Allowance

SCENARIO = """\
format: 1
title: Three lessons in a week
term: {first: 2026-11-02, last: 2026-11-06}
units:
  - id: rivers
    lessons:
      - {id: source, title: From source to mouth, load: 4}
      - {id: source-task, kind: practice, practises: source}
      - {id: quiz, kind: assessment, requires: source-task}
classes:
  - {id: 9B, units: rivers, timetable: {Mon: 1, Tue: 3, Thu: 2, Fri: 5}}
"""

SURROUNDED = """\
format: 1
title: Three lessons and what surrounds them
term: {first: 2026-11-02, last: 2026-11-13}
openings: {places: 1, distances: [2, 7]}
units:
  - id: rivers
    lessons:
      - {id: source, title: From source to mouth, load: 4, covers: R1, preparation_minutes: 40}
      - {id: source-task, kind: practice, practises: source, prepare: {notice: [{what: printing, days: 2}]}}
      - {id: quiz, kind: assessment, requires: source-task, covers: R1, marking_minutes: 60}
specifications:
  - id: rivers
    points: [{code: R1, title: The long profile}, {code: R2, title: Floods}]
classes:
  - {id: 9B, teacher: Ms Oak, units: rivers, timetable: {Mon: 1, Thu: 2}}
"""

OUTLINED = """\
format: 1
title: Two lessons, minute by minute
term: {first: 2026-11-02, last: 2026-11-06}
lesson_minutes: 50
usual_outlines:
  - id: usual
    opening: [{title: Register, kind: settle, minutes: 4}, {title: Five questions, kind: recall, minutes: {least: 4, most: 8}}]
    closing: [{title: What we can do, kind: review, minutes: 3}]
units:
  - id: rivers
    outline: usual
    lessons:
      - id: source
        title: From source to mouth
        objectives: [{id: profile, title: Draw the long profile of a river}]
        parts:
          - {title: Three courses of a river, kind: explain, minutes: {least: 6, most: 9}, objectives: profile}
          - {title: A profile on the board, kind: model, minutes: 6, load: 4, objectives: profile}
          - {title: Own profile, kind: apply, minutes: {least: 8, most: 15}, objectives: profile}
      - id: floods
        title: Why rivers flood
        parts: [{title: Rain and rock, kind: explain, minutes: 60}]
classes:
  - {id: 9B, units: rivers, timetable: {Mon: 1, Thu: 2}}
"""

BY_HAND = """\
lessons:
  - {class: 9B, lesson: source, parts: [{id: part-2, minutes: 6}, {title: Own profile, minutes: 12}]}
"""

SNOW = (
    SCENARIO
    + """\
closures:
  - {name: Snow, on: 2026-11-03}
"""
)

IMPOSSIBLE = SCENARIO.replace("last: 2026-11-06", "last: 2026-11-03")

SEQUENCE = """\
lessons:
  - {class: 9B, lesson: source, date: 2026-11-02, period: 1}
  - {class: 9B, lesson: source-task, date: 2026-11-03, period: 3}
  - {class: 9B, lesson: quiz, date: 2026-11-05, period: 2}
"""

LISTS = """\
lists:
  - class: 9B
    text: |
      Rivers:
      From source to mouth (hard)
      Rivers test
"""

PLAN = """\
lessons:
  - {class: 9B, unit: rivers, lesson: source, title: source, date: 2026-11-02, period: 1, what: delivered}
  - {class: 9B, unit: rivers, lesson: source-task, title: source-task, date: 2026-11-03, period: 3, what: lost}
  - {class: 9B, unit: rivers, lesson: quiz, title: quiz, date: 2026-11-05, period: 2}
"""

CALENDAR = """\
title: Three lessons in a week, a year later
term: {first: 2027-11-01, last: 2027-11-05}
closures:
  - {name: Training day, on: 2027-11-02}
"""

WHAT_IFS = """\
- name: snow
  changes:
    - change: add closure
      closure: {name: Snow, on: 2026-11-03}
"""

EVENTS = """\
event: begun
data: {"stop": "/v1/searches/Xk3nQv0e7sTz1mPqLw9aBc2d"}

event: progress
data: {"aim": "even load", "classes": ["9B"], "value": 1, "bound": 0, "seconds": 0.04, "limits": [], "paying": []}

: still searching

event: answer
data: {"status": "optimal"}

"""
"""The answer is cut short."""

READY = """\
event: begun
data: {"stop": "/v1/searches/Xk3nQv0e7sTz1mPqLw9aBc2d"}

event: future
data: {"name": "base", "status": "optimal"}

event: future
data: {"name": "snow", "status": "optimal"}

event: opening
data: {"until": "2026-11-04", "status": "optimal"}

event: answer
data: {"format": 1}

"""
"""The data of all but the first are cut short."""


def together(**parts: str) -> str:
    """A body in YAML that holds several documents."""
    lines = [line for key, text in parts.items() for line in (f"{key}:", *(f"  {line}" for line in text.splitlines()))]
    return "\n".join(lines) + "\n"


TERM = together(scenario=SCENARIO, plan=PLAN) + "term: 1\n"

BODIES = {
    "/v1/sequences": SCENARIO,
    "/v1/plans": together(scenario=SCENARIO, sequence=SEQUENCE),
    "/v1/scenarios": SCENARIO,
    "/v1/lesson-lists": LISTS,
    "/v1/replans": together(scenario=SNOW, previous=SEQUENCE),
    "/v1/terms": SCENARIO,
    "/v1/weeks": TERM,
    "/v1/preparations": SURROUNDED,
    "/v1/coverages": SURROUNDED,
    "/v1/starters": SURROUNDED,
    "/v1/assessments": SURROUNDED,
    "/v1/outlines": OUTLINED,
    "/v1/explanations": IMPOSSIBLE,
    "/v1/comparisons": together(scenario=SCENARIO, what_ifs=WHAT_IFS) + "opening_until: 2026-11-04\n",
    "/v1/checks": together(scenario=SCENARIO, sequence=SEQUENCE),
    "/v1/redatings": together(scenario=SCENARIO, calendar=CALENDAR),
    "/v1/next-terms": together(scenario=SCENARIO, sequence=SEQUENCE) + "first: 2026-11-16\nlast: 2026-12-18\n",
}
"""A body for every address that takes one."""

KEPT_BODIES = {
    "/v1/terms/{term}": BODIES["/v1/weeks"],
    "/v1/terms/{term}/weeks": "happened:\n  - {class: 9B, unit: rivers, lesson: source, what: delivered}\n",
    "/v1/terms/{term}/calendars": "kind: class\nname: 9B\n",
    "/v1/terms/{term}/imports": "",
    "/v1/webhooks": "address: https://pages.example/plan-changed\nterms: [autumn]\n",
}
"""The same of kept terms."""

ENDINGS = {
    JSON_TYPE: "json",
    YAML_TYPE: "yaml",
    "text/plain": "txt",
    "text/html": "html",
    "text/csv": "csv",
    "text/calendar": "ics",
}
"""How the files of answers end."""

LONGEST = 1500
"""Characters after which an example of text is cut short."""


@dataclass(frozen=True)
class ExampleRequest:
    """A request whose answer is an example; ``query`` is what it says beside its body, and names the example."""

    path: str
    media_type: str
    query: str = ""
    body: str = ""

    @property
    def name(self) -> str:
        """What the example is called."""
        return self.query.partition("&")[0].replace("=", " ").replace("_", " ").replace("%20", " ") or "as usual"

    @property
    def file(self) -> str:
        """The name of the file that keeps the answer."""
        words = [self.path.rpartition("/")[2], *([re.sub(r"\W+", "-", self.name)] if self.query else [])]
        return f"{'.'.join(words)}.{ENDINGS[self.media_type]}"


_FORMS: dict[str, tuple[str, ...]] = {
    "/v1/sequences": ("text/plain", "text/html", "text/calendar", "text/csv"),
    "/v1/plans": ("text/plain", "text/html", "text/calendar", "text/csv"),
    "/v1/replans": ("text/plain", "text/html"),
    **dict.fromkeys(
        ("/v1/preparations", "/v1/coverages", "/v1/starters", "/v1/outlines"), ("text/plain", "text/html", "text/csv")
    ),
    "/v1/assessments": ("text/plain", "text/html", "text/csv", "text/calendar"),
    **dict.fromkeys(("/v1/explanations", "/v1/comparisons", "/v1/checks"), ("text/plain",)),
    "/v1/lesson-lists": (),
    **dict.fromkeys(("/v1/terms", "/v1/weeks"), ()),
    **dict.fromkeys(("/v1/redatings", "/v1/next-terms", "/v1/scenarios"), (YAML_TYPE,)),
}
"""The forms beside JSON."""

ASKED = (
    *(
        ExampleRequest(path, media_type, "on=2026-11-03" if path == "/v1/weeks" else "", body)
        for path, body in BODIES.items()
        for media_type in (JSON_TYPE, *_FORMS[path])
    ),
    ExampleRequest("/v1/sequences", JSON_TYPE, "alternatives=1", SCENARIO),
    ExampleRequest("/v1/replans", JSON_TYPE, "trade_off=true", BODIES["/v1/replans"]),
    ExampleRequest("/v1/replans", JSON_TYPE, "format=notice-json", BODIES["/v1/replans"]),
    ExampleRequest("/v1/explanations", JSON_TYPE, "lesson=9B:rivers/quiz", SCENARIO),
    ExampleRequest("/v1/checks", JSON_TYPE, "best=true", BODIES["/v1/checks"]),
    ExampleRequest("/v1/outlines", JSON_TYPE, "complete=true", together(scenario=OUTLINED, by_hand=BY_HAND)),
)
"""Every request whose answer is kept."""

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


def bodies_of(path: str) -> Any:
    """The example of a body that an address takes, as data; None where it takes none."""
    body = {**BODIES, **KEPT_BODIES}.get(path)
    return parse_document(body)[0] if body is not None else None


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


def shortened(text: str) -> str:
    """A text cut after a line, or else anywhere, so that it is no longer than an example may be."""
    if len(text) <= LONGEST:
        return text
    end = text.rfind("\n", 0, LONGEST)
    return text[: end + 1 if end > 0 else LONGEST]


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
    found += [unusable()] if status == 422 else []
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
def unusable() -> dict[str, Any]:
    """The problem document of a scenario with two mistakes in it."""
    try:
        load_scenario(SCENARIO.replace("load: 4", "load: four").replace("requires: source-task", "requires: source-tusk"))
    except UnusableInput as error:
        return problem_of(error, {})[1]
    raise AssertionError("two mistakes are found")
