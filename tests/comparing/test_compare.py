"""What-ifs beside the base: small cases worked by hand, and as few moves as any sequence needs by trying them all."""

from __future__ import annotations

import random
from datetime import date
from itertools import permutations
from typing import Any

import pytest

from sequencer import (
    Comparison,
    Placement,
    Sequence,
    SolveSettings,
    UnusableSettings,
    answer_json,
    apply_changes,
    build_instance,
    check,
    compare,
    comparison_json,
    comparison_text,
    scenario_from_data,
    sequence_from_data,
)
from tests.builders import QUIET, Data, a_class, day, scenario, teach

RULES = {**QUIET, "retrieval": "off"}
THREE = [teach("a"), teach("b", title="Second"), teach("c")]
SNOW = {"change": "add closure", "closure": {"name": "Snow", "on": [day(1, "Mon")]}}
FLOOD = {"change": "add closure", "closure": {"name": "Flood", "on": [day(2, "Mon")]}}


def with_what_ifs(what_ifs: dict[str, list[Data]], lessons: list[Data] = THREE, **more: Any) -> Data:
    """Four periods: Mon and Tue of two weeks; three lessons in order, so a, b, c, spare."""
    listed = [{"name": name, "changes": changes} for name, changes in what_ifs.items()]
    told = {"unit": {"in_order": True}, "rules": RULES, "per_week": "Mon 1, Tue 1"} | more
    return scenario(lessons, **told) | {"what_ifs": listed}


def compared(data: Data, close: bool = False) -> Comparison:
    return compare(scenario_from_data(data), SolveSettings(seconds=20), close)


def moves(body: Data) -> dict[str, tuple[str | None, str | None]]:
    return {
        f"{move['class']}/{move['lesson']}": (move["from"] and move["from"]["date"], move["to"] and move["to"]["date"])
        for move in body["moves"]
    }


def test_a_closed_day_moves_what_lay_on_it_and_what_comes_after() -> None:
    (body,) = comparison_json(compared(with_what_ifs({"snow": [SNOW]})))["what_ifs"]
    # Tue 1, Mon 2, Tue 2 are left for a, b, c.
    assert moves(body) == {
        "9B/a": (day(1, "Mon"), day(1, "Tue")),
        "9B/b": (day(1, "Tue"), day(2, "Mon")),
        "9B/c": (day(2, "Mon"), day(2, "Tue")),
    }
    assert (body["status"], body["moved"]) == ("optimal", 3)
    assert body["periods"] == [
        {
            "class": "9B",
            "lost": [{"date": day(1, "Mon"), "period": 1}],
            "gained": [],
            "turned_remote": [],
            "turned_in_school": [],
        }
    ]


DROPPED = {"change": "leave out", "lesson": "u/b"}


def test_what_is_dropped_may_draw_the_rest_forward_or_leave_it_where_it_was() -> None:
    data = with_what_ifs({"without": [DROPPED]}, aims=["left out", "early finish"])
    gone = {"9B/b": (day(1, "Tue"), None)}
    (free,) = comparison_json(compared(data))["what_ifs"]
    assert moves(free) == gone | {"9B/c": (day(2, "Mon"), day(1, "Tue"))}
    assert (free["moved"], free["fewest_moved"]) == (2, None)
    (close,) = comparison_json(compared(data, close=True))["what_ifs"]
    assert moves(close) == gone
    assert (close["moved"], close["fewest_moved"]) == (1, 1)
    assert free["left_out"] == close["left_out"] == [{"class": "9B", "unit": "u", "lesson": "b"}]
    # What staying costs is seen in the aims, beside the base's: Tue 1 is spare before c.
    aims = {each["aim"]: (each["value"], each["base_value"]) for each in close["aims"]}
    assert aims == {"left out": (0, 0), "early finish": (1, 0)}
    assert {each["aim"]: each["value"] for each in free["aims"]} == {"left out": 0, "early finish": 0}


def test_a_lesson_added_counts_as_no_move() -> None:
    added = {"change": "add lesson", "unit": "u", "lesson": teach("n"), "after": "a"}
    (body,) = comparison_json(compared(with_what_ifs({"more": [added]})))["what_ifs"]
    assert moves(body) == {
        "9B/n": (None, day(1, "Tue")),
        "9B/b": (day(1, "Tue"), day(2, "Mon")),
        "9B/c": (day(2, "Mon"), day(2, "Tue")),
    }
    assert body["moved"] == 2


