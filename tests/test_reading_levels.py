"""Checks across entries that depend on what holds where: nothing that makes sense is refused, and what does not is."""

from __future__ import annotations

import graphlib
import random
from itertools import pairwise
from typing import Any

import pytest

from sequencer import UnusableInput, scenario_from_data
from sequencer.scenario.references.circles import circles

Data = dict[str, Any]


def scenario(lessons: list[Data], **more: Any) -> Data:
    """Return a class, 9B, that takes one unit, u."""
    return {
        "format": 1,
        "term": {"first": "2026-11-02", "last": "2026-12-18"},
        "units": [{"id": "u", "lessons": lessons}],
        "classes": [{"id": "9B", "units": "u", "timetable": {"Mon": 1, "Thu": [1, 2]}}],
        **more,
    }


def two_units(first: Data, second: Data, **classes: list[str]) -> Data:
    """Return units u and v with lessons a and b each, and classes by name that take some of them."""
    pair: Data = {"lessons": [{"id": "a"}, {"id": "b"}]}
    return scenario(
        [],
        units=[{"id": "u", **pair, **first}, {"id": "v", **pair, **second}],
        classes=[{"id": name, "units": taken, "timetable": {"Mon": 1}} for name, taken in classes.items()],
    )


def refused(data: Data) -> list[str]:
    """Return what is said of a scenario; nothing when it can be read."""
    try:
        scenario_from_data(data)
    except UnusableInput as refusal:
        return [problem.text() for problem in refusal.problems]
    return []


# -- numbers that hold from further out --------------------------------------------------------------------------------


def retrieval(of_scenario: Any = None, of_class: Any = None, of_unit: Any = None, of_lesson: Any = None, own: Any = None) -> Data:
    """Return a scenario whose levels state these numbers for retrieval, broadest first."""

    def rules(numbers: Any) -> Data:
        return {} if numbers is None else {"rules": {"retrieval": numbers}}

    data = scenario([{"id": "a", **rules(of_lesson)}], **rules(of_scenario))
    data["units"][0] |= rules(of_unit)
    data["classes"][0] |= rules(of_class) | {"lessons": {"a": rules(own)}}
    return data


@pytest.mark.parametrize(
    "levels",
    [
        # Nothing is empty where it holds: 10 to 14 unless stated, number by number.
        {},
        {"of_scenario": {"least": 14}},
        {"of_scenario": {"most": 10}},
        {"of_scenario": {"least": 20}, "of_class": {"most": 20}},
        {"of_scenario": {"least": 20}, "of_class": {"most": 30}, "of_unit": {"preferred": 25}},
        {"of_class": {"least": 20}, "of_unit": {"most": 30}},
        {"of_class": {"least": 20}, "of_lesson": {"least": 5}},
        {"of_unit": {"least": 20}, "own": {"most": 21}},
        {"of_scenario": {"least": 20}, "of_class": "off"},
        {"of_scenario": "off", "of_class": {"least": 2, "most": 3}},
        # A preferred distance from further out may lie outside a window of its own.
        {"of_scenario": {"preferred": 12}, "of_lesson": {"least": 20, "most": 30}},
        {"of_scenario": {"preferred": 30}, "of_class": "off"},
    ],
)
def test_windows_that_leave_room(levels: Data) -> None:
    assert refused(retrieval(**levels)) == []


