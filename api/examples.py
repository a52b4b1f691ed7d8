"""Examples for the description: a body for every address, and the requests whose answers are kept in ``answers``.

``python -m tests.api.kept_answers`` keeps the answers anew.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from api.media import JSON_TYPE, YAML_TYPE
from sequencer import parse_document

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


def bodies_of(path: str) -> Any:
    """The example of a body that an address takes, as data; None where it takes none."""
    body = {**BODIES, **KEPT_BODIES}.get(path)
    return parse_document(body)[0] if body is not None else None


def shortened(text: str) -> str:
    """A text cut after a line, or else anywhere, so that it is no longer than an example may be."""
    if len(text) <= LONGEST:
        return text
    end = text.rfind("\n", 0, LONGEST)
    return text[: end + 1 if end > 0 else LONGEST]
