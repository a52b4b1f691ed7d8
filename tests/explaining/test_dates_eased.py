"""Dates are eased to dates that are still to come, and never past other dates of the lesson."""

from __future__ import annotations

from sequencer import SolveSettings, apply_changes, complete, explain, load_scenario, sequence_from_data, solve
from sequencer.scenario.changes.lesson_changes import MoveDates

TERM = """
format: 1
term: {first: 2026-11-02, last: 2026-11-20}
today: 2026-11-09
units: [{id: u, lessons: [{id: v, title: Visitor, on: 2026-11-07}, {id: z, title: Deltas}]}]
classes: [{id: 9B, units: u, timetable: {Mon: 1, Tue: 1, Wed: 1, Thu: 1, Fri: 1}}]
"""


def test_no_lesson_is_moved_to_what_has_gone_by() -> None:
    read = load_scenario(TERM, "", "yaml")
    for repair in explain(read).repairs:
        for change in repair.changes:
            if isinstance(change, MoveDates):
                assert str(change.not_before) >= "2026-11-09", change
        assert solve(apply_changes(read, repair.changes), SolveSettings(seconds=20)).sequence is not None


def test_a_lesson_whose_date_has_gone_by_finishes_early_like_any_other() -> None:
    # A date on which the class met and that has gone by is one that nothing can keep: the lesson is taught soon.
    read = load_scenario(TERM.replace("2026-11-07", "2026-11-03"), "", "yaml")
    answer = solve(read, SolveSettings(seconds=20))
    assert answer.sequence is not None
    slots = answer.instance.classes[0].slots
    assert sorted(str(slots[placement.slot].date) for placement in answer.sequence.placements) == ["2026-11-09", "2026-11-10"]


def test_what_was_placed_by_hand_is_moved_within_the_dates_of_its_unit() -> None:
    read = load_scenario(BY_HAND, "", "yaml")
    part = sequence_from_data(
        read, [{"class": "9B", "unit": "u", "lesson": lesson, "date": day, "period": 1} for lesson, day in PLACED]
    )
    found = complete(read, part).explanation
    assert found is not None and found.repairs
    for repair in found.repairs:
        for change in repair.changes:
            if isinstance(change, MoveDates) and change.on == "off":
                assert str(change.not_before) >= "2026-11-09", change


BY_HAND = """
format: 1
term: {first: 2026-11-02, last: 2026-11-13}
units:
  - id: u
    lessons:
      - {id: x, title: Meanders, load: 5}
      - {id: p, title: Task, kind: practice, practises: x}
      - {id: t, title: Test, kind: assessment, requires: x, not_before: 2026-11-09}
classes: [{id: 9B, units: u, timetable: {Mon: 1, Tue: 1, Thu: 1, Fri: 1}}]
"""
PLACED = (("x", "2026-11-02"), ("t", "2026-11-06"))