@pytest.mark.parametrize(
    ("levels", "line"),
    [
        ({"of_scenario": {"least": 15}}, "rules.retrieval.least is greater than most, 14 unless stated (got 15)"),
        ({"of_scenario": {"most": 9}}, "rules.retrieval.most is less than least, 10 unless stated (got 9)"),
        ({"of_class": {"least": 15}}, "classes[0].rules.retrieval.least is greater than most, 14 unless stated (got 15)"),
        (
            {"of_scenario": {"least": 20, "most": 30}, "of_class": {"most": 19}},
            "classes[0].rules.retrieval.most is less than least, 20 from rules.retrieval.least (got 19)",
        ),
        (
            {"of_class": {"least": 5, "most": 8}, "of_lesson": {"least": 9}},
            "units[0].lessons[0].rules.retrieval.least is greater than most, 8 from classes[0].rules.retrieval.most (got 9)",
        ),
        (
            {"of_lesson": {"most": 30, "least": 20}, "own": {"most": 19}},
            "classes[0].lessons.a.rules.retrieval.most is less than least, 20 "
            "from units[0].lessons[0].rules.retrieval.least (got 19)",
        ),
        # Switched off further out, and on again here, where a number further out holds again.
        (
            {"of_scenario": {"least": 20, "off": True}, "of_unit": {"preferred": 14}},
            "rules.retrieval.least is greater than most, 14 unless stated (got 20)",
        ),
        # Stated together and overruled everywhere: still a slip.
        (
            {"of_scenario": {"least": 9, "most": 8}, "of_class": {"least": 10, "most": 14}},
            "rules.retrieval.least must not be greater than most, 8 (got 9)",
        ),
        ({"of_class": {"preferred": 15}}, "classes[0].rules.retrieval.preferred is greater than most, 14 unless stated (got 15)"),
        (
            {"of_scenario": {"least": 5}, "own": {"preferred": 4}},
            "classes[0].lessons.a.rules.retrieval.preferred is less than least, 5 from rules.retrieval.least (got 4)",
        ),
    ],
)
def test_windows_that_leave_none(levels: Data, line: str) -> None:
    assert line in refused(retrieval(**levels))


def test_one_class_of_two_has_no_window_left() -> None:
    data = retrieval(of_scenario={"least": 20, "most": 21})
    data["classes"].append({**data["classes"][0], "id": "9C", "rules": {"retrieval": {"least": 22}}})
    assert refused(data) == ["classes[1].rules.retrieval.least is greater than most, 21 from rules.retrieval.most (got 22)"]


def test_a_unit_that_no_class_takes_is_checked_too() -> None:
    data = scenario([{"id": "a"}])
    data["units"].append({"id": "v", "lessons": [{"id": "a", "requires": "b"}, {"id": "b", "requires": "a"}]})
    data["units"][1]["rules"] = {"marking": {"most": 2}}
    assert refused(data) == [
        "units[1].lessons[1].requires makes lessons wait for one another in a circle: v/a -> v/b -> v/a",
        "units[1].rules.marking.most is less than least, 3 unless stated (got 2)",
    ]


# -- circles -----------------------------------------------------------------------------------------------------------

CIRCLE = [{"id": "a", "requires": "b"}, {"id": "b", "requires": "a"}]


def test_a_circle_is_none_where_prerequisites_are_off() -> None:
    assert refused(scenario(CIRCLE)) != []
    assert refused(scenario(CIRCLE, rules={"prerequisites": "off"})) == []
    lesson_off = [CIRCLE[0] | {"rules": {"prerequisites": "off"}}, CIRCLE[1]]
    assert refused(scenario(lesson_off)) == []
    data = scenario(lesson_off)
    data["classes"].append({**data["classes"][0], "id": "9C", "lessons": {"a": {"rules": {"prerequisites": {}}}}})
    assert refused(data) == ["units[0].lessons[1].requires makes lessons wait for one another in a circle: u/a -> u/b -> u/a"]


def test_what_serves_a_lesson_comes_after_it_even_where_prerequisites_are_off() -> None:
    lessons = [{"id": "x"}, {"id": "p", "kind": "practice", "practises": ["x", "y"]}, {"id": "y", "requires": "p"}]
    assert refused(scenario(lessons)) == [
        "units[0].lessons[2].requires makes lessons wait for one another in a circle: u/p -> u/y -> u/p"
    ]
    assert refused(scenario(lessons, rules={"prerequisites": "off"})) == []
    both = [
        {"id": "f", "kind": "feedback", "answers": "g"},
        {"id": "g", "kind": "practice", "practises": "x"},
        {"id": "x", "requires": "f"},
    ]
    assert len(refused(scenario(both))) == 1
    assert refused(scenario([both[0], both[1], {"id": "x"}], rules={"prerequisites": "off"})) == []


def test_a_long_circle_is_cut_short() -> None:
    ring = [{"id": f"l{n}", "requires": f"l{(n - 1) % 20}"} for n in range(20)]
    assert refused(scenario(ring)) == [
        "units[0].lessons[1].requires makes lessons wait for one another in a circle: "
        "u/l0 -> u/l1 -> u/l2 -> u/l3 -> u/l4 -> u/l5 -> (14 more) -> u/l0"
    ]


