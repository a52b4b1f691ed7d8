"""What the next term takes over from this one: what is left, and what its rules must still see."""

from __future__ import annotations

import re
from datetime import date

import pytest

from sequencer import Shown, UnusableSettings, answer_json, build_instance, scenario_from_data, term_of, week, written
from tests.builders import (
    QUIET,
    Data,
    a_class,
    assessment,
    day,
    feedback,
    impossible,
    practice,
    retrieval,
    rows,
    scenario,
    solved,
    teach,
)
from tests.rolling.helpers import FIRST, filled, new, rolled, row
from tests.rules.helpers import EVERY_DAY, hard
from tests.terms.helpers import ticked

# -- what is met again -------------------------------------------------------------------------------------------------

LISTED = scenario([teach("x"), teach("y"), retrieval("r", ["x", "y"])], per_week=EVERY_DAY, rules=QUIET)
"""x on Monday of week 1 is met again in r on Thursday of week 2, after 10 days; y, taught on Wednesday of week 2, is not."""
LISTED_ROWS = (row("x", "1 Mon 1"), row("y", "2 Wed 1"), row("r", "2 Thu 1"))


def test_a_retrieval_carried_over_is_met_and_one_that_was_met_is_not_asked_for_again() -> None:
    result = rolled(LISTED, *LISTED_ROWS)
    assert result.carried == ('9B: "y", taught Wed 11 Nov 2026, to be met again by Sun 6 Dec 2026',)
    answer = solved(new(result))
    # y may be met from the first day of the new term, 12 days on; r, which lists it, came too soon.
    met = {name: found["revisits"] for name, found in rows(answer).items() if found["revisits"] and not found["delivered"]}
    assert met == {"again-1": [{"unit": "u", "lesson": "y", "days": 12, "how": "lesson"}]}
    assert answer_json(answer)["carried_over"] == answer_json(answer)["late"] == []


def test_what_is_said_of_the_inside_of_lessons_holds_in_every_term() -> None:
    usual = {"id": "usual", "opening": [{"title": "Register", "kind": "settle", "minutes": {"least": 3, "most": 3}}]}
    said = {"lesson_minutes": 50, "change_over": 4, "margin": 2, "usual_outlines": [usual], "repair_costs": {"leave_out": 7}}
    stated = scenario([teach("x"), teach("y")], unit={"outline": "usual"}, per_week=EVERY_DAY, rules=QUIET, **said)
    kept = new(rolled(stated, row("x", "1 Mon 1")))
    assert {key: kept[key] for key in said} == said
    assert [unit.get("outline") for unit in kept["units"]] == ["usual"]


def test_what_a_teacher_sees_are_the_weeks_of_the_new_term() -> None:
    """Week 1 is that of its first day. What was taught before it still counts, and stands in the record and in JSON alone."""
    answer = solved(filled(rolled(LISTED, *LISTED_ROWS), assessment("test"), teach("z")))
    listed = answer_json(answer)["lessons"]
    assert {each["week"] for each in listed if each["delivered"]} <= {0, -1}
    assert min(each["date"] for each in listed if each["week"] == 1) >= FIRST.isoformat()
    assert term_of(answer.instance.scenario).scenario.term.week_one == FIRST
    for form in ("sheet", "overview", "text"):
        told = str(written(answer, form, Shown()))
        assert "23 Nov" in told and not re.search(r"\b1[0345] Nov|[Ww]eek (0|-1)\b", told), form
    assert "23 Nov" in str(written(answer, "sheet", Shown(weeks=(1,))))
    starts = re.findall("DTSTART.*:(2026....)", str(written(answer, "calendar", Shown()), "utf-8"))
    assert min(starts) >= "20261123" and "2026-11-11" not in str(written(answer, "csv", Shown()), "utf-8")
    with pytest.raises(UnusableSettings, match="school weeks are 1 "):
        Shown(weeks=(0,)).check(answer.instance)
    made = week(term_of(answer.instance.scenario), FIRST)
    planned = made.term
    assert planned.plan is not None and min(row.date for row in planned.plan.lessons) >= FIRST
    assert made.said[0].startswith(f"Planned: {len(planned.plan.lessons)} lesson")
    again = week(ticked(planned, FIRST), FIRST)
    assert again.done == "planned again" and again.again is not None and not again.again.moved