def test_a_future_without_a_sequence_says_why() -> None:
    found = compared(with_what_ifs({"both": [SNOW, FLOOD], "snow": [SNOW]}))
    both, snow = comparison_json(found)["what_ifs"]
    # Tue 1 and Tue 2 for three lessons.
    assert (both["status"], both["moved"], both["moves"]) == ("infeasible", None, None)
    (conflict,) = both["explanation"]["conflicts"]
    assert conflict["proven_minimal"]
    assert {"/closures/0", "/closures/1"} <= {statement["pointer"] for statement in conflict["statements"]}
    assert (snow["status"], snow["explanation"]) == ("optimal", None)
    text = comparison_text(found)
    assert "impossible" in text and "Snow: no class meets" in text


def test_a_class_without_a_sequence_hides_no_other_and_brings_its_ways_out() -> None:
    trip = {"name": "Trip", "first": day(1, "Mon"), "last": day(2, "Mon"), "classes": ["9B"]}
    data = with_what_ifs({"trip": [{"change": "add closure", "closure": trip}]})
    data["classes"] = [a_class("9B", "Mon 1, Tue 1"), a_class("9C", "Mon 2, Tue 2")]
    found = compared(data, close=True)
    (future,) = found.futures
    assert (future.answer.status, future.hopeless) == ("infeasible", ("9B",))
    assert future.others is not None and future.others.status == "optimal" and future.moved == 0
    told = comparison_text(found)
    assert "proven best but for 9B" in told and "impossible for 9B: " in told and "a way out, cost " in told
    body = comparison_json(found)["what_ifs"][0]
    assert (body["status"], body["impossible_for"], body["moved"]) == ("infeasible", ["9B"], 0)
    assert body["explanation"]["repairs"]


def test_a_comparison_starts_from_the_plan_as_it_stands() -> None:
    # Nothing asks for an order, and the plan has c before b before a: it stays so, but for c, whose Monday snow takes.
    data = with_what_ifs({"snow": [SNOW]}, unit={"in_order": False})
    read = scenario_from_data(data)
    places = [(day(1, "Mon"), "c"), (day(1, "Tue"), "b"), (day(2, "Mon"), "a")]
    plan = sequence_from_data(read, [{"class": "9B", "lesson": name, "date": on, "period": 1} for on, name in places])
    found = compare(read, plan=plan)
    assert found.close and found.base.moved == 0 and found.base.answer.sequence is not None
    assert found.base.answer.sequence.placements == tuple(sorted(plan.placements, key=lambda each: each.lesson))
    (snow,) = found.futures
    assert (snow.moved, snow.fewest_moved) == (1, 1)
    assert [shift.title for shift in snow.shifts or ()] == ["c"]


def test_where_the_base_has_no_sequence_the_futures_have_theirs() -> None:
    data = with_what_ifs({"thaw": [{"change": "remove closure", "name": "Snow"}]})
    data["closures"] = [SNOW["closure"], FLOOD["closure"]]
    found = compared(data, close=True)
    assert found.base.answer.status == "infeasible" and found.base.explanation is not None
    (thaw,) = comparison_json(found)["what_ifs"]
    assert (thaw["status"], thaw["moved"], thaw["moves"]) == ("optimal", None, None)
    assert thaw["periods"][0]["gained"] == [{"date": day(1, "Mon"), "period": 1}]


def test_remote_periods_and_quotas_met_or_not() -> None:
    spell = {"change": "add remote spell", "spell": {"name": "Repairs", "first": day(1, "Mon"), "last": day(1, "Fri")}}
    wanted = {"per": "week", "least": 3, "most": 3}
    data = with_what_ifs({"home": [spell]}, rules={**RULES, "live_quotas": [wanted]})
    found = compared(data)
    (home,) = comparison_json(found)["what_ifs"]
    assert [period["date"] for period in home["periods"][0]["turned_remote"]] == [day(1, "Mon"), day(1, "Tue")]
    # Three are asked for in a week of two periods: both are live, and what was asked for is not met.
    assert home["live_quotas"] == [
        {"owner": "9B", "span": "week 1", "live": 2, "least": 2, "most": 3, "stated_least": 3, "wish": False, "met": False}
    ]
    assert comparison_json(found)["base"]["live_quotas"] == []
    assert "0 of 1" in comparison_text(found)


def test_two_lessons_that_were_told_apart_stay_the_other_way_round() -> None:
    """Of lessons that nothing tells apart the model keeps one order; where they stood the other way round, they stay."""
    pins = {"u/a": {"on": day(1, "Tue")}, "u/b": {"on": day(1, "Mon")}}
    lessons = [teach("a"), teach("b")]
    free = [{"change": "move dates", "lesson": ref, "class": "9B", "on": "off"} for ref in pins]
    classes = [a_class("9B", "Mon 1, Tue 1", lessons=pins)]
    listed = [{"name": "unpinned", "changes": free}]
    data = scenario(lessons, classes=classes, rules=RULES) | {"what_ifs": listed}
    (body,) = comparison_json(compared(data, close=True))["what_ifs"]
    assert body["moved"] == 0 and body["moves"] == []


