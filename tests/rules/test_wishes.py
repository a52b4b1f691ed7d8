"""Rules as wishes: what a weight does, how it is resolved, where it counts, and how wishes not granted are told."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import (
    answer_json,
    answer_text,
    build_instance,
    check,
    scenario_data,
    scenario_from_data,
    sequence_from_data,
    verdict_text,
)
from tests.builders import Data, a_class, aims, day, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, broken, hard, judged, placed, row, wish_cost

TWO_HARD = [hard("a"), hard("b")]


def cap(most: int, **more: Any) -> Data:
    return {"consecutive_high_load": {"most": most, **more}}


# -- a wish is granted where it can be, and costs where it cannot ------------------------------------------------------


def test_a_wish_is_granted_where_there_is_room() -> None:
    # Three periods, two hard lessons, none of which should follow another: Monday and Wednesday.
    data = scenario(TWO_HARD, weeks=1, per_week="Mon 1, Tue 1, Wed 1", rules=cap(1, wish=1))
    answer = solved(data)
    assert sorted(placed(answer).values()) == ["1 Mon 1", "1 Wed 1"]
    assert aims(answer)["wishes"] == 0
    assert answer_json(answer)["verdict"]["wishes"] == []


def test_a_wish_is_not_granted_where_there_is_none() -> None:
    # Two periods: hard, there is no sequence; as a wish of weight 7 it costs 7.
    base = {"weeks": 1, "per_week": "Mon 1, Tue 1"}
    impossible(scenario(TWO_HARD, **base, rules=cap(1)))
    answer = solved(scenario(TWO_HARD, **base, rules=cap(1, wish=7)))
    assert aims(answer)["wishes"] == 7
    (wish,) = answer_json(answer)["verdict"]["wishes"]
    assert (wish["rule"], wish["name"], wish["classes"]) == (2, "runs and threads", ["9B"])
    assert (wish["units"], wish["weight"]) == (1, 7)
    assert {lesson["lesson"] for lesson in wish["lessons"]} == {"a", "b"}


def test_what_is_wished_is_no_breach() -> None:
    data = scenario(TWO_HARD, weeks=1, per_week="Mon 1, Tue 1, Wed 1", rules=cap(1, wish=2))
    verdict = judged(data, a="1 Mon 1", b="1 Tue 1")
    assert verdict["sound"]
    assert verdict["aims"]["wishes"] == 2
    assert broken(data | {"rules": cap(1)}, a="1 Mon 1", b="1 Tue 1") == [(2, ["u/a", "u/b"])]


# -- the order of aims, and weights ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("order", "values"),
    [
        # Monday, Tuesday, Wednesday. Wished: no two in a row. Early finish: no spare period before the last lesson.
        (["wishes", "early finish"], {"wishes": 0, "early finish": 1}),
        (["early finish", "wishes"], {"early finish": 0, "wishes": 4}),
    ],
)
def test_the_order_of_aims_decides(order: list[str], values: dict[str, int]) -> None:
    rules = cap(1, wish=4) | {"practice_after_dense": "off"}
    data = scenario([teach("a", load=4), teach("b", load=4)], weeks=1, per_week="Mon 1, Tue 1, Wed 1", rules=rules, aims=order)
    assert aims(solved(data)) == values


@pytest.mark.parametrize(("first", "second", "place"), [(1, 3, "1 Fri 1"), (3, 1, "1 Mon 1"), (9, 2, "1 Mon 1")])
def test_weights_decide_between_wishes(first: int, second: int, place: str) -> None:
    # Both wish to be on Monday, which has one period: it is taken by the dearer wish, and the other is 4 days off, on Friday.
    lessons = [teach(name, on=day(1, "Mon"), rules={"dates": {"wish": wish}}) for name, wish in (("a", first), ("b", second))]
    answer = solved(scenario(lessons, weeks=1, per_week="Mon 1, Fri 1"))
    assert placed(answer)["a"] == place
    assert aims(answer)["wishes"] == 4 * min(first, second)


def test_a_hard_rule_is_never_given_up_for_a_wish() -> None:
    # Wished on Monday with weight 1000, but a needs what only Tuesday offers.
    lessons = [teach("a", on=day(1, "Mon"), needs="lab", rules={"dates": {"wish": 1000}})]
    own = {"timetable": {"Mon": 1, "Tue": {"period": 1, "offers": "lab"}}}
    answer = solved(scenario(lessons, weeks=1, of_class=own))
    assert placed(answer) == {"a": "1 Tue 1"}
    assert aims(answer)["wishes"] == 1000


# -- the narrowest wins ------------------------------------------------------------------------------------------------


ROW = {"a": "1 Mon 1", "b": "1 Tue 1"}


def test_a_narrower_number_inherits_the_weight() -> None:
    # The scenario wishes at most 2; the class says 1 and nothing of a wish: 1, as a wish of the same weight.
    own = {"rules": {"consecutive_high_load": 1}}
    data = scenario(TWO_HARD, weeks=1, per_week=EVERY_DAY, rules=cap(2, wish=5), of_class=own)
    assert wish_cost(data, **ROW) == 5


def test_off_makes_it_hard_again() -> None:
    own = {"rules": {"consecutive_high_load": {"most": 1, "wish": "off"}}}
    data = scenario(TWO_HARD, weeks=1, per_week=EVERY_DAY, rules=cap(2, wish=5), of_class=own)
    assert broken(data, **ROW) == [(2, ["u/a", "u/b"])]
    impossible(data | {"term": {"first": day(1, "Mon"), "last": day(1, "Tue")}})


def test_a_narrower_weight_without_a_number() -> None:
    own = {"rules": {"consecutive_high_load": {"wish": 3}}}
    data = scenario(TWO_HARD, weeks=1, per_week=EVERY_DAY, rules=cap(1), of_class=own)
    assert wish_cost(data, **ROW) == 3
    # For one lesson alone the other still holds the run to its number.
    lessons = [hard("a", rules={"consecutive_high_load": {"wish": 3}}), hard("b")]
    assert broken(scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=cap(1)), **ROW) == [(2, ["u/a", "u/b"])]


def test_a_rule_that_is_off_wishes_nothing() -> None:
    for rules in ({"consecutive_high_load": {"off": True, "wish": 9}}, {"consecutive_high_load": "off"}):
        data = scenario(TWO_HARD, weeks=1, per_week=EVERY_DAY, rules=cap(1, wish=9), of_class={"rules": rules})
        assert wish_cost(data, **ROW) == 0


def test_each_class_has_its_own_word() -> None:
    # 9B wishes, 9C demands: only 9C's run is a breach.
    classes = [a_class("9B", EVERY_DAY, rules=cap(1, wish=2)), a_class("9C", EVERY_DAY, rules=cap(1))]
    data = scenario(TWO_HARD, weeks=1, classes=classes)
    rows = [row(lesson, place, of) for of in ("9B", "9C") for lesson, place in ROW.items()]
    verdict = judged(data, *rows)
    assert [(breach["rule"], breach["classes"]) for breach in verdict["breaches"]] == [(2, ["9C"])]
    assert [(wish["rule"], wish["classes"], wish["weight"]) for wish in verdict["wishes"]] == [(2, ["9B"], 2)]


# -- what is told ------------------------------------------------------------------------------------------------------


def test_wishes_not_granted_are_told_as_text() -> None:
    data = scenario(TWO_HARD, weeks=1, per_week="Mon 1, Tue 1", rules=cap(1, wish=7))
    text = answer_text(solved(data))
    assert 'Wish not granted: 9B: 2 high-load lessons follow one another, at most 1 wished: "a", "b" (costs 7)' in text
    assert "Referee: every rule holds." in text


def test_many_wishes_are_told_in_short() -> None:
    # 30 periods of a week, each wished not to hold a lesson with the tag: 30 windows of one, 20 of them told one by one.
    lessons = [teach(f"x{number}", tags="lab") for number in range(30)]
    rules = {"caps": [{"tag": "lab", "most": 0, "of": 1, "wish": 2}]}
    data = scenario(lessons, weeks=1, per_week="Mon 1-6, Tue 1-6, Wed 1-6, Thu 1-6, Fri 1-6", rules=rules)
    lines = answer_text(solved(data)).splitlines()
    assert sum(line.startswith("Wish not granted") for line in lines) == 20
    assert "And 10 more wishes not granted (cost 20): --format json lists them." in lines


def test_wishes_about_live_are_listed_too() -> None:
    # One that prefers live in a spell fixed as set work, one that avoids it in a period fixed live. Being dense is no wish.
    spell = {"name": "remote", "first": day(1, "Mon"), "last": day(1, "Tue"), "taught": "set work"}
    spell["fixed"] = [{"taught": "live", "weekdays": "Tue"}]
    lessons = [teach("a", load=4, live="prefer", on=day(1, "Mon")), teach("b", live="avoid", on=day(1, "Tue"))]
    rules = {"practice_after_dense": "off"}
    answer = solved(scenario(lessons, weeks=1, remote_spells=[spell], rules=rules))
    found = answer_json(answer)["verdict"]["wishes"]
    assert [(wish["rule"], wish["lessons"][0]["lesson"], wish["units"], wish["weight"]) for wish in found] == [
        (5, "a", 1, 1),
        (5, "b", 1, 1),
    ]
    assert aims(answer)["wishes"] == 2


def test_a_check_of_a_sequence_by_hand_lists_breaches_and_wishes() -> None:
    data = scenario([hard("a"), hard("b", not_after=day(1, "Mon"))], weeks=1, per_week=EVERY_DAY, rules=cap(1, wish=3))
    read = scenario_from_data(data)
    verdict = check(read, sequence_from_data(read, {"lessons": [row("a", "1 Mon 1"), row("b", "1 Tue 1")]}))
    text = verdict_text(build_instance(read), verdict)
    assert text.splitlines()[0] == "Referee: 1 breach."
    assert text.count("rule 7 (dates)") == 1
    assert text.count("Wish not granted") == 1


def test_wishes_that_no_aim_counts_are_noted() -> None:
    data = scenario(TWO_HARD, weeks=1, per_week="Mon 1, Tue 1", rules=cap(1, wish=7))
    (note,) = answer_json(solved(data | {"aims": ["left out"]}))["notes"]
    assert "wish" in note and "aims" in note
    assert answer_json(solved(data))["notes"] == []
    # A weight of a rule that is hard again is no wish.
    own = {"rules": {"consecutive_high_load": {"wish": "off"}}}
    hard_again = scenario(TWO_HARD, weeks=1, per_week=EVERY_DAY, of_class=own, aims=["left out"])
    assert answer_json(solved(hard_again))["notes"] == []


def test_a_rule_that_is_hard_again_is_written_back_so() -> None:
    read = scenario_from_data(scenario([teach("a", rules={"dates": {"wish": "off"}})], rules={"dates": {"wish": 3}}))
    written = scenario_data(read)
    assert written["units"][0]["lessons"][0]["rules"] == {"dates": {"wish": "off"}}
    assert scenario_from_data(written) == read
    # Re-dating and the next term start from this form.
    assert scenario_from_data(read.model_dump(mode="json", by_alias=True, exclude_defaults=True)) == read