def test_the_window_is_as_long_as_it_was_without_the_days_between_the_terms() -> None:
    (own,) = [entry for ref, entry in new(rolled(LISTED, *LISTED_ROWS))["classes"][0]["lessons"].items() if ref == "u/y"]
    # 10 to 14 days, 12 preferred; taught on Wednesday 11th. In any case there are two weeks from Monday 23rd.
    assert own == {"rules": {"retrieval": {"least": 12, "most": 25, "preferred": 12}}}


def test_a_window_that_closes_in_the_new_term_gains_the_days_away() -> None:
    data = scenario([teach("x", rules={"retrieval": {"least": 20, "most": 40}}), retrieval("r", "x")], per_week=EVERY_DAY)
    result = rolled(data, row("x", "1 Mon 1"), row("r", "1 Tue 1"))
    # x was on 2 November; the last period was on Friday 13, the next is on Monday 23: ten days more than 40.
    (topic,) = new(result)["classes"][0]["taught_before"]
    assert (topic["id"], topic["rules"]["retrieval"]["least"], topic["rules"]["retrieval"]["most"]) == ("x", 21, 50)


def test_a_window_that_opens_in_the_new_term_opens_when_it_would_have() -> None:
    data = scenario([teach("x", rules={"retrieval": {"least": 30, "most": 40}}), retrieval("r", "x")], per_week=EVERY_DAY)
    result = rolled(data, row("x", "1 Mon 1"), row("r", "1 Tue 1"))
    # The new term begins on day 21; ten days between the terms are added to the end alone. The day half way stays preferred.
    (topic,) = new(result)["classes"][0]["taught_before"]
    assert topic["rules"]["retrieval"] == {"least": 30, "most": 50, "preferred": 35}


def test_of_several_times_only_those_left_are_asked_for() -> None:
    then = [{"least": 6, "most": 10}, {"least": 10, "most": 20, "counted_from": "retrieval before"}]
    numbers: Data = {"least": 2, "most": 3, "preferred": 2, "chosen": True, "then": then}
    data = scenario([teach("x"), teach("y"), teach("z")], per_week=EVERY_DAY, rules=QUIET | {"starters": 1})
    data["units"][0]["lessons"][0]["rules"] = {"retrieval": numbers}
    data["units"].append({"id": "v", "lessons": [teach("a"), teach("b")]})
    data["classes"][0]["later_units"] = "v"
    met = {"revisits": ["x"]}
    result = rolled(data, row("x", "1 Mon 1"), row("y", "1 Wed 1") | met, row("z", "2 Tue 1") | met)
    (topic,) = new(result)["classes"][0]["taught_before"]
    # Met on Wednesday 4th and, eight days after it was taught, on Tuesday 10th. The third time counts from there: 18 to 28 days
    # from x, and the ten days away more; the term begins on the 21st day.
    assert topic["rules"]["retrieval"] == {"least": 21, "most": 38, "preferred": 23, "chosen": True, "then": []}
    nearest = solved(new(result) | {"aims": ["carried over", "distance"]})
    again = [(name, found["revisits"]) for name, found in rows(nearest).items() if found["revisits"]]
    assert again in ([(name, [{"unit": "before", "lesson": "x", "days": 23, "how": "starter"}])] for name in ("a", "b"))


