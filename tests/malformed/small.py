"""The small scenario that every malformed one changes, and the form of the table's entries."""

from __future__ import annotations

from typing import Literal, NamedTuple

SMALL = """\
format: 1
title: Two small units
term:
  first: 2026-11-02
  last: 2026-12-18
  cycle: [A, B]
holidays:
  - {name: Half day, on: 2026-11-20}
closures:
  - {name: Training, on: 2026-11-06, classes: 9B, periods: 3}
remote_spells:
  - name: Remote week
    first: 2026-11-23
    last: 2026-11-27
    periods: [1, 2]
    fixed:
      - {taught: live, weekdays: Mon, periods: 1}
restricted_days:
  - {name: Cover, on: 2026-12-01, refuses: {tags: [lab work]}}
periods:
  - {number: 1, starts: "09:00", ends: "10:00"}
  - {number: 2, starts: "10:00", ends: "11:00"}
  - {number: 3, starts: "11:20", ends: "12:20"}
adjacent_periods: [[1, 2]]
time_zone: Europe/London
shared:
  - {name: kit, capacity: 2}
rules:
  retrieval: {least: 10, most: 14}
  live_quotas:
    - {least: 1, teacher: T1}
aims: [left out, distance]
units:
  - id: rivers
    lessons:
      - id: r1
        load: 4
      - id: r2
        kind: practice
        practises: r1
      - id: r3
        requires: r1
        needs: [lab, kit]
        tags: lab work
      - id: r4
        kind: retrieval
        revisits: r3
  - id: maps
    after: rivers
    lessons:
      - id: m1
      - id: m2
        kind: assessment
      - id: m3
        kind: feedback
        answers: m2
classes:
  - id: 9B
    teacher: T1
    units: [rivers, maps]
    timetable:
      A: {Mon: [1, 2], Wed: 3}
      B: {Tue: [1, {period: 2, offers: lab}]}
    lessons:
      m2: {not_before: 2026-12-07}
"""

SMALL_JSON = """\
{"format": 1,
 "term": {"first": "2026-11-02", "last": "2026-12-18"},
 "units": [
  {"id": "rivers", "lessons": [
   {"id": "r1", "load": 4, "title": "Source to mouth"},
   {"id": "r2", "kind": "practice", "practises": "r1"}]}],
 "classes": [
  {"id": "9B", "units": "rivers", "timetable": {"Mon": [1, 2], "Wed": 3}}]}
"""


class Malformed(NamedTuple):
    """A text that cannot be read, and what is said of it.

    Parameters
    ----------
    problems
        What each line says, in order: the place in the text as ``line:column`` (none for what concerns the text as a
        whole), the place in the document, and the message.
    """

    name: str
    language: Literal["yaml", "json"]
    text: bytes | str
    problems: tuple[str, ...]

    def lines(self, source: str) -> list[str]:
        """The lines of the message, for a text that comes from ``source``."""
        return [f"{source}:{said}" if said[0].isdigit() else f"{source} {said}" for said in self.problems]


def in_yaml(name: str, *changes: tuple[str, str], says: tuple[str, ...]) -> Malformed:
    """Return the small scenario in YAML with some changes."""
    return Malformed(name, "yaml", changed(SMALL, *changes), says)


def in_json(name: str, *changes: tuple[str, str], says: tuple[str, ...]) -> Malformed:
    """Return the small scenario in JSON with some changes."""
    return Malformed(name, "json", changed(SMALL_JSON, *changes), says)


def changed(text: str, *changes: tuple[str, str]) -> str:
    """Replace parts of a text, each of which it holds exactly once."""
    for old, new in changes:
        assert text.count(old) == 1, f"{old!r} is there {text.count(old)} times"
        text = text.replace(old, new)
    return text
