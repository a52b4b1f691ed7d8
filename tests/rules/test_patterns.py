"""Patterns: what is made for a unit's new lessons, and that it goes when it is not needed."""

from __future__ import annotations

from typing import Any

from sequencer import SolveSettings, answer_json, load_scenario, scenario_from_data, solve
from tests.builders import PATIENT, Data, aims, day, practice, rows, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, judged, placed


def patterned(
    lessons: list[Data], weeks: int = 2, per_week: str = EVERY_DAY, lessons_of: Data | None = None, **pattern: Any
) -> Data:
    unit = {"in_order": True, "pattern": "usual", **(lessons_of or {})}
    return scenario(lessons, weeks=weeks, per_week=per_week, unit=unit, patterns=[{"id": "usual", **pattern}])


# -- practice ----------------------------------------------------------------------------------------------------------


def test_practice_is_made_for_every_dense_lesson() -> None:
    # Two dense lessons, practised straight after; the light one needs none.
    data = patterned([teach("a", load=4), teach("b", load=2), teach("c", load=5)], practice={})
    answer = solved(data)
    assert list(placed(answer)) == ["a", "a-practice", "b", "c", "c-practice"]
    assert rows(answer)["a-practice"]["title"] == "Practice: a"
    assert rows(answer)["a-practice"]["practises"] == [{"unit": "u", "lesson": "a"}]
    assert aims(answer)["made lessons"] == 2


def test_one_made_practice_serves_several_dense_lessons() -> None:
    # Within two periods: a and b one after the other, one practice after both, named for the one it serves alone or last.
    data = patterned([teach("a", load=4), teach("b", load=4)], practice={}, rules={"practice_after_dense": 2})
    answer = solved(data)
    assert aims(answer)["made lessons"] == 1
    (made,) = [row for row in rows(answer).values() if row["made"]]
    assert made["practises"] == [{"unit": "u", "lesson": "a"}, {"unit": "u", "lesson": "b"}]


def test_none_could_be_taken_away_even_when_nobody_counts_them() -> None:
    # Without the aim nothing asks for few, but a second practice in the window of both would be one too many.
    lessons = [teach("a", load=4, on=day(1, "Mon")), teach("b", load=4, on=day(1, "Tue"))]
    data = patterned(lessons, weeks=1, practice={}, rules={"practice_after_dense": 2})
    data["aims"] = ["early finish"]
    # a on Monday: practised on Tuesday (b is there) or Wednesday; b on Wednesday or Thursday. Wednesday serves both.
    answer = solved(data)
    assert [row["date"] for row in rows(answer).values() if row["made"]] == [day(1, "Wed")]


def test_a_listed_practice_needs_none_made() -> None:
    data = patterned([teach("a", load=4), practice("p", "a")], practice={})
    assert list(placed(solved(data))) == ["a", "p"]


def test_a_made_practice_goes_with_its_dense_lesson() -> None:
    # One period: the optional dense lesson does not fit beside the required one, nor does its practice.
    data = patterned([teach("a", load=2), teach("b", load=4, optional=True)], weeks=1, per_week="Mon 1", practice={})
    answer = solved(data)
    assert list(placed(answer)) == ["a"]
    assert [entry["lesson"] for entry in answer_json(answer)["left_out"]] == ["b"]  # what is made is not left out


def test_a_lesson_says_how_its_practice_differs() -> None:
    own = {"title": "Sketch", "load": 3, "tags": ["maths"]}
    data = patterned([teach("a", load=4, practice=own)], practice={"title": "Task: {lesson}", "load": 1, "marking_minutes": 5})
    made = rows(solved(data))["a-practice"]
    assert (made["title"], made["load"], made["kind"]) == ("Sketch", 3, "practice")


def test_a_lesson_listed_under_the_id_stands_in_its_place() -> None:
    data = patterned([teach("a", load=4), practice("a-practice", "a", title="My own")], practice={})
    row = rows(solved(data))["a-practice"]
    assert (row["title"], row["made"]) == ("My own", False)


def test_homework_serves_as_practice() -> None:
    # Due on the first date of the class at least two days later: Thursday for Tuesday's, Monday for Friday's.
    rules = {"practice_after_dense": {"homework": {"title": "Write up {lesson}", "due_days": 2}}}
    lessons = [
        teach("a", title="Rain", load=4, on=day(1, "Tue")),
        teach("b", load=4, on=day(1, "Fri")),
        teach("c", load=4, on=day(2, "Fri")),
    ]
    answer = solved(patterned(lessons, practice={}, rules=rules))
    assert {name: row["homework"] for name, row in rows(answer).items()} == {
        "a": {"title": "Write up Rain", "due": day(1, "Thu"), "minutes": 0},
        "b": {"title": "Write up b", "due": day(2, "Mon"), "minutes": 0},
        "c": {"title": "Write up c", "due": None, "minutes": 0},
    }