def test_a_chain_of_which_none_was_met_goes_on_as_a_chain() -> None:
    then = [{"least": 5, "most": 9, "counted_from": "retrieval before"}]
    data = scenario([teach("x", rules={"retrieval": {"then": then}}), retrieval("r", "x")], per_week=EVERY_DAY, rules=QUIET)
    data["classes"][0]["later_units"] = "v"
    data["patterns"] = [{"id": "quiz", "retrieval": {}}]
    data["units"].append({"id": "v", "pattern": "quiz", "lessons": [teach("a"), teach("b"), teach("c")]})
    result = rolled(data, row("x", "2 Thu 1"), row("r", "2 Fri 1"))
    body = answer_json(solved(new(result)))
    dates = [found["date"] for found in body["lessons"] if any(met["lesson"] == "x" for met in found["revisits"])]
    assert dates[0] == "2026-11-13" and len(dates) == 3, dates
    one, two = (date.fromisoformat(day) for day in dates[1:])
    assert one >= FIRST and 5 <= (two - one).days <= 9


# -- what rules must still see -----------------------------------------------------------------------------------------


def test_a_run_of_high_load_lessons_goes_on_over_the_boundary() -> None:
    data = scenario([hard("a"), hard("b"), teach("w", load=1)], per_week=EVERY_DAY)
    result = rolled(data, row("w", "2 Mon 1"), row("a", "2 Thu 1"), row("b", "2 Fri 1"))
    straight_on = filled(result, hard("c", on="2026-11-23"))
    impossible(straight_on)
    assert rows(solved(filled(result, hard("c", not_after="2026-11-24"))))["c"]["date"] == "2026-11-24"
    # With one lesson of the run in another place nothing stands in its way.
    apart = rolled(data, row("w", "2 Mon 1"), row("a", "2 Wed 1"), row("b", "2 Fri 1"))
    assert rows(solved(filled(apart, hard("c", on="2026-11-23"))))["c"]["date"] == "2026-11-23"


def test_the_tail_is_as_long_as_a_thread_needs() -> None:
    rules: Data = QUIET | {"threads": [{"tag": "maths", "least": 1, "of": 7}]}
    lessons = [teach("m", tags="maths"), *(teach(name) for name in "abcdef")]
    data = scenario(lessons, per_week=EVERY_DAY, rules=rules)
    taught = [row("m", "1 Fri 1"), *(row(name, f"2 {day_} 1") for name, day_ in zip("abcde", EVERY, strict=True))]
    data["units"][0]["lessons"] = lessons[:-1]
    result = rolled(data, *taught)
    # Six periods before the new term's first: Friday of week 1 among them.
    assert result.scenario.term.first == date(2026, 11, 2)
    # a to e on five days of week 2, and two lessons more: seven periods without maths.
    on, after = teach("n", on="2026-11-23"), teach("o", on="2026-11-24")
    solved(filled(result, on))
    impossible(filled(result, on, after))
    solved(filled(result, on, after | {"tags": "maths"}))
    assert rolled(data | {"rules": QUIET}, *taught).scenario.term.first == date(2026, 11, 9)


EVERY = ("Mon", "Tue", "Wed", "Thu", "Fri")


def test_labels_go_on() -> None:
    data = scenario([teach("x")], term={"first": "2026-11-02", "last": "2026-11-13", "cycle": ["A", "B"]})
    weeks = build_instance(rolled(data, row("x", "2 Mon 1")).scenario).calendar.weeks
    assert [(week.monday.isoformat(), week.label) for week in weeks][:3] == [
        ("2026-11-09", "B"),
        ("2026-11-23", "A"),
        ("2026-11-30", "B"),
    ]


def test_what_lies_on_dates_of_the_tail_is_kept() -> None:
    data = scenario(
        [teach("x")],
        per_week=EVERY_DAY,
        closures=[{"name": "Early", "on": ["2026-11-03", "2026-11-10"]}, {"name": "Over", "on": "2026-11-04"}],
        remote_spells=[{"name": "Far", "first": "2026-11-05", "last": "2026-11-12", "taught": "live"}],
        record=[{"class": "9B", "lesson": "x", "what": "lost", "date": "2026-11-13"}],
    )
    result = new(rolled(data, row("x", "2 Wed 1")))
    assert result["closures"] == [
        {"name": "Early", "on": "2026-11-10"},
        {"name": "Lost period of 9B", "on": "2026-11-13", "classes": "9B"},
    ]
    assert result["remote_spells"] == [{"name": "Far", "first": "2026-11-09", "last": "2026-11-12", "taught": "live"}]
    assert result["record"] == [{"class": "9B", "unit": "u", "lesson": "x", "date": "2026-11-11", "period": 1, "taught": "live"}]


