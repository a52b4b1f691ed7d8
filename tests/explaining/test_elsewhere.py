"""Where else one lesson could lie: worked by hand, and every cost checked by a solve with the lesson pinned there."""

from __future__ import annotations

import pytest

from sequencer import (
    Elsewhere,
    UnusableSettings,
    build_instance,
    elsewhere,
    elsewhere_text,
    lesson_asked,
    scenario_from_data,
    solve,
)
from tests.builders import QUIET, a_class, day, retrieval, scenario, teach

RULES = {**QUIET, "retrieval": {"least": 5, "most": 9, "preferred": 7}}
LESSONS = [teach("a", not_after=day(1, "Tue")), teach("b", requires="a"), retrieval("r", "a")]


def looked_at(ref: str) -> Elsewhere:
    return elsewhere(scenario_from_data(scenario(LESSONS, rules=RULES)), "9B", ref)


def test_every_period_is_told() -> None:
    # Mondays and Tuesdays of two weeks. r lies 7 days after a. On the first Monday there is nothing that it could meet again; on
    # the first Tuesday a, of the day before, is carried over: 9 days after it the class does not meet any more.
    first, second, *last = looked_at("u/r").places
    assert first.costs is None and first.forbidden_by
    assert second.costs is not None and second.costs["carried over"] == 1
    assert any(place.here for place in last)


def test_what_forbids_a_period_is_named() -> None:
    first = looked_at("u/b").places[0]
    assert [statement.kind for statement in first.forbidden_by] in (["requires"], ["requires", "periods"])
    assert '"b" comes after "a", which it requires' in elsewhere_text(looked_at("u/b"))
    assert "u/b comes after u/a, which it requires" in elsewhere_text(looked_at("u/b"), ids=True)


def test_a_lesson_is_asked_about_by_title() -> None:
    lessons = [teach("a", title="Rivers: an overview"), teach("b", title="Floods"), teach("c", title="Floods")]
    two = build_instance(scenario_from_data(scenario(lessons, classes=[a_class("9B"), a_class("9C")])))
    one = build_instance(scenario_from_data(scenario(lessons, classes=[a_class("9B")])))
    assert lesson_asked(one, "rivers:  an overview") == lesson_asked(one, "9B:Rivers: an overview") == ("9B", "u/a")
    assert lesson_asked(two, "9C: u/b") == ("9C", "u/b")
    for asked, says in {
        "Rivers: an overview": r"can mean more than one lesson: write 9B:Rivers: an overview or 9C:Rivers: an overview",
        "9C:Floods": r"9C:Floods can mean more than one lesson: write 9C:u/b or 9C:u/c",
        "9C:Flods": r"9C has no lesson \"Flods\" that is still to be taught \(did you mean Floods\?\)",
    }.items():
        with pytest.raises(UnusableSettings, match=says):
            lesson_asked(two, asked)


def test_the_table_says_free_at_a_cost_or_no() -> None:
    told = elsewhere_text(looked_at("u/a")).splitlines()
    assert told[1].split("  ")[1] == "from" and told[1].endswith("because")
    assert any("it lies here" in line for line in told) and any("  no  " in line for line in told)


def test_costs_are_those_of_a_solve_with_the_lesson_pinned() -> None:
    found = looked_at("u/a")
    for place in found.places:
        pinned = [{**lesson} for lesson in LESSONS]
        pinned[0] |= {"on": place.slot.date.isoformat(), "period": place.slot.period}
        if place.costs is None:
            assert place.slot.date.isoformat() > day(1, "Tue")
            continue
        answer = solve(scenario_from_data(scenario(pinned, rules=RULES)))
        assert {aim.aim: aim.value for aim in answer.aims} == {aim: found.aims[aim] + cost for aim, cost in place.costs.items()}


def test_a_fixed_date_forbids_the_others() -> None:
    data = scenario([teach("a", on=day(1, "Tue")), teach("b")])
    found = elsewhere(scenario_from_data(data), "9B", "u/a")
    assert [[one.kind for one in place.forbidden_by] for place in found.places] == [["on"], [], ["on"], ["on"]]


def test_once_the_time_is_up_nothing_more_is_looked_for() -> None:
    made = scenario_from_data(scenario([teach("a"), teach("b", requires="a")]))
    found = elsewhere(made, "9B", "u/b", solve(made).sequence, seconds=0.0)
    assert [place.here for place in found.places].count(True) == 1
    assert all(place.here or (place.costs, place.proven, place.forbidden_by) == (None, False, ()) for place in found.places)


@pytest.mark.parametrize("ref", ["u/z", "v/a"])
def test_a_lesson_that_there_is_not(ref: str) -> None:
    with pytest.raises(UnusableSettings, match=f"names no lesson of the scenario: 9B:{ref}"):
        looked_at(ref)