# -- retrieval, feedback, writing --------------------------------------------------------------------------------------


def test_retrieval_lessons_are_made_as_they_are_needed() -> None:
    # Five lessons in the first week, window 3 to 9 days: one retrieval lesson has room for all of them, two for three each.
    lessons = [
        teach(f"t{number}", load=2, on=day(1, weekday)) for number, weekday in enumerate(("Mon", "Tue", "Wed", "Thu", "Fri"))
    ]
    rules = {"retrieval": {"least": 3, "most": 9}}
    for room, needed in ((5, 1), (3, 2), (1, 5)):
        answer = solved(patterned(lessons, weeks=3, rules=rules, retrieval={"room": room}))
        made = [name for name, row in rows(answer).items() if row["made"]]
        assert made == [f"retrieval-{number}" for number in range(1, needed + 1)]  # numbered in order of time
        assert sum(len(row["revisits"]) for row in rows(answer).values()) == 5


def test_no_more_are_made_than_stated() -> None:
    lessons = [teach(f"t{number}", load=2, on=day(1, weekday)) for number, weekday in enumerate(("Mon", "Tue"))]
    data = patterned(lessons, weeks=2, rules={"retrieval": {"least": 3, "most": 20}}, retrieval={"room": 1, "most": 1})
    answer = solved(data)
    assert aims(answer)["made lessons"] == 1
    assert len(answer_json(answer)["carried_over"]) == 1


def test_writing_at_the_end_and_feedback_when_all_is_marked() -> None:
    data = patterned(
        [teach("a", load=4), teach("b", load=2)], practice={}, writing={"title": "Write", "load": 4},
        feedback={"answers": ["practice", "assessment"]}, rules={"marking": 2},
    )  # fmt: skip
    answer = solved(data)
    # a Monday, its practice Tuesday, b, the writing, and two school days after that the feedback.
    assert list(placed(answer)) == ["a", "a-practice", "b", "writing", "feedback"]
    row = rows(answer)
    assert (row["writing"]["kind"], row["writing"]["load"]) == ("assessment", 4)
    assert row["feedback"]["slot"] - row["writing"]["slot"] == 2


def test_feedback_on_nothing_goes() -> None:
    # No lesson is dense, so there is no practice to give feedback on.
    assert list(placed(solved(patterned([teach("a", load=2)], practice={}, feedback={"answers": "practice"})))) == ["a"]


def test_the_referee_names_the_rule_of_made_lessons_that_are_missing() -> None:
    # a is dense; its practice serves it, and writing and feedback are made for them, and missing: that is no optional lesson.
    data = patterned([teach("a", load=4)], practice={}, writing={"load": 3}, feedback={"answers": "practice"})
    row = {"a": "1 Mon 1", "a-practice": "1 Tue 1"}
    breaches = judged(data, **row)["breaches"]
    assert [(each["rule"], each["name"], [one["lesson"] for one in each["lessons"]]) for each in breaches] == [
        (12, "optional and made lessons", ["writing"]),
        (12, "optional and made lessons", ["feedback"]),
    ]


def test_pattern_rules_stand_between_class_and_unit() -> None:
    lessons = [teach("a", load=4), teach("b", load=4), teach("c", load=4)]

    def runs(pattern: int, unit: int | None) -> bool:
        rules = {"practice_after_dense": "off", "consecutive_high_load": pattern}
        own = {"rules": {"consecutive_high_load": unit}} if unit else {}
        data = patterned(lessons, weeks=1, per_week="Mon 1, Tue 1, Wed 1", rules=rules, lessons_of=own)
        data["rules"] = {"consecutive_high_load": 1}
        return solve(scenario_from_data(data)).status == "optimal"

    assert runs(3, None)  # the pattern wins over the scenario
    assert not runs(3, 2)  # and the unit over the pattern