# -- what is left to do ------------------------------------------------------------------------------------------------


def test_practice_left_over_follows_straight_on() -> None:
    data = scenario([teach("x", load=4)], per_week=EVERY_DAY)
    result = rolled(data, row("x", "2 Fri 1"))
    assert result.carried == ('9B: practice of "x"',)
    assert rows(solved(filled(result, teach("n"))))["practice-1"]["date"] == "2026-11-23"


def test_days_to_practise_do_not_run_while_school_is_out() -> None:
    # Within three days; ten lie between Friday 13th and Monday 23rd.
    data = scenario([teach("x", load=4), practice("p", "x")], per_week=EVERY_DAY, rules={"practice_after_dense": {"days": 3}})
    result = rolled(data, row("x", "2 Fri 1"))
    assert new(result)["classes"][0]["lessons"] == {"u/x": {"rules": {"practice_after_dense": {"days": 13}}}}
    assert rows(solved(new(result)))["p"]["date"] == "2026-11-23"


def test_made_practice_left_over_is_listed_under_its_name() -> None:
    pattern: Data = {"id": "usual", "practice": {}}
    data = scenario([teach("x", load=4)], per_week=EVERY_DAY, unit={"pattern": "usual"}, patterns=[pattern])
    assert rows(solved(new(rolled(data, row("x", "2 Fri 1")))))["x-practice"]["date"] == "2026-11-23"
    taught = rolled(data, row("x", "2 Thu 1"), row("x-practice", "2 Fri 1"))
    assert [name for name, found in rows(solved(new(taught))).items() if not found["delivered"]] == []


def test_unmarked_work_keeps_its_feedback_and_its_marking_time() -> None:
    data = scenario([assessment("test"), feedback("talk", "test"), teach("x")], per_week=EVERY_DAY, rules={"marking": 4})
    # Friday, Monday, Tuesday, Wednesday: four school days later, which is as late as this term goes.
    result = rolled(data, row("x", "1 Mon 1"), row("test", "2 Thu 1"), last=date(2026, 11, 25))
    assert '9B: feedback on "test"' in result.carried
    assert rows(solved(new(result)))["talk"]["date"] == "2026-11-25"


def test_feedback_that_a_pattern_makes_goes_on_with_what_it_answers() -> None:
    # Nothing was taught: practice, writing and the feedback on both are all still to come.
    pattern: Data = {"id": "usual", "practice": {}, "writing": {}, "feedback": {"answers": ["practice", "assessment"]}}
    data = scenario([teach("x", load=4)], per_week=EVERY_DAY, unit={"pattern": "usual"}, patterns=[pattern])
    result = rolled(data)
    for name in ("x", "Practice: x", "Exam-style writing", "Feedback"):
        assert f'9B: "{name}", still to be taught' in result.carried
    assert set(rows(solved(new(result)))) >= {"x", "x-practice", "writing", "feedback"}


def test_feedback_on_practice_that_was_only_begun_goes_on() -> None:
    pattern: Data = {"id": "usual", "practice": {}, "feedback": {}}
    record = [
        {"class": "9B", "lesson": "x", "date": "2026-11-12", "period": 1},
        {"class": "9B", "lesson": "x-practice", "what": "part-taught", "date": "2026-11-13", "period": 1},
    ]
    data = scenario([teach("x", load=4)], per_week=EVERY_DAY, unit={"pattern": "usual"}, patterns=[pattern], record=record)
    result = rolled(data)
    assert not any(entry.get("what") == "skipped" for entry in new(result)["record"])
    left = [name for name, found in rows(solved(new(result))).items() if not found["delivered"]]
    assert left == ["x-practice-rest", "feedback"]


PRACTISED = {"id": "usual", "practice": {}, "feedback": {}}
"""A pattern that makes practice of dense lessons, and feedback on it."""


