"""Patterns, what is met again, and what happened: nothing that makes sense is refused, and what does not is.

What is said of each mistake, and where, stands in ``tests/malformed``.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest

from sequencer import UnusableInput, build_instance, load_scenario, parse_document, scenario_from_data
from tests.builders import assessment, day, feedback, practice, retrieval, scenario, teach
from tests.malformed.grown import GROWN

Data = dict[str, Any]

USUAL: Data = {"id": "usual", "practice": {}, "retrieval": {"room": 2}, "feedback": {}, "writing": {}}


def refused(data: Data) -> list[str]:
    """Return what is said of a scenario; nothing when it can be read."""
    try:
        scenario_from_data(data)
    except UnusableInput as refusal:
        return [problem.text() for problem in refusal.problems]
    return []


def patterned(lessons: list[Data], pattern: Data | None = None, **more: Any) -> Data:
    """Return a class that takes one unit with a pattern, six weeks long."""
    return scenario(
        lessons, weeks=6, per_week="Mon 1, Wed 1-2", unit={"pattern": "usual"}, patterns=[USUAL | (pattern or {})], **more
    )


def names(data: Data) -> list[str]:
    """Return the ids of the lessons that a scenario comes to."""
    return [lesson.id for lesson in build_instance(scenario_from_data(data)).lessons]


def test_the_grown_scenario_can_be_read() -> None:
    assert load_scenario(GROWN).today is not None


# -- patterns ----------------------------------------------------------------------------------------------------------


def test_what_a_pattern_makes_can_be_named() -> None:
    data = patterned([teach("x", load=4), teach("y", requires="x-practice"), feedback("f", ["writing", "u/retrieval-1"])])
    data["units"].append({"id": "v", "lessons": [teach("z", requires=["u/x-practice", "u/feedback"])]})
    data["classes"][0] |= {"units": ["u", "v"], "lessons": {"x-practice": {"live": "prefer"}, "u/writing": {}}}
    assert refused(data) == []
    data["record"] = [{"class": "9B", "lesson": "x-practice", "date": day(1, "Mon"), "period": 1}]
    assert refused(data) == []


def test_a_lesson_listed_under_the_name_of_a_made_one_stands_in_its_place() -> None:
    lessons = [teach("x", load=4), practice("x-practice", "x"), assessment("writing"), retrieval("retrieval-1", "x")]
    assert refused(patterned(lessons)) == []
    assert names(patterned(lessons)) == ["x", "x-practice", "writing", "retrieval-1", "feedback"]


def test_a_lesson_of_another_unit_with_the_same_name_is_practised_there() -> None:
    data = patterned([teach("x", load=4), practice("p", "v/x")])
    data["units"].append({"id": "v", "lessons": [teach("x")]})
    data["classes"][0]["units"] = ["u", "v"]
    assert "x-practice" in names(data)


def test_a_load_that_is_high_unless_stated_makes_a_lesson_dense() -> None:
    assert "x-practice" in names(patterned([teach("x")], loads={"least": 4, "most": 5, "high": 4}))


def test_a_lesson_has_practice_of_its_own_where_the_pattern_makes_none() -> None:
    lessons = [teach("x", load=4, practice={"title": "Again, {lesson}"}), teach("y", load=5)]
    data = patterned(lessons)
    del data["patterns"][0]["practice"]
    assert refused(data) == []
    assert [name for name in names(data) if name.endswith("-practice")] == ["x-practice"]


def test_practice_is_made_for_the_classes_where_the_rule_holds() -> None:
    data = patterned([teach("x", load=4), teach("y", requires="x-practice")])
    data["classes"].append(data["classes"][0] | {"id": "9C", "rules": {"practice_after_dense": {"homework": {}}}})
    assert refused(data) == [
        'units[0].lessons[1].requires names "x-practice", which is not made for class 9C: '
        "practice_after_dense is off there, or homework serves"
    ]
    data["classes"][1]["lessons"] = {"x": {"rules": {"practice_after_dense": "off"}}}
    assert len(refused(data)) == 1
    data["classes"][1] |= {"rules": {"practice_after_dense": "off"}, "lessons": {"x": {"rules": {"practice_after_dense": {}}}}}
    assert refused(data) == []


@pytest.mark.parametrize("owner", ["pattern", "unit", "class", "scenario"])
def test_homework_for_many_lessons_may_concern_few(owner: str) -> None:
    rules = {"rules": {"practice_after_dense": {"homework": {"title": "{lesson} at home"}}}}
    data = patterned([teach("x", load=4), teach("y")])
    {"pattern": data["patterns"][0], "unit": data["units"][0], "class": data["classes"][0], "scenario": data}[owner] |= rules
    assert refused(data) == []


def test_rules_of_a_pattern_stand_between_those_of_class_and_unit() -> None:
    def with_marking(of_class: int | None, of_pattern: int | None, of_unit: Data) -> list[str]:
        def rules(numbers: Any) -> Data:
            return {} if numbers is None else {"rules": {"marking": numbers}}

        data = patterned([teach("x")], rules(of_pattern))
        data["classes"][0] |= rules(of_class)
        data["units"][0] |= rules(of_unit)
        return refused(data)

    assert with_marking(9, 4, {"most": 5}) == []
    assert with_marking(4, 9, {"most": 5}) == [
        "units[0].rules.marking.most is less than least, 9 from patterns[0].rules.marking (got 5)"
    ]
    assert with_marking(9, None, {"most": 5}) == [
        "units[0].rules.marking.most is less than least, 9 from classes[0].rules.marking (got 5)"
    ]
    assert with_marking(4, 9, {"most": 5, "least": 2}) == []


def test_circles_through_made_lessons_are_none_where_prerequisites_are_off() -> None:
    lessons = [teach("x", load=4, requires=["writing", "x-practice"])]
    assert refused(patterned(lessons)) == [
        "units[0].lessons[0].requires[1] makes lessons wait for one another in a circle: u/x-practice -> u/x -> u/x-practice"
    ]
    assert refused(patterned(lessons, rules={"prerequisites": "off"})) == []


def test_an_assessment_may_follow_what_a_pattern_makes() -> None:
    assert refused(patterned([teach("x"), assessment("test", requires=["writing", "feedback", "retrieval-1"])])) == []


# -- what is met again -------------------------------------------------------------------------------------------------

CHOSEN: Data = {"retrieval": {"chosen": True}}


def test_room_and_starters_make_sense_where_something_is_chosen() -> None:
    roomy = retrieval("r", room=2)
    del roomy["revisits"]
    assert refused(scenario([teach("x"), roomy], rules=CHOSEN)) == []
    assert refused(scenario([teach("x"), teach("y")], rules=CHOSEN | {"starters": 1})) == []
    assert refused(scenario([teach("x", rules=CHOSEN), teach("y", rules={"starters": 1})])) == []
    # Room for what is listed asks for no choice, nor does a rule that is off.
    assert refused(scenario([teach("x"), retrieval("r", "x", room=1)])) == []
    assert refused(scenario([teach("x"), teach("y", starter="x", rules={"starters": 1})])) == []
    assert refused(scenario([teach("x")], rules={"starters": {"most": 2, "off": True}})) == []


def test_listed_starters_stand_whatever_the_rule_says() -> None:
    for starters in (0, 1, "off"):
        data = scenario([teach("x"), teach("y"), teach("z", starter=["x", "y"], rules={"starters": starters})])
        assert refused(data) == []
        assert len(build_instance(scenario_from_data(data)).lessons[2].starter) == 2


def test_choice_without_room_is_no_slip() -> None:
    """What finds no room is carried over or leaves no sequence: the reading refuses neither."""
    lessons = [teach("x"), teach("y"), retrieval("r", "x")]
    assert refused(scenario(lessons, rules=CHOSEN)) == []
    assert refused(scenario([teach("x"), retrieval("r", "x")], rules=CHOSEN)) == []
    # A listed lesson without room in the place of the only one that would be made.
    assert refused(patterned([teach("x"), teach("y"), retrieval("retrieval-1", "x")], {"retrieval": {"most": 1}})) == []


def test_a_class_may_switch_off_what_its_unit_s_pattern_does() -> None:
    for rules in ({"retrieval": "off"}, {"retrieval": {"chosen": False}}, {"practice_after_dense": "off"}):
        assert refused(patterned([teach("x", load=4)], of_class={"rules": rules})) == []


def test_only_a_pattern_that_makes_retrieval_lessons_chooses() -> None:
    data = patterned([teach("x"), teach("y")])
    data["patterns"] = [{"id": "usual", "practice": {}}]
    assert refused(data) == []


def test_further_retrievals_that_follow_one_another() -> None:
    for then in (
        [{"least": 20, "most": 30}, {"least": 20, "most": 30, "preferred": 20}],
        [{"least": 5, "most": 11}],  # one day after the first, when that is met after 10
        [{"least": 28, "most": 28, "preferred": 28}],
        [{"least": 1, "most": 2, "counted_from": "retrieval before"}, {"least": 12, "most": 13}],
    ):
        assert refused(patterned([teach("x")], rules={"retrieval": {"then": then}})) == []
    # The window that holds for the lesson decides.
    numbers: Data = {"retrieval": {"then": [{"least": 5, "most": 9}]}}
    own: Data = {"retrieval": {"least": 3, "most": 4}}
    assert refused(patterned([teach("x", rules=own)], rules=numbers)) == []
    assert len(refused(patterned([teach("x", rules=own), teach("y")], rules=numbers))) == 1
    # Said once for all lessons, whatever their windows; a window of one day is one.
    late: Data = {"retrieval": {"least": 20, "most": 20, "then": [{"least": 40, "most": 40}, {"least": 5, "most": 9}]}}
    both = [teach("x"), teach("y", rules={"retrieval": {"least": 12}})]
    assert [line.split(" ")[0] for line in refused(patterned(both, rules=late))] == ["rules.retrieval.then[1].most"]


def test_aims_of_lessons_that_are_met_again_several_times() -> None:
    further: Data = {"retrieval": {"then": [{"least": 20, "most": 30}]}}
    assert refused(patterned([teach("x")], rules=further, aims=["left out", "carried over", "distance"])) == []
    assert refused(patterned([teach("x")], rules=further, aims=["even load"])) == []
    assert refused(patterned([teach("x")], aims=["distance"])) == []
    assert len(refused(patterned([teach("x")], rules=further, aims=["distance"]))) == 1
    assert refused(patterned([teach("x", rules={"retrieval": "off"})], rules=further, aims=["distance"])) == []


def before(*topics: Data, lessons: list[Data], **more: Any) -> Data:
    """Return a class that was taught some topics before the term."""
    return scenario(lessons, of_class={"taught_before": list(topics)}, **more)


def test_what_was_taught_before_can_be_named() -> None:
    rain = {"id": "rain", "date": "2026-10-20", "rules": {"retrieval": {"least": 14, "most": 30}, "marking": 2}}
    lessons = [
        teach("x", requires={"lesson": "before/rain", "least_days": 14}, starter="before/rain"),
        retrieval("r", "before/rain"),
    ]
    assert refused(before(rain, lessons=[*lessons, feedback("f", "before/rain")])) == []
    # Sunday 1 November is the day before the class first meets.
    assert refused(before(rain | {"date": "2026-11-01"}, lessons=lessons)) == []
    assert len(refused(before(rain | {"date": "2026-11-02"}, lessons=lessons))) == 1
    assert len(refused(before(rain | {"rules": {"retrieval": {"least": 31}}}, lessons=lessons))) == 1


def test_a_unit_that_nobody_takes_may_name_what_some_class_was_taught_before() -> None:
    data = before({"id": "rain", "date": "2026-10-20"}, lessons=[teach("x")])
    data["units"].append({"id": "v", "lessons": [retrieval("r", "before/rain")]})
    assert refused(data) == []
    data["units"][1]["lessons"][0]["revisits"] = "before/snowfall"
    assert refused(data) == [
        'units[1].lessons[0].revisits names "before/snowfall", which is not under taught_before of any class'
    ]


# -- what happened -----------------------------------------------------------------------------------------------------


def recorded(*entries: Data, lessons: list[Data] | None = None, **more: Any) -> Data:
    """Return class 9B, which meets on Mondays (1) and Wednesdays (1, 2), with a record."""
    listed = lessons or [teach("a"), teach("b"), teach("c"), teach("double", length=2), retrieval("r", "a")]
    return scenario(listed, weeks=4, per_week="Mon 1, Wed 1-2", record=[{"class": "9B", **entry} for entry in entries], **more)


def at(lesson: str, week: int, weekday: str, period: int | None = 1, **more: Any) -> Data:
    """Return an entry of the record."""
    return {"lesson": lesson, "date": day(week, weekday), **({} if period is None else {"period": period}), **more}


def test_what_happened_as_it_can_have_happened() -> None:
    for entries in (
        [at("a", 1, "Mon"), at("double", 1, "Wed")],
        [at("a", 1, "Wed", 2), at("b", 1, "Wed", 1)],
        [at("double", 1, "Wed", what="lost"), at("double", 1, "Wed", 2, what="lost"), at("double", 2, "Wed")],
        [at("a", 1, "Mon", None, what="lost"), at("a", 2, "Mon", what="lost"), at("a", 3, "Mon")],
        [at("a", 1, "Mon", what="lost"), {"lesson": "a", "what": "skipped"}],
        [at("a-rest", 1, "Wed", what="part-taught"), at("a-rest-rest", 2, "Mon"), at("a", 1, "Mon", what="part-taught", load=1)],
        [at("a", 1, "Mon", what="needs another", length=2), at("a-again", 1, "Wed")],
        [at("a", 1, "Mon"), at("b", 1, "Wed"), at("r", 1, "Wed", 2, revisits=["a", "b"])],
        # Before the class's first date: without a period, and several on one date.
        [at("a", -1, "Tue", None), at("b", -1, "Tue", None, revisits="a"), at("c", 0, "Fri", 3, taught="live")],
        [at("a", -1, "Tue", None, what="part-taught"), at("a-rest", -1, "Tue", None)],
    ):
        assert refused(recorded(*entries)) == [], entries


def test_today_and_what_happened_on_it() -> None:
    assert refused(recorded(at("a", 1, "Mon"), today=day(1, "Mon"))) == []
    assert len(refused(recorded(at("a", 1, "Wed"), today=day(1, "Tue")))) == 1
    # A plan that is made before term begins, and one on its last day, Sunday of week 4.
    assert refused(recorded(at("a", -1, "Tue", None), today="2026-10-25")) == []
    assert refused(recorded(today=day(4, "Sun"))) == []
    assert len(refused(recorded(today=day(5, "Mon")))) == 1
    term = {"first": day(1, "Mon"), "last": day(4, "Wed")}
    assert refused(recorded(at("a", 4, "Wed"), today=day(4, "Wed"), term=term)) == []


@pytest.mark.parametrize(
    ("fixed", "allowed"), [("open", ["live", "set work"]), ("live", ["live"]), ("set work", ["set work"]), (None, ["in class"])]
)
def test_how_a_lesson_can_have_been_taught(fixed: str | None, allowed: list[str]) -> None:
    spells = [] if fixed is None else [{"name": "remote", "on": day(1, "Mon"), "taught": fixed}]
    for taught in ("in class", "live", "set work"):
        said = refused(recorded(at("a", 1, "Mon", taught=taught), remote_spells=spells))
        expected = f"record[0].taught must be {' or '.join(allowed)} in that period (got {taught})"
        assert said == ([] if taught in allowed else [expected])


def test_periods_that_a_longer_lesson_may_span() -> None:
    assert refused(recorded(at("double", 1, "Wed"), adjacent_periods=[[1, 2]])) == []
    says = "record[0].period leaves no room for double, which takes 2 adjacent periods of one date"
    assert refused(recorded(at("double", 1, "Wed"), adjacent_periods=[[2, 3]])) == [says]
    # The rest of a single lesson may take two, and that of a double one.
    parts = [at("a", 1, "Mon", what="part-taught", length=2), at("a-rest", 1, "Wed")]
    assert refused(recorded(*parts)) == []
    # None is left on the last date, nor after it.
    data = recorded(at("double", 4, "Wed", 2))
    assert refused(data) == [says]
    parts[1]["period"] = 2
    assert refused(recorded(*parts)) == ["record[1].period leaves no room for a-rest, which takes 2 adjacent periods of one date"]


def test_what_was_met_again_was_taught_by_then() -> None:
    met = at("b", 1, "Wed", 1, revisits="a")
    late = ["record[0].revisits names a, which was not taught by then"]
    assert refused(recorded(met)) == late
    assert refused(recorded(met, at("a", 1, "Wed", 2))) == late
    assert refused(recorded(met, {"lesson": "a", "what": "skipped"})) == late
    assert refused(recorded(met, at("a", 1, "Mon"))) == []
    assert refused(recorded(met, at("a", 1, "Mon", what="part-taught"))) == []


def test_made_lessons_are_recorded_too() -> None:
    record = [{"class": "9B", **at("x", 1, "Mon")}, {"class": "9B", **at("x-practice", 1, "Wed", what="part-taught")}]
    data = patterned([teach("x", load=4)], record=[*record, {"class": "9B", **at("x-practice-rest", 1, "Wed", 2)}])
    assert refused(data) == []
    # What is made in two units is told apart by its unit.
    data["units"].append({"id": "v", "pattern": "usual", "lessons": [teach("y")]})
    data["classes"][0]["units"] = ["u", "v"]
    data["record"] = [{"class": "9B", **at("writing", 1, "Mon")}]
    assert refused(data) == ["record[0].lesson can mean more than one lesson of class 9B: write unit: u or unit: v"]
    data["record"][0]["unit"] = "v"
    assert refused(data) == []


def test_a_unit_tells_two_lessons_of_one_name_apart() -> None:
    data = recorded(at("x", 1, "Wed", 2, unit="v"), lessons=[teach("x")])
    data["units"].append({"id": "v", "lessons": [teach("x", length=2), teach("sites")]})
    data["classes"][0]["units"] = ["u", "v"]
    assert refused(data) == ["record[0].period leaves no room for x, which takes 2 adjacent periods of one date"]
    data["record"][0]["unit"] = "u"
    assert refused(data) == []
    # What another unit has is no lesson of this one, nor the nearest to one.
    data["record"] = [{"class": "9B", **at(name, 1, "Mon", unit="u")} for name in ("sites", "site")]
    assert refused(data) == [
        'record[0].lesson names no lesson of unit u: "sites"',
        'record[1].lesson names no lesson of unit u: "site"',
    ]


def test_a_lesson_whose_name_only_looks_like_a_rest() -> None:
    lessons = [teach("a"), teach("a-rest"), teach("a-again")]
    assert refused(recorded(at("a-rest", 1, "Mon"), lessons=lessons)) == []
    assert refused(recorded(at("a-rest", 1, "Mon"), at("a", 1, "Wed"), lessons=lessons)) == []
    assert refused(recorded(at("a-again", 1, "Mon"), at("a", 1, "Wed", what="part-taught"), lessons=lessons)) == [
        "record[1].lesson leaves a lesson to be called a-rest, as another of unit u is already"
    ]
    assert len(refused(recorded(at("a-rest", 1, "Mon"), at("a", 1, "Wed", what="part-taught"), lessons=lessons))) == 1


def test_a_period_that_was_not_there_cannot_be_lost() -> None:
    assert refused(recorded(at("a", 1, "Mon", 2, what="lost"))) == [
        "record[0].period is none in which class 9B meets on 2026-11-02: it meets in period 1 (got 2)"
    ]


def test_the_longest_names_can_be_recorded() -> None:
    longest = "x" * 60
    record = [{"class": "9B", **at(f"{longest}-practice", 1, "Mon", what="needs another")}]
    data = patterned([teach(longest, load=4), teach("y", requires=f"u/{longest}-practice")], record=record)
    data["record"].append({"class": "9B", **at(f"{longest}-practice-again", 1, "Wed", revisits=f"u/{longest}")})
    assert refused(data) == [f"record[1].revisits names u/{longest}, which was not taught by then"]


def test_periods_are_looked_at_when_nothing_else_is_wrong() -> None:
    data = recorded(at("a", 1, "Tue"), at("b", 1, "Sun"))
    assert [line.split(" ")[0] for line in refused(data)] == ["record[0].date", "record[1].date"]
    data["record"][1]["lesson"] = "d"
    assert [line.split(" ")[0] for line in refused(data)] == ["record[1].lesson"]


def test_a_class_that_never_meets_has_no_first_date() -> None:
    data = recorded(at("a", 1, "Mon", None), closures=[{"name": "flood", "first": day(1, "Mon"), "last": day(4, "Sun")}])
    data["classes"][0]["taught_before"] = [{"id": "rain", "date": day(1, "Mon")}]
    assert refused(data) == []
    data["record"][0]["what"] = "lost"
    assert refused(data) == ["record[0].date is a date on which class 9B does not meet"]


# -- garbled -----------------------------------------------------------------------------------------------------------

ODD: tuple[Any, ...] = (
    None, True, -1, 2, "source", "before/rain", "9B", "2026-11-09", "part-taught", [], [{}], ["source", "source"],
    {"id": "source"}, {"least": 3}, {"then": [{"least": 1, "most": 2}]},
)  # fmt: skip


@pytest.mark.parametrize("apart", [3, pytest.param(1, marks=pytest.mark.slow)])
def test_one_odd_value_anywhere_is_read_or_refused(apart: int) -> None:
    """At each place every third of the odd values, beginning with another one than at the place before; by name all of them."""
    original = parse_document(GROWN)[0]
    refusals = 0
    for number, path in enumerate(_paths(original)):
        for value in ODD[number % apart :: apart]:
            data = json.loads(json.dumps(original))
            inside = data
            for part in path[:-1]:
                inside = inside[part]
            inside[path[-1]] = value
            try:
                build_instance(scenario_from_data(data))
            except UnusableInput as refusal:
                assert all(problem.message for problem in refusal.problems)
                refusals += 1
    assert refusals > 500 / apart


def _paths(data: Any, above: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    for key in data if isinstance(data, dict) else range(len(data)) if isinstance(data, list) else ():
        yield (*above, key)
        yield from _paths(data[key], (*above, key))