def test_a_whole_unit_of_twelve_lessons() -> None:
    # Everything but the twelve new lessons is made.
    loads = (2, 3, 4, 3, 5, 2, 3, 4, 3, 3, 4, 2)
    lessons = [teach(f"t{number:02}", load=load) for number, load in enumerate(loads, start=1)]
    data = patterned(
        lessons, weeks=7, practice={}, retrieval={"room": 3}, feedback={}, writing={},
        rules={"practice_after_dense": 2, "marking": 2},
    )  # fmt: skip
    body = answer_json(solved(data))
    assert body["carried_over"] == body["late"] == []
    again = [each["lesson"] for row in body["lessons"] for each in row["revisits"]]
    assert sorted(again) == [lesson["id"] for lesson in lessons]
    practised = {each["lesson"] for row in body["lessons"] for each in row["practises"]}
    assert practised == {lesson["id"] for lesson in lessons if lesson["load"] >= 4}
    assert len(body["lessons"]) - 12 == {aim["aim"]: aim["value"] for aim in body["aims"]}["made lessons"]


def test_a_practice_of_its_own_serves_its_lesson_alone() -> None:
    # Within two periods, a and b side by side. Where a's practice is described by a, each needs its own: a, b, and both practices
    # cannot all keep to two periods unless a's comes straight after a.
    own = teach("a", load=4, practice={"title": "Sketch"})
    answer = solved(patterned([own, teach("b", load=4)], practice={}, rules={"practice_after_dense": 2}))
    assert {name: row["practises"] for name, row in rows(answer).items() if row["made"]} == {
        "a-practice": [{"unit": "u", "lesson": "a"}],
        "b-practice": [{"unit": "u", "lesson": "b"}],
    }


TWELVE_LESSONS = """
format: 1
title: 9B, rivers
term: {first: 2026-11-02, last: 2026-12-18, cycle: [A, B]}
patterns:
  - id: usual
    rules: {practice_after_dense: 2, marking: 2}
    practice: {title: "Practice: {lesson}"}
    retrieval: {title: "Quiz {number}", room: 3, load: 1}
    feedback: {title: Quizzes and practice talked through}
    writing: {title: "Exam-style writing: one river"}
units:
  - id: rivers
    pattern: usual
    in_order: true
    lessons:
      - {id: basin, title: The drainage basin, load: 2}
      - {id: profile, title: From source to mouth, load: 3}
      - {id: processes, title: Wearing away and laying down, load: 4}
      - {id: waterfall, title: How a waterfall forms, load: 4}
      - {id: meander, title: Meanders and ox-bow lakes, load: 5}
      - {id: floodplain, title: Floodplains and levees, load: 3}
      - {id: hydrograph, title: Storm hydrographs, load: 4}
      - {id: floods, title: Why one valley floods, load: 3}
      - {id: hard, title: Walls against the water, load: 2}
      - {id: soft, title: Room for the river, load: 3}
      - {id: decision, title: "Which defence?", load: 4}
      - {id: case, title: One town and its river, load: 3}
classes:
  - id: 9B
    units: rivers
    timetable: {Mon: 1, Tue: 3, Wed: 2, Thu: 4, Fri: 1}
"""


def test_a_unit_of_twelve_lessons_takes_few_lines() -> None:
    # Twelve new lessons for a class on five periods a week, everything else made: in at most sixty lines.
    assert len(TWELVE_LESSONS.strip().splitlines()) <= 60
    answer = solve(load_scenario(TWELVE_LESSONS), SolveSettings(seconds=PATIENT))
    assert answer.status == "optimal"
    body = answer_json(answer)
    kinds = [row["kind"] for row in body["lessons"] if row["made"]]
    assert set(kinds) == {"practice", "retrieval", "feedback", "assessment"}
    assert sorted(each["lesson"] for row in body["lessons"] for each in row["revisits"]) == sorted(
        row["lesson"] for row in body["lessons"] if row["kind"] == "teach"
    )


def test_what_is_made_for_an_optional_lesson_is_there_when_that_is() -> None:
    # Nothing but rule 12 asks for the writing, and as few made lessons as can be are wished.
    data = patterned([teach("a", load=2, optional=True)], writing={"load": 2})
    assert list(placed(solved(data))) == ["a", "writing"]
    # Where there is room for one lesson only, neither is there.
    assert placed(solved(data | {"term": {"first": day(1, "Mon"), "last": day(1, "Mon")}})) == {}


def test_no_made_quiz_fills_a_period_in_which_it_meets_nothing() -> None:
    # x on the first Monday is met again in one quiz; further quizzes would fill the periods before y, and may not.
    lessons = [teach("x", load=2, on=day(1, "Mon")), teach("y", load=2, not_before=day(3, "Fri"))]
    data = patterned(lessons, weeks=3, retrieval={"most": 3, "room": 1}) | {"aims": ["carried over", "early finish"]}
    quizzes = [name for name in placed(solved(data)) if name.startswith("retrieval")]
    assert len(quizzes) == 1
