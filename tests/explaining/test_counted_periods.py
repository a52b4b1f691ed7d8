"""Rules that count periods: without the calendar there are more, so that what is broken there may be kept in the term itself."""

from __future__ import annotations

from sequencer import ExplainSettings, Explanation, SolveSettings, explain, load_scenario, solve

LATE = """
format: 1
term: {first: 2026-11-02, last: 2026-12-18}
closures: [{name: Training day, on: 2026-11-17}]
units:
  - id: u
    lessons:
      - {id: x, title: Meanders, load: 2, on: 2026-11-03}
      - {id: q, title: Quiz, kind: retrieval, revisits: x, on: 2026-11-24}
      - {id: a, title: Trip, load: 2, on: 2026-12-01}
      - {id: b, title: Visitor, load: 2, on: 2026-12-01}
classes: [{id: 9B, units: u, timetable: {Tue: 1}}]
"""
CUT = """
format: 1
term: {first: 2026-11-02, last: 2026-11-27}
rules: {week: {least_lessons: 2}}
units:
  - id: u
    lessons:
      - {id: w, title: Sources, load: 2, on: 2026-11-03}
      - {id: x, title: Meanders, load: 2, on: 2026-11-10}
      - {id: y, title: Deltas, load: 2, on: 2026-11-24}
      - {id: a, title: Trip, load: 2, on: 2026-11-17}
      - {id: b, title: Visitor, load: 2, on: 2026-11-17}
classes: [{id: 9B, units: u, timetable: {Tue: 1}}]
"""
TESTED_FIRST = """
format: 1
term: {first: 2026-11-02, last: 2026-11-20}
rules: {practice_after_dense: 2}
units:
  - id: u
    lessons:
      - {id: x, title: Meanders, load: 5, "on": 2026-11-02}
      - {id: p, title: Meander practice, kind: practice, practises: x, "on": 2026-11-04}
      - {id: t, title: Meander test, kind: assessment, requires: x, "on": 2026-11-03}
classes: [{id: 9B, units: u, timetable: {Mon: 1, Tue: 1, Wed: 1, Thu: 1, Fri: 1}}]
"""


def explained(text: str) -> Explanation:
    return explain(load_scenario(text, "", "yaml"), ExplainSettings(repairs=1))


def test_a_quiz_late_because_no_period_suits_it_is_in_no_conflict() -> None:
    """With more periods one would lie in its window, and the quiz would be out of it."""
    found = explained(LATE)
    assert [statement.kind for conflict in found.conflicts for statement in conflict.statements if "Quiz" in statement.text] == []
    assert (found.more, found.cheapest, found.repairs[0].cost, len(found.repairs[0].changes)) == (False, True, 7, 1)


def test_a_least_number_that_the_timetable_cuts_is_in_no_conflict() -> None:
    found = explained(CUT)
    assert len(found.conflicts) == 1 and found.more is False
    assert "week" not in {statement.kind for statement in found.conflicts[0].statements}
    assert (found.cheapest, found.repairs[0].cost) == (True, 10)


def test_what_a_conflict_tells_cannot_hold_in_the_term_itself() -> None:
    (conflict,) = explained(TESTED_FIRST).conflicts
    assert any("Meander test" in statement.text for statement in conflict.statements)
    without_it = "\n".join(line for line in TESTED_FIRST.splitlines() if "test" not in line)
    assert solve(load_scenario(without_it, "", "yaml"), SolveSettings(seconds=20)).sequence is not None