@pytest.mark.parametrize("seed", range(200))
def test_circles_are_found_where_the_standard_library_finds_no_order(seed: int) -> None:
    chance = random.Random(seed)
    size = chance.randint(1, 8)
    before = {node: [other for other in range(size) if chance.random() < 1.2 / size and other != node] for node in range(size)}
    found = list(circles(before))
    try:
        graphlib.TopologicalSorter(before).prepare()
        assert found == []
    except graphlib.CycleError:
        assert found
    for circle in found:
        assert circle[0] == circle[-1]
        assert len(set(circle)) == len(circle) - 1
        assert all(later in before[earlier] for earlier, later in pairwise(circle))
    # One from each knot, so no two share a node.
    on_circles = [node for circle in found for node in circle[1:]]
    assert len(set(on_circles)) == len(on_circles)


def test_each_knot_is_reported_once_by_its_shortest_circle() -> None:
    lessons = [
        {"id": "a", "requires": ["c", "b"]},
        {"id": "b", "requires": "a"},
        {"id": "c", "requires": "b"},
        {"id": "d", "requires": ["a", "e"]},
        {"id": "e", "requires": "d"},
    ]
    assert refused(scenario(lessons)) == [
        "units[0].lessons[1].requires makes lessons wait for one another in a circle: u/a -> u/b -> u/a",
        "units[0].lessons[4].requires makes lessons wait for one another in a circle: u/d -> u/e -> u/d",
    ]


def test_the_order_of_a_unit() -> None:
    lessons: list[Data] = [{"id": name} for name in "abcde"]
    data = scenario(lessons)
    data["units"][0]["in_order"] = True
    assert refused(data) == []
    lessons[0]["requires"] = "e"  # through b, c and d, which say no more
    assert refused(data) == ["units[0].lessons[0].requires makes lessons wait for one another in a circle: u/e -> u/a -> u/e"]
    # e, which carries the order, is let off: a, b, c and d are in order still, and e comes before them.
    lessons[4]["rules"] = {"prerequisites": "off"}
    assert refused(data) == []
    # Only teach lessons are in order.
    lessons[4] = {"id": "e", "kind": "assessment"}
    assert refused(data) == []
    # One that is let off in the middle does not interrupt the order of the others.
    lessons[0], lessons[2], lessons[4] = {"id": "a", "requires": "d"}, {"id": "c", "rules": {"prerequisites": "off"}}, {"id": "e"}
    assert refused(data) == ["units[0].lessons[0].requires makes lessons wait for one another in a circle: u/d -> u/a -> u/d"]


def test_units_after_one_another_matter_where_a_class_takes_both() -> None:
    first, second = {"after": "v"}, {"after": "u"}
    assert refused(two_units(first, second, c1=["u"], c2=["v"])) == []
    assert refused(two_units(first, second, c1=["u"], c2=["v", "u"])) == [
        "units[0].after makes units wait for one another in a circle: v -> u -> v"
    ]
    # Through a third that the class does not take there is no circle.
    data = two_units({"after": "w"}, {"after": "u"}, c1=["u", "v"])
    data["units"].append({"id": "w", "after": "v", "lessons": [{"id": "a"}]})
    assert refused(data) == []
    data["classes"][0]["units"] = ["u", "v", "w"]
    assert refused(data) == ["units[1].after makes units wait for one another in a circle: u -> v -> w -> u"]


def test_a_unit_after_another_against_a_lesson_of_it() -> None:
    first = {"lessons": [{"id": "a"}, {"id": "b", "requires": "v/a"}]}
    assert refused(two_units(first, {"after": "u"}, c1=["u", "v"])) == [
        "units[0].lessons[1].requires makes lessons wait for one another in a circle: v/a -> u/b -> v/a"
    ]
    # `after` is about teach lessons: an assessment of u may come after a lesson of v.
    first["lessons"][1]["kind"] = "assessment"
    assert refused(two_units(first, {"after": "u"}, c1=["u", "v"])) == []