def part_taught(lesson: str, place: str, what: str = "part-taught") -> Data:
    week, weekday = place.split()
    return {"class": "9B", "lesson": lesson, "what": what, "date": day(int(week), weekday), "period": 1}


def test_made_practice_that_was_part_taught_goes_on_with_its_feedback() -> None:
    record = [part_taught("x", "2 Thu", "delivered"), part_taught("x-practice", "2 Fri")]
    data = scenario([teach("x", load=4)], per_week=EVERY_DAY, unit={"pattern": "usual"}, patterns=[PRACTISED], record=record)
    # Four school days: what is left of the practice must come on the first for the feedback to come on the last.
    result = rolled(data, last=date(2026, 11, 26))
    assert [entry["lesson"] for entry in new(result)["record"] if entry.get("what") == "skipped"] == []
    assert result.carried == (
        '9B: "Practice: x (rest)", still to be taught',
        '9B: "Feedback", still to be taught',
        '9B: feedback on "Practice: x"',
    )
    placed = {name: found["date"] for name, found in rows(solved(new(result))).items() if not found["delivered"]}
    # Three school days are for marking, unless stated.
    assert placed == {"x-practice-rest": "2026-11-23", "feedback": "2026-11-26"}


def test_made_feedback_goes_on_with_practice_that_is_still_to_be_taught() -> None:
    # Nothing was taught: x, its practice and the feedback on it are all to come.
    data = scenario([teach("x", load=4)], per_week=EVERY_DAY, unit={"pattern": "usual"}, patterns=[PRACTISED])
    result = rolled(data)
    assert '9B: "Feedback", still to be taught' in result.carried
    assert new(result)["units"][0]["lessons"][-1]["answers"] == "x-practice"
    assert list(rows(solved(new(result)))) == ["x", "x-practice", "feedback"]


def test_made_feedback_on_retrieval_that_is_listed_elsewhere_is_told() -> None:
    pattern: Data = {"id": "usual", "retrieval": {}, "feedback": {}}
    data = scenario([teach("x")], per_week=EVERY_DAY, unit={"pattern": "usual"}, patterns=[pattern])
    told = '9B: "Feedback": not carried over, since nothing that it is on was taught'
    assert told in rolled(data).no_longer_fits
    assert told in rolled(data, row("x", "2 Fri 1")).no_longer_fits
    # x was met again and feedback given: nothing is missing.
    data["units"][0]["lessons"][0]["rules"] = {"retrieval": {"least": 1, "most": 3}}
    met = row("retrieval-1", "1 Wed 1") | {"revisits": ["x"]}
    assert rolled(data, row("x", "1 Mon 1"), met, row("feedback", "2 Tue 1")).no_longer_fits == ()


def test_the_rest_that_a_teacher_skips_is_skipped_and_what_was_taught_has_its_feedback() -> None:
    skipped = {"class": "9B", "lesson": "x-practice-rest", "what": "skipped"}
    record = [part_taught("x", "2 Thu", "delivered"), part_taught("x-practice", "2 Fri"), skipped]
    data = scenario([teach("x", load=4)], per_week=EVERY_DAY, unit={"pattern": "usual"}, patterns=[PRACTISED], record=record)
    result = new(rolled(data))
    assert {**skipped, "unit": "u"} in result["record"]
    assert {name for name, found in rows(solved(result)).items() if not found["delivered"]} == {"feedback"}


@pytest.mark.parametrize("optional", [False, True])
def test_what_remains_of_a_lesson_that_could_be_left_out_is_not_called_skipped(optional: bool) -> None:
    # A made retrieval lesson and an optional lesson, both begun on Friday.
    pattern: Data = {"id": "usual", "retrieval": {}}
    lessons = [teach("x", rules={"retrieval": {"least": 3, "most": 5}}), teach("y", optional=True)]
    record = [part_taught("x", "2 Tue", "delivered"), part_taught("y" if optional else "retrieval-1", "2 Fri")]
    if not optional:
        record[-1]["revisits"] = ["x"]
    data = scenario(lessons, per_week=EVERY_DAY, unit={"pattern": "usual"}, patterns=[pattern], rules=QUIET, record=record)
    result = new(rolled(data))
    assert [entry for entry in result["record"] if entry.get("what") == "skipped" and "-rest" in entry["lesson"]] == []
    assert ("y-rest" if optional else "retrieval-1-rest") in rows(solved(result))


