"""Rule 4 in full: where a lesson is met again is chosen, in retrieval lessons with room and in starters; several retrievals."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import answer_json, check, scenario_from_data, sequence_from_data
from tests.builders import MONDAY, Data, aims, day, impossible, practice, retrieval, rows, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, placed

MONDAYS = "Mon 1"


def chosen(least: int, most: int, **more: Any) -> Data:
    return {"retrieval": {"least": least, "most": most, "chosen": True, **more}}


def on_mondays(*lessons: Data, weeks: int, rules: Data, **more: Any) -> Data:
    """Lessons in the order listed, once a week."""
    return scenario(lessons, weeks=weeks, per_week=MONDAYS, rules=rules, unit={"in_order": True}, **more)


def met(data: Data) -> dict[str, list[tuple[str, int, str]]]:
    """What each lesson of the best answer meets again: (lesson, days, how)."""
    found = rows(solved(data))
    entries = {name: [(each["lesson"], each["days"], each["how"]) for each in row["revisits"]] for name, row in found.items()}
    return {name: revisits for name, revisits in entries.items() if revisits}


def listed(data: Data, what: str) -> list[str]:
    return [entry["lesson"] for entry in answer_json(solved(data))[what]]


# -- starters ----------------------------------------------------------------------------------------------------------


def test_a_starter_of_any_later_lesson_meets_it_again() -> None:
    # a on the first Monday, b on the second, 7 days on: b's starter meets a. Nothing follows b: it is carried over.
    data = on_mondays(teach("a", on=day(1, "Mon")), teach("b"), weeks=2, rules=chosen(7, 8) | {"starters": 1})
    assert met(data) == {"b": [("a", 7, "starter")]}
    assert listed(data, "carried_over") == ["b"]


def test_where_nothing_follows_it_lies_at_the_end() -> None:
    # Three Mondays and nothing else that could meet a again: it lies where its window of 8 days runs past the last Monday.
    free = scenario([teach("a")], weeks=3, per_week=MONDAYS, rules=chosen(7, 8) | {"starters": 1})
    assert placed(solved(free)) == {"a": "2 Mon 1"}
    impossible(scenario([teach("a", on=day(1, "Mon"))], weeks=3, per_week=MONDAYS, rules=chosen(7, 8) | {"starters": 1}))


@pytest.mark.parametrize(("starters", "carried"), [(1, 1), (2, 0)])
def test_a_starter_meets_no_more_than_it_may(starters: int, carried: int) -> None:
    # a and b on one Monday (two periods), c 14 days later: with one place only one of them is met, and the other is carried over
    # (its window of 14 to 15 days runs past the last day).
    lessons = [
        teach("a", on=day(1, "Mon")),
        teach("b", on=day(1, "Mon")),
        {**teach("c", on=day(3, "Mon")), "rules": {"retrieval": "off"}},
    ]
    data = scenario(lessons, weeks=3, per_week="Mon 1-2", rules=chosen(14, 15) | {"starters": starters})
    answer = solved(data)
    assert aims(answer)["carried over"] == carried
    assert len(rows(answer)["c"]["revisits"]) == starters


def test_where_not_all_can_be_met_the_nearest_is() -> None:
    """One starter is left for two, of which the second lies at the preferred distance: the first waits for the next plan."""
    last = {**teach("c", on=day(2, "Thu")), "rules": {"retrieval": "off"}}
    lessons = [teach("a", on=day(1, "Wed")), teach("b", on=day(1, "Thu"), requires="a"), last]
    rules = chosen(3, 14, preferred=7) | {"starters": 1}
    data = scenario(lessons, 2, EVERY_DAY, rules=rules, aims=["left out", "carried over", "left for the next plan", "distance"])
    assert met(data) == {"c": [("b", 7, "starter")]}
    assert listed(data, "carried_over") == ["a"]


def test_what_is_listed_takes_its_place_in_the_starter() -> None:
    # c's starter lists a; with one place in all, nothing is left for b, which is carried over.
    lessons = [
        teach("a", on=day(1, "Mon")),
        teach("b", on=day(1, "Mon")),
        {**teach("c", on=day(3, "Mon"), starter="a"), "rules": {"retrieval": "off"}},
    ]
    data = scenario(lessons, weeks=3, per_week="Mon 1-2", rules=chosen(14, 15) | {"starters": 1})
    assert met(data) == {"c": [("a", 14, "starter")]}
    assert listed(data, "carried_over") == ["b"]


# -- retrieval lessons with room ---------------------------------------------------------------------------------------


def with_room(room: int) -> Data:
    """Four lessons in the first week, a retrieval lesson on Friday of the second that lists a: 11, 10, 9 and 8 days on."""
    days = zip("abcd", ("Mon", "Tue", "Wed", "Thu"), strict=True)
    lessons = [teach(name, on=day(1, weekday)) for name, weekday in days]
    again = retrieval("r", "a", room=room, on=day(2, "Fri"))
    return scenario([*lessons, again], weeks=2, per_week=EVERY_DAY, rules=chosen(8, 12, preferred=8))


def test_a_retrieval_lesson_has_room_for_so_many() -> None:
    # a is listed; b, c and d are chosen. All windows of 8 to 12 days run past the last Friday: what finds no room is carried on.
    assert met(with_room(4)) == {"r": [("a", 11, "lesson"), ("b", 10, "lesson"), ("c", 9, "lesson"), ("d", 8, "lesson")]}
    assert aims(solved(with_room(3)))["carried over"] == 1
    # Distance is least when the furthest of the chosen is carried over: 11 - 8 + 9 - 8 + 0.
    assert met(with_room(3)) == {"r": [("a", 11, "lesson"), ("c", 9, "lesson"), ("d", 8, "lesson")]}
    assert aims(solved(with_room(3)))["distance"] == 4


# -- late and carried over ---------------------------------------------------------------------------------------------


def test_a_weekly_class_meets_every_topic_again_or_carries_it_over() -> None:
    # Fourteen Mondays, eleven topics, 10 to 21 days: 14 or 21 days fit, in starters of one.
    lessons = [teach(f"t{number}", load=2) for number in range(1, 12)]
    data = on_mondays(*lessons, weeks=14, rules=chosen(10, 21) | {"starters": 1})
    body = answer_json(solved(data))
    again = {each["lesson"]: each["days"] for row in body["lessons"] for each in row["revisits"]}
    carried = {entry["lesson"] for entry in body["carried_over"]}
    assert set(again) | carried == {lesson["id"] for lesson in lessons}
    assert all(10 <= days <= 21 for days in again.values())
    assert body["late"] == []


def test_a_window_between_two_meetings_is_late_not_impossible() -> None:
    # 10 to 13 days lies between two Mondays: what is not carried over is met after 14 days, late.
    lessons = [teach(f"t{number}", load=2) for number in range(1, 12)]
    data = on_mondays(*lessons, weeks=14, rules=chosen(10, 13) | {"starters": 1})
    body = answer_json(solved(data))
    assert {each["days"] for row in body["lessons"] for each in row["revisits"]} == {14}
    assert len(body["late"]) + len(body["carried_over"]) == 11
    # Only the last two Mondays run past the end by 13 days: no more than two topics can lie there.
    assert len(body["carried_over"]) == 2


def test_teaching_is_not_delayed_to_escape_retrieval() -> None:
    # One topic, five Mondays, 10 to 13 days: early it is late (counted 1, 2 days from the preferred 11 or more), on the last two
    # Mondays it would be carried over (counted 1, no distance). Late is better than not at all, whatever distance says.
    filler = {"id": "filler", "kind": "assessment", "load": 1}
    data = scenario([teach("a"), filler], weeks=5, per_week=MONDAYS, rules=chosen(10, 13) | {"starters": 1})
    answer = solved(data)
    assert aims(answer)["carried over"] == 1
    assert [entry["lesson"] for entry in answer_json(answer)["late"]] == ["a"]
    assert answer_json(answer)["carried_over"] == []


# -- several retrievals ------------------------------------------------------------------------------------------------


def test_two_retrievals_of_one_lesson() -> None:
    # Mondays: met again after 7 days and after 21, counted from the lesson.
    lessons = [teach("a", on=day(1, "Mon")), *({"id": f"x{number}", "kind": "assessment", "load": 1} for number in range(4))]
    data = scenario(lessons, weeks=5, per_week=MONDAYS, rules=chosen(7, 8, then=[{"least": 20, "most": 22}]) | {"starters": 1})
    again = sorted(days for entries in met(data).values() for _, days, _ in entries)
    assert again == [7, 21]


def test_in_a_chain_days_are_counted_from_the_retrieval_before() -> None:
    # 7 days after the lesson, then 13 to 15 days after that: 21 days after the lesson.
    lessons = [teach("a", on=day(1, "Mon")), *({"id": f"x{number}", "kind": "assessment", "load": 1} for number in range(4))]
    then = [{"least": 13, "most": 15, "counted_from": "retrieval before"}]
    data = scenario(lessons, weeks=5, per_week=MONDAYS, rules=chosen(7, 8, then=then) | {"starters": 1})
    assert sorted(days for entries in met(data).values() for _, days, _ in entries) == [7, 21]
    assert aims(solved(data))["distance"] == 0  # 7 preferred of 7 to 8, 14 of 13 to 15


def test_in_a_chain_what_follows_one_carried_over_is_too() -> None:
    # Taught on the last Monday but one, nothing after it but one lesson 7 days on: both retrievals at 10 days and more are
    # carried over, and each counts.
    lessons = [teach("a", on=day(2, "Mon")), {"id": "x", "kind": "assessment", "load": 1, "on": day(3, "Mon")}]
    then = [{"least": 7, "most": 14, "counted_from": "retrieval before"}]
    data = scenario(lessons, weeks=3, per_week=MONDAYS, rules=chosen(10, 14, then=then) | {"starters": 1})
    answer = solved(data)
    assert aims(answer)["carried over"] == 2
    assert [entry["number"] for entry in answer_json(answer)["carried_over"]] == [1, 2]


def test_in_a_chain_one_that_nothing_can_follow_is_carried_over_though_a_lesson_lists_it() -> None:
    # Met in the practice on the second Monday, 7 days on; nothing is left for the third, to meet it 7 days after
    # that. The window of the first runs past the last Monday: both are carried over.
    lessons = [teach("a", load=4, on=day(1, "Mon")), practice("p", "a", starter="a", on=day(2, "Mon"))]
    then = [{"least": 7, "most": 7, "counted_from": "retrieval before"}]
    rules = chosen(7, 21, then=then) | {"practice_after_dense": {"within": 1}}
    answer = solved(scenario(lessons, weeks=3, per_week=MONDAYS, rules=rules))
    assert aims(answer)["carried over"] == 2


def test_retrievals_lie_on_distinct_dates() -> None:
    # The only lessons that follow lie 7 days on, both on one date: they do not make two retrievals.
    others = [{"id": f"x{number}", "kind": "assessment", "load": 1, "on": day(2, "Mon")} for number in range(2)]
    rules = chosen(5, 9, then=[{"least": 6, "most": 10}]) | {"starters": 1}
    lessons = [teach("a", on=day(1, "Mon")), *others]
    impossible(scenario(lessons, weeks=4, per_week="Mon 1-2", rules=rules))
    # Where the windows run past the last date, one of the two is carried over.
    assert listed(scenario(lessons, weeks=2, per_week="Mon 1-2", rules=rules), "carried_over") == ["a"]


# -- taught before the term --------------------------------------------------------------------------------------------


def test_what_was_taught_before_is_met_again() -> None:
    # Taught 10 days before the first Monday (Friday 23 October): 17 days on is the second Monday, the only one of 12 to 20.
    before = {"id": "maps", "title": "Maps", "date": "2026-10-23", "rules": chosen(12, 20)}
    data = scenario(
        [{"id": f"x{number}", "kind": "assessment", "load": 1} for number in range(3)],
        weeks=3, per_week=MONDAYS, rules={"starters": 1}, of_class={"taught_before": [before]},
    )  # fmt: skip
    again = {row["date"]: row["revisits"] for row in rows(solved(data)).values() if row["revisits"]}
    assert again == {day(2, "Mon"): [{"unit": "before", "lesson": "maps", "days": 17, "how": "starter"}]}


def test_a_window_that_has_gone_by_is_late_on_the_first_date() -> None:
    before = {"id": "maps", "date": "2026-10-01", "rules": chosen(12, 20)}
    lessons = [{"id": "x", "kind": "assessment", "load": 1, "on": day(1, "Mon")}]
    data = scenario(lessons, weeks=2, per_week=MONDAYS, rules={"starters": 1}, of_class={"taught_before": [before]})
    body = answer_json(solved(data))
    assert body["late"] == [{"class": "9B", "unit": "before", "lesson": "maps", "date": MONDAY.isoformat()}]


# -- the referee -------------------------------------------------------------------------------------------------------


def test_the_referee_judges_what_is_chosen() -> None:
    lessons = [teach("a"), teach("b"), {"id": "x", "kind": "assessment", "load": 1}]
    data = scenario(lessons, weeks=3, per_week=MONDAYS, rules=chosen(7, 14) | {"starters": 1})

    def breaches(**revisits: list[str]) -> list[tuple[int, list[str]]]:
        scenario_ = scenario_from_data(data)
        given = [
            {"class": "9B", "lesson": name, "date": day(week, "Mon"), "period": 1,
             "revisits": [{"unit": "u", "lesson": each} for each in revisits.get(name, [])]}
            for name, week in (("a", 1), ("b", 2), ("x", 3))
        ]  # fmt: skip
        verdict = check(scenario_, sequence_from_data(scenario_, {"lessons": given}))
        return [(breach.rule, sorted("abx"[index] for index in breach.lessons)) for breach in verdict.breaches]

    assert breaches(b=["a"], x=["b"]) == []
    assert breaches(b=["a"]) == []  # b is carried over: 14 days from the second Monday run past the third
    assert breaches(x=["b"]) == [(4, ["a"])]  # a's window ends on the last Monday: it must be met
    assert breaches(x=["a", "b"]) == [(4, ["a", "b", "x"])]  # one too many
    assert (4, ["a", "b"]) in breaches(a=["b"], x=["a"])  # a does not come after b


def test_every_day_a_class_of_five_a_week() -> None:
    # Ten lessons on ten days, window 3 to 5 days: whatever is not near the end is met in a starter.
    data = scenario(
        [teach(f"t{number}", load=2) for number in range(10)], weeks=2, per_week=EVERY_DAY,
        rules=chosen(3, 5) | {"starters": 1}, unit={"in_order": True},
    )  # fmt: skip
    body = answer_json(solved(data))
    assert {entry["lesson"] for entry in body["carried_over"]} == {"t7", "t8", "t9"}
    assert len([each for row in body["lessons"] for each in row["revisits"]]) == 7


def test_a_lesson_that_lies_late_for_want_of_meetings_is_told() -> None:
    # Fourteen Mondays and three short lessons: starters meet only what lessons follow, so a cannot lie on the first Monday.
    lessons = [teach("a"), teach("b"), teach("c")]
    rules = {"starters": 2, "retrieval": {"least": 10, "most": 14, "chosen": True}}
    data = scenario(lessons, weeks=14, per_week="Mon 1", unit={"in_order": True}, rules=rules)
    answer = solved(data)
    notes = [note for note in answer.notes if "no lesson that could meet it again lies in its window" in note]
    assert len(notes) == 1 and notes[0].startswith("9B: u/")
    # With a retrieval lesson to spare for each nothing lies late.
    room = [{"id": f"r{number}", "kind": "retrieval", "room": 1} for number in range(4)]
    data = scenario([*lessons, *room], weeks=14, per_week="Mon 1", unit={"in_order": True}, rules=rules)
    data["aims"] = ["carried over", "early finish"]
    assert [note for note in solved(data).notes if "in its window" in note] == []
