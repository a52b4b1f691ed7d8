"""A scenario half way through its term, which malformed ones change: a pattern, a record, what was taught before."""

from __future__ import annotations

from tests.malformed.small import Malformed, changed

GROWN = """\
format: 1
title: A unit with a pattern, half taught
term: {first: 2026-11-02, last: 2026-12-18}
today: 2026-11-18
rules:
  retrieval: {chosen: true}
  starters: 2
patterns:
  - id: usual
    rules: {practice_after_dense: 2}
    practice: {tags: task}
    retrieval: {room: 2}
    feedback: {answers: assessment}
    writing: {load: 3}
units:
  - id: rivers
    pattern: usual
    lessons:
      - id: source
      - id: bends
        load: 4
      - id: mouth
        length: 2
      - id: quiz
        kind: retrieval
        revisits: source
        room: 2
      - id: delta
        starter: before/rain
  - id: towns
    lessons:
      - id: sites
classes:
  - id: 9B
    units: rivers
    later_units: towns
    timetable: {Mon: 1, Wed: [1, 2], Fri: 3}
    taught_before:
      - {id: rain, date: 2026-10-12}
    lessons:
      bends-practice: {not_after: 2026-12-11}
record:
  - {class: 9B, lesson: source, date: 2026-11-02, period: 1}
  - {class: 9B, lesson: bends, what: part-taught, date: 2026-11-04, period: 1}
  - {class: 9B, lesson: bends-rest, date: 2026-11-06, period: 3}
  - {class: 9B, lesson: quiz, what: lost, date: 2026-11-09}
"""
"""Class 9B meets from Monday 2 November 2026: Mondays, Wednesdays and Fridays, twice on Wednesdays."""


def in_grown(name: str, *changes: tuple[str, str], says: tuple[str, ...]) -> Malformed:
    """Return this scenario with some changes."""
    return Malformed(name, "yaml", changed(GROWN, *changes), says)