def test_there_must_be_something_to_compare() -> None:
    with pytest.raises(UnusableSettings, match="no what_ifs"):
        compare(scenario_from_data(scenario(THREE)))
    with pytest.raises(UnusableSettings, match="alternatives"):
        compare(scenario_from_data(with_what_ifs({"snow": [SNOW]})), SolveSettings(alternatives=1))


def test_each_is_told_as_it_is_ready_the_base_first() -> None:
    told: list[str] = []
    data = with_what_ifs({"snow": [SNOW], "flood": [FLOOD]})
    compare(scenario_from_data(data), SolveSettings(seconds=20), ready=lambda future: told.append(future.name))
    assert told == ["base", "snow", "flood"]


def random_case(seed: int) -> Data:
    """Four lessons, some after others, in six periods of which the what-if takes one."""
    chance = random.Random(seed)
    names = ["a", "b", "c", "d"]
    lessons = []
    for place, name in enumerate(names):
        before = [other for other in names[:place] if chance.random() < 0.4]
        more: Data = {"requires": before} if before else {}
        lessons.append(teach(name, load=chance.randint(1, 5), **more))
    lost = {
        "change": "lose period",
        "class": "9B",
        "date": day(chance.randint(1, 2), chance.choice(["Mon", "Wed"])),
        "period": 1,
    }
    told: Data = {"unit": {}, "per_week": "Mon 1, Wed 1, Fri 1"}
    if seed % 2:  # with these aims alone a model may look at weeks instead of periods
        told["aims"] = ["left out", "even load"]
    return with_what_ifs({"lost": [lost]}, lessons, **told)


@pytest.mark.parametrize("seed", range(8))
def test_as_few_move_as_in_any_sequence(seed: int) -> None:
    read = scenario_from_data(random_case(seed))
    found = compare(read, SolveSettings(seconds=20), close=True)
    base = {row["lesson"]: (row["date"], row["period"]) for row in answer_json(found.base.answer)["lessons"]}
    made = apply_changes(read.model_copy(update={"what_ifs": ()}), read.what_ifs[0].changes)
    slots = build_instance(made).classes[0].slots
    names = [lesson.id for lesson in build_instance(made).lessons]
    assert len(slots) == 5
    least = len(names)
    for chosen in permutations(range(len(slots)), len(names)):
        at = dict(zip(names, chosen, strict=True))
        moved = sum((slots[slot].date.isoformat(), slots[slot].period) != base[name] for name, slot in at.items())
        if moved < least:
            placed = Sequence(tuple(Placement(index, slot, "in class") for index, slot in enumerate(chosen)))
            least = moved if check(made, placed).sound else least
    (future,) = found.futures
    assert (future.moved, future.fewest_moved) == (least, least)
    # The moves, read off the two answers by themselves.
    now = {row["lesson"]: (row["date"], row["period"]) for row in answer_json(future.answer)["lessons"]}
    told = {
        shift.name[2]: tuple(at and (date.isoformat(at[0]), at[1]) for at in (shift.old, shift.new))
        for shift in future.shifts or ()
    }
    assert told == {name: (base[name], now[name]) for name in names if base[name] != now[name]}


def test_classes_that_share_a_set_of_kit_move_as_few_lessons_as_must() -> None:
    """Mon 1 and Tue 1 for both classes, one set of kit: when 9B loses its Monday, it takes 9C's Tuesday with the kit or waits."""
    lessons = [teach("x", needs="kit", not_after=day(1, "Fri"))]
    classes = [a_class("9B", "Mon 1, Tue 1"), a_class("9C", "Mon 1, Tue 1")]
    data = scenario(lessons, weeks=1, classes=classes, rules=RULES, shared=[{"name": "kit"}])
    data["what_ifs"] = [
        {
            "name": f"{name} loses {weekday}",
            "changes": [{"change": "lose period", "class": name, "date": day(1, weekday), "period": 1}],
        }
        for name in ("9B", "9C")
        for weekday in ("Mon", "Tue")
    ]
    found = compared(data, close=True)
    base = {row["class"]: row["date"] for row in answer_json(found.base.answer)["lessons"]}
    assert sorted(base.values()) == [day(1, "Mon"), day(1, "Tue")]
    # Who loses the day that it has must take the other's, who must change over: both move. Any other loss moves nobody.
    for future in found.futures:
        name, _, weekday = future.name.split()
        expected = 2 if base[name] == day(1, weekday) else 0
        assert (future.moved, future.fewest_moved) == (expected, expected), future.name