def test_lessons_never_taught_go_on_and_optional_ones_are_listed() -> None:
    data = scenario([teach("x"), teach("y", requires="x"), teach("z", optional=True)], per_week=EVERY_DAY)
    result = rolled(data, row("x", "1 Mon 1"))
    assert [lesson["id"] for lesson in new(result)["units"][0]["lessons"]] == ["y"]
    assert '9B: "z": left out this term, and not carried over' in result.no_longer_fits
    assert rows(solved(new(result)))["y"]["date"] == "2026-11-23"


def test_what_remains_of_a_lesson_goes_on() -> None:
    record = [
        {"class": "9B", "lesson": "x", "what": "part-taught", "date": day(2, "Thu"), "period": 1, "load": 2},
        {"class": "9B", "lesson": "y", "what": "skipped"},
    ]
    data = scenario([teach("x"), teach("y"), teach("z", requires=["x", "y"])], per_week=EVERY_DAY, record=record)
    answer = solved(new(rolled(data)))
    found = rows(answer)
    assert (found["x-rest"]["load"], found["x-rest"]["date"]) == (2, "2026-11-23")
    assert found["z"]["date"] > found["x-rest"]["date"] and "y" not in found


def test_dates_that_are_over_are_listed() -> None:
    data = scenario([teach("x", not_after=day(2, "Fri")), teach("w")], per_week=EVERY_DAY)
    result = rolled(data, row("w", "2 Mon 1"))
    assert '"x", not after Fri 13 Nov 2026: left out, since that is before Mon 23 Nov 2026' in result.no_longer_fits


# -- units -------------------------------------------------------------------------------------------------------------


def test_later_units_become_units_and_what_they_require_of_the_past_is_met() -> None:
    data = scenario([teach("x"), teach("w")], per_week=EVERY_DAY)
    data["units"].append({"id": "v", "after": "u", "lessons": [teach("a", requires="u/x")]})
    data["classes"][0]["later_units"] = "v"
    result = new(rolled(data, row("x", "1 Mon 1"), row("w", "1 Tue 1")))
    assert result["classes"][0]["units"] == "v" and "later_units" not in result["classes"][0]
    assert result["units"] == [{"id": "v", "lessons": [{"id": "a"}]}]


def two_units_then(*later: str, **unit: object) -> Data:
    """u and w this term, and later units of two teach lessons each; x of u is taught, y and all of w are not."""
    data = scenario([teach("x"), teach("y")], per_week=EVERY_DAY, of_class={"units": ["u", "w"], "later_units": list(later)})
    data["units"].append({"id": "w", "lessons": [teach("z")], **unit})
    data["units"] += [{"id": name, "lessons": [teach(f"{name}1"), teach(f"{name}2")]} for name in later]
    return data


def test_what_is_left_of_a_unit_comes_before_the_units_that_follow() -> None:
    result = rolled(two_units_then("v", after="u"), row("x", "1 Mon 1"))
    (later,) = [unit for unit in new(result)["units"] if unit["id"] == "v"]
    assert later["after"] == ["u", "w"]
    assert not [line for line in result.to_fill_in if "wait" in line]
    # Of u there is y, of w all of it: v does not begin before the third day.
    for on, possible in (("2026-11-24", False), ("2026-11-25", True)):
        data = new(result)
        next(unit for unit in data["units"] if unit["id"] == "v")["lessons"][0]["on"] = on
        (solved if possible else impossible)(data)


def test_what_is_left_of_a_class_s_only_unit_comes_first() -> None:
    data = scenario([teach("x"), teach("y")], per_week=EVERY_DAY, of_class={"later_units": "v"})
    data["units"].append({"id": "v", "lessons": [teach("a")]})
    assert new(rolled(data, row("x", "1 Mon 1")))["units"][1] == {"id": "v", "after": "u", "lessons": [{"id": "a"}]}


