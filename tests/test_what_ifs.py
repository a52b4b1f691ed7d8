"""What-ifs in a scenario: they build on one another, read back, and say wrong references in their place like any other."""

from __future__ import annotations

import pytest

from sequencer import UnusableInput, load_scenario, scenario_data, scenario_from_data, scenario_yaml, solve
from sequencer.scenario.schema import chain, future
from tests.builders import Data, assessment, day, scenario, teach

CLOSED = {"change": "add closure", "closure": {"name": "Snow", "on": [day(1, "Mon")]}}
DROPPED = {"change": "leave out", "lesson": "u/b"}
LATER = {"change": "move dates", "lesson": "u/t", "not_before": day(2, "Mon")}


def with_what_ifs(*what_ifs: Data) -> Data:
    lessons = [teach("a"), teach("b"), assessment("t", not_after=day(2, "Tue"))]
    return scenario(lessons, per_week="Mon 1, Tue 1") | {"what_ifs": list(what_ifs)}


def what_if(name: str, *changes: Data, **more: str) -> Data:
    return {"name": name, "changes": list(changes), **more}


def problems(data: Data) -> list[tuple[str, str]]:
    with pytest.raises(UnusableInput) as refused:
        scenario_from_data(data)
    return [(problem.where, problem.message) for problem in refused.value.problems]


def test_one_builds_on_another_wherever_it_stands_in_the_list() -> None:
    read = scenario_from_data(
        with_what_ifs(
            what_if("both", DROPPED, builds_on="snow"), what_if("snow", CLOSED), what_if("all", LATER, builds_on="both")
        )
    )
    assert [chain(read, place) for place in range(3)] == [(1, 0), (1,), (1, 0, 2)]
    both, snow, all_ = (future(read, place) for place in range(3))
    assert len(snow.closures) == 1 and not snow.record
    assert len(both.closures) == 1 and [entry.lesson for entry in both.record] == ["b"]
    assert all_.units[0].lessons[2].not_before is not None and len(all_.record) == 1
    assert not all_.what_ifs and not read.closures


def test_they_read_back_as_data_and_as_text() -> None:
    lesson = {"change": "add lesson", "unit": "u", "lesson": teach("n", requires="a")}
    quota = {"change": "live quota", "class": "9B", "first": day(1, "Mon"), "last": day(1, "Fri"), "least": "off", "most": 2}
    rules = {"change": "rules", "rules": {"consecutive_high_load": 3, "retrieval": {"most": 19}}}
    read = scenario_from_data(with_what_ifs(what_if("x", CLOSED, lesson), what_if("y", quota, rules, LATER, builds_on="x")))
    assert scenario_from_data(scenario_data(read)) == read
    assert load_scenario(scenario_yaml(read)) == read


def test_the_scenario_itself_heeds_none_of_them() -> None:
    one, other = (solve(scenario_from_data(with_what_ifs(*each))) for each in ((), (what_if("x", CLOSED),)))
    assert one.sequence == other.sequence and one.aims == other.aims


def test_names_and_circles_are_reported_together_in_their_places() -> None:
    found = problems(
        with_what_ifs(
            what_if("a", CLOSED, builds_on="b"),
            what_if("b", CLOSED, builds_on="a"),
            what_if("b", CLOSED),
            what_if("self", CLOSED, builds_on="self"),
            what_if("base", CLOSED, builds_on="sellf"),
        )
    )
    assert found == [
        ("what_ifs[0].builds_on", 'makes a circle: "a" builds on "b" builds on "a"'),
        ("what_ifs[2].name", 'repeats the name of what_ifs[1] ("b")'),
        ("what_ifs[3].builds_on", "names the what-if itself: self"),
        ("what_ifs[4].name", "is what the scenario as it stands is called; a what-if needs another name (base)"),
        ("what_ifs[4].builds_on", "names no what-if of the scenario: sellf (did you mean self?)"),
    ]


def test_what_a_change_names_must_be_there_and_is_said_once() -> None:
    wrong = {"change": "remove closure", "name": "Rain"}
    unknown = what_if("z", {**DROPPED, "lesson": "u/q"})
    found = problems(with_what_ifs(what_if("x", CLOSED, wrong), what_if("y", LATER, builds_on="x"), unknown))
    assert found == [
        ("what_ifs[0].changes[1].name", "names no closure of the scenario: Rain"),
        ("what_ifs[2].changes[0].lesson", "names no lesson of unit u: q"),
    ]


def test_a_what_if_may_change_what_another_that_it_builds_on_has_added() -> None:
    undone = {"change": "remove closure", "name": "Snow"}
    read = scenario_from_data(with_what_ifs(what_if("snow", CLOSED), what_if("thaw", undone, builds_on="snow")))
    assert not future(read, 1).closures


def test_what_a_what_if_makes_must_be_a_scenario() -> None:
    ((where, message),) = problems(with_what_ifs(what_if("x", {**LATER, "not_before": day(2, "Wed")})))
    assert where == "what_ifs[0]"
    assert message.startswith("makes what cannot be used: units[0].lessons[2].not_")


def test_unknown_kinds_of_change_are_said_with_the_nearest() -> None:
    found = problems(with_what_ifs(what_if("x", {"change": "leave oyt", "lesson": "u/b"}, {"lesson": "u/b"})))
    assert [where for where, _ in found] == ["what_ifs[0].changes[0]", "what_ifs[0].changes[1]"]
    assert found[0][1].endswith('(got "leave oyt") (did you mean leave out?)')
    assert found[1][1] == "must have the key change"