def test_feedback_answers_anything_but_feedback() -> None:
    lessons: list[Data] = [{"id": "a"}, {"id": "f", "kind": "feedback", "answers": "a"}]
    assert refused(scenario(lessons)) == []
    lessons.append({"id": "g", "kind": "feedback", "answers": ["a", "f"]})
    assert refused(scenario(lessons)) == ['units[0].lessons[2].answers[1] is a feedback lesson itself ("f")']


# -- what depends on the class -----------------------------------------------------------------------------------------


def test_needs_are_those_of_each_class() -> None:
    data = scenario([{"id": "a", "needs": ["lab", "in school"]}])
    no_lab = 'units[0].lessons[0].needs[0] is offered by no period of class {} ("lab")'
    assert refused(data) == [no_lab.format("9B")]
    data["classes"].append({"id": "9C", "units": "u", "timetable": {"Mon": 1}, "offers": "lab"})
    assert refused(data) == [no_lab.format("9B")]
    data["remote_spells"] = [{"name": "remote", "on": "2026-11-05", "classes": "9C", "offers": "lab"}]
    assert refused(data) == [no_lab.format("9B")]
    data["remote_spells"][0]["classes"] = "9B"
    assert refused(data) == []
    data["remote_spells"][0]["offers"] = []
    for switched_off in ({"rules": {"place": "off"}}, {"lessons": {"a": {"rules": {"place": "off"}}}}):
        data["classes"][0] = {**scenario([])["classes"][0], **switched_off}
        assert refused(data) == []
    data["classes"][0] = scenario([])["classes"][0]
    data["shared"] = [{"name": "lab"}]
    assert refused(data) == []
    data["shared"][0]["only_where_offered"] = True
    assert refused(data) == [no_lab.format("9B")]


def test_dates_are_those_of_each_class() -> None:
    data = scenario([{"id": "a", "not_after": "2026-11-20", "period": 2}])
    assert refused(data) == ["units[0].lessons[0].period needs the date it belongs to (on)"]
    data["classes"][0]["lessons"] = {"a": {"on": "2026-11-19"}}
    assert refused(data) == []
    data["classes"][0]["lessons"] = {"a": {"on": "2026-11-26"}}
    assert refused(data) == ["classes[0].lessons.a.on must not lie after not_after, 2026-11-20 (got 2026-11-26)"]
    data["classes"][0]["lessons"]["a"]["not_after"] = "2026-11-27"
    assert refused(data) == []
    data["classes"][0]["lessons"]["a"] = {"on": "2027-11-26", "rules": {"dates": "off"}}
    assert refused(data) == []


def test_reports_may_be_due_after_term() -> None:
    assert refused(scenario([{"id": "a", "report_deadline": "2027-01-08"}])) == []


def test_the_first_and_last_day_of_term_are_in_it() -> None:
    lessons = [{"id": "a", "on": "2026-11-02"}, {"id": "b", "not_before": "2026-12-18", "not_after": "2026-12-18"}]
    half_in = [{"name": "half in", "first": "2026-10-26", "last": "2026-11-02"}, {"name": "last", "on": "2026-12-18"}]
    assert refused(scenario(lessons, holidays=half_in)) == []


def test_a_term_of_800_days_is_the_longest() -> None:
    # 2 November 2026 is day 1, so day 800 is 799 days later: 9 January 2029.
    data = scenario([{"id": "a"}], term={"first": "2026-11-02", "last": "2029-01-09"})
    assert refused(data) == []
    data["term"]["last"] = "2029-01-10"
    assert refused(data) == ["term.last makes 801 days; at most 800 can be planned"]


def test_entries_without_usable_names_are_not_held_against_others() -> None:
    data = scenario([{"id": "a", "requires": "b"}, {"title": "b"}])
    assert refused(data) == ["units[0].lessons[1] must have the key id"]
    data = scenario([{"id": "a"}])
    data["units"][0]["id"] = ["u"]
    assert refused(data) == ["units[0].id must be text (got a list of 1)"]
    data = scenario([{"id": "a"}], closures=[{"name": "c", "on": "2026-11-05", "classes": "9"}])
    data["classes"][0]["id"] = 9  # without quotes here, with quotes there: the same name is meant
    assert refused(data) == ['classes[0].id must be text: put it in quotes, such as "9"']