def test_of_units_that_ran_side_by_side_the_teacher_says_what_waits() -> None:
    result = rolled(two_units_then("v"), row("x", "1 Mon 1"), row("w/z", "1 Tue 1"))
    assert "after" not in next(unit for unit in new(result)["units"] if unit["id"] == "v")
    assert 'whether unit "v" waits for what 9B has left to be taught of unit "u" (under after)' in result.to_fill_in
    many = rolled(two_units_then("v", "n", "m"), row("x", "1 Mon 1"), row("w/z", "1 Tue 1"))
    assert (
        'whether unit "v", unit "n" and unit "m" wait for what 9B has left to be taught of unit "u" (under after)'
        in many.to_fill_in
    )
    none = rolled(two_units_then(), row("x", "1 Mon 1"), row("w/z", "1 Tue 1"))
    assert 'whether new units wait for what 9B has left to be taught of unit "u" (under after)' in none.to_fill_in


def test_a_unit_that_is_over_is_waited_for_by_none() -> None:
    data = two_units_then("v", after="u")
    result = rolled(data, row("x", "1 Mon 1"), row("y", "1 Tue 1"), row("w/z", "1 Wed 1"))
    assert "after" not in next(unit for unit in new(result)["units"] if unit["id"] == "v")
    assert not [line for line in result.to_fill_in if "wait" in line]


@pytest.mark.parametrize("other", [{"units": ["v", "u"]}, {"units": "w", "later_units": ["v", "u"]}])
def test_a_class_that_takes_both_units_at_once_is_not_put_in_another_s_order(other: Data) -> None:
    # 9B has some of u left and takes v next; 9C takes them side by side: it has some of both left, or takes both next.
    units = [{"id": name, "lessons": [teach(f"{name}1"), teach(f"{name}2")]} for name in ("u", "v", "w")]
    classes = [a_class("9B", EVERY_DAY, "u", later_units="v"), a_class("9C", EVERY_DAY) | other]
    result = rolled(scenario(units=units, classes=classes), row("u/u1", "1 Mon 1"))
    assert "u" not in next(unit for unit in new(result)["units"] if unit["id"] == "v").get("after", [])
    assert 'whether unit "v" waits for what 9B has left to be taught of unit "u" (under after)' in result.to_fill_in


def test_a_unit_that_comes_before_what_is_left_does_not_wait_for_it() -> None:
    units = [{"id": name, "lessons": [teach(f"{name}1"), teach(f"{name}2")]} for name in ("u", "v")]
    units[0]["after"] = "v"
    result = rolled(scenario(units=units, classes=[a_class("9B", EVERY_DAY, "u", later_units="v")]), row("u1", "1 Mon 1"))
    assert [unit.get("after") for unit in new(result)["units"]] == ["v", None]
    assert result.no_longer_fits == ()
    assert 'whether unit "v" waits for what 9B has left to be taught of unit "u" (under after)' in result.to_fill_in


def test_a_requirement_with_a_window_still_counts_from_the_past() -> None:
    data = scenario([teach("x"), teach("w")], per_week=EVERY_DAY)
    data["units"].append({"id": "v", "lessons": [teach("a", requires={"lesson": "u/x", "least_days": 30})]})
    data["classes"][0]["later_units"] = "v"
    found = rows(solved(new(rolled(data, row("x", "1 Mon 1"), row("w", "2 Tue 1")))))
    assert found["a"]["date"] == "2026-12-02"


def test_a_unit_that_one_class_has_had_and_another_takes_next_stays_whole() -> None:
    units = [
        {"id": "u", "pattern": "usual", "lessons": [teach("x", load=4), teach("y")]},
        {"id": "v", "lessons": [teach("a"), teach("b")]},
    ]
    classes = [a_class("9B", EVERY_DAY, "u"), a_class("9C", EVERY_DAY, "v", later_units="u")]
    pattern: Data = {"id": "usual", "practice": {}, "writing": {}}
    data = scenario(units=units, classes=classes, patterns=[pattern])
    taught = [row("u/x", "1 Mon 1"), row("u/x-practice", "1 Tue 1"), row("u/y", "2 Mon 1"), row("u/writing", "2 Tue 1")]
    result = rolled(data, *taught, row("v/a", "1 Mon 1", "9C"), row("v/b", "1 Tue 1", "9C"))
    answer = solved(new(result))
    assert all(found["delivered"] for found in rows(answer).values())
    fresh = rows(answer, "9C")
    assert set(fresh) == {"x", "x-practice", "y", "writing"}
    assert not any(found["delivered"] for found in fresh.values())


def test_a_class_that_has_left_is_gone() -> None:
    data = scenario([teach("x")], per_week=EVERY_DAY, classes=[a_class(leaves=day(2, "Wed")), a_class("9C")])
    result = rolled(data, row("x", "1 Mon 1"), row("x", "2 Mon 1", "9C"))
    assert [class_.id for class_ in result.scenario.classes] == ["9C"]
    assert result.no_longer_fits == ("class 9B: left out, since it leaves on Wed 11 Nov 2026",)


def test_what_goes_with_a_class_that_has_left_is_named_in_words() -> None:
    # T1 taught 9B alone; without it nobody whom the limits and the strand name teaches anything.
    classes = [a_class(leaves=day(2, "Wed"), teacher="T1"), a_class("9C", teacher="T2")]
    unit = {"title": "Coasts", "strands": [{"tag": "maths", "teacher": "T1"}]}
    data = scenario(
        [teach("x", title="Waves", tags="maths"), teach("y")],
        unit=unit,
        classes=classes,
        teachers=[{"name": "T1", "dense_a_day": 1}],
    )
    told = rolled(data, row("x", "1 Mon 1"), row("y", "1 Tue 1")).no_longer_fits
    assert 'limits of T1: left out, since it is nobody who teaches a class ("T1")' in told
    assert 'unit "Coasts", strand maths: left out, since it is nobody who teaches a class ("T1")' in told


def test_a_year_group_goes_on_without_a_class_that_has_left() -> None:
    fixed = {"name": "French", "fixed_assessments": [day(1, "Tue")]}
    subjects = [{"name": "Geography", "classes": "9C"}, {"name": "History", "classes": "9B"}, fixed]
    cohorts = [{"id": "Y9", "subjects": subjects}, {"id": "Y10", "subjects": [{"name": "Geography", "classes": "9B"}]}]
    classes = [a_class(leaves=day(2, "Wed")), a_class("9C")]
    result = rolled(scenario([teach("x")], classes=classes, cohorts=cohorts), row("x", "1 Mon 1"), row("x", "2 Mon 1", "9C"))
    (kept,) = new(result)["cohorts"]
    assert kept["id"] == "Y9" and [each["name"] for each in kept["subjects"]][:1] == ["Geography"]
    assert kept["subjects"][0]["classes"] == "9C" and "History" not in [each["name"] for each in kept["subjects"]]


def test_dates_of_the_next_term_are_held_to_this_one() -> None:
    data = scenario([teach("x")])
    with pytest.raises(UnusableSettings, match="must begin after this one ends, on Sun 15 Nov 2026"):
        rolled(data, first=date(2026, 11, 15))
    with pytest.raises(UnusableSettings, match="must not end before it begins"):
        rolled(data, last=date(2026, 11, 20))
    assert scenario_from_data(new(rolled(data, first=date(2026, 11, 16)))).today == date(2026, 11, 16)


def test_practice_listed_is_kept_with_what_it_practises() -> None:
    data = scenario([teach("x", load=4), practice("p", "x")], per_week=EVERY_DAY)
    result = rolled(data, row("x", "1 Fri 1"), row("p", "2 Mon 1"))
    assert [lesson["id"] for lesson in new(result)["units"][0]["lessons"]] == ["x", "p"]
    assert new(result)["record"][0] == {"class": "9B", "unit": "u", "lesson": "x", "date": "2026-11-06"}
