"""How many repairs there are: three where three exist, and that there are no more where there are fewer."""

from __future__ import annotations

import pytest

from sequencer import ExplainSettings, Scenario, SolveSettings, StopSignal, explain, explanation_text, scenario_from_data
from sequencer.questions.explaining import known_conflicts
from sequencer.questions.explaining.known_conflicts import part_of
from sequencer.questions.explaining.leaving_out import fewest_left_out
from sequencer.questions.explaining.minimal_conflict import Search
from sequencer.questions.explaining.possible import Clock
from sequencer.questions.explaining.repairs import Repairs
from sequencer.questions.explaining.statements import take_apart
from tests.builders import a_class, day, practice, scenario, teach
from tests.rules.helpers import EVERY_DAY


def test_where_two_repairs_exist_it_is_said_that_there_are_no_more() -> None:
    # No three periods follow one another, but two do: the lesson is shortened to these, or left out.
    data = scenario([teach("a", length=3), teach("b")], classes=[a_class(timetable={"Mon": [1, 2], "Tue": [1]})])
    found = explain(scenario_from_data(data))
    assert sorted([change.change for change in repair.changes] for repair in found.repairs) == [["leave out"], ["lesson"]]
    assert (found.cheapest, found.no_more) == (True, True)
    assert "No other change of the kinds that are tried would do" in explanation_text(found)


def test_a_repair_is_found_where_the_machine_is_busy() -> None:
    """A first sequence that comes late (here: later than in no time) is waited for, as there is time left."""
    data = scenario([teach("a"), teach("b"), teach("c")], per_week="Mon 1", weeks=2)
    assert explain(scenario_from_data(data), ExplainSettings(repairs=1, solve_seconds=0.0)).repairs


def test_where_further_repairs_exist_nothing_is_said_of_no_more() -> None:
    found = explain(scenario_from_data(scenario([teach(name) for name in "abcde"])), ExplainSettings(repairs=3))
    assert (len(found.repairs), found.no_more) == (3, False)
    assert "No other change" not in explanation_text(found)


@pytest.mark.parametrize("kept", [None, *"abcdef"])
def test_another_lesson_is_left_out_where_one_is_kept(kept: str | None) -> None:
    # Six lessons for four periods: two are left out, whichever is kept.
    read = scenario_from_data(scenario([teach(name) for name in "abcdef"]))
    lesson = (read.classes[0].id, f"{read.units[0].id}/{kept}") if kept is not None else None
    left_out = fewest_left_out(read, SolveSettings(seconds=20), StopSignal(), lesson)
    assert left_out is not None and len(left_out) == 2
    assert lesson not in left_out


def test_a_choice_is_part_of_one_that_turns_as_many_dials_as_far() -> None:
    week, lesson = ("week",), ("lesson",)
    assert part_of({week: 1}, {week: 2, lesson: 1})
    assert not part_of({week: 2}, {week: 1, lesson: 1})


def test_periods_between_two_lessons_are_those_of_the_timetable() -> None:
    """As the class meets, practice two periods later will do; were it thought to meet more often, ten would be needed."""
    lessons = [teach("x", load=4, not_after=day(1, "Mon")), practice("p", "x", not_before=day(2, "Mon"))]
    data = scenario(lessons, repair_costs={"day": 100})
    found = explain(scenario_from_data(data), ExplainSettings(conflicts=1, repairs=1))
    (repair,) = found.repairs
    assert (repair.cost, found.cheapest) == (2, True)
    (change,) = repair.changes
    assert change.model_dump(exclude_defaults=True)["rules"] == {"practice_after_dense": {"within": 2}}


def test_a_closure_between_two_lessons_counts_no_period() -> None:
    # b comes at most one period after a; Tuesday is closed, and Wednesday is another lesson's.
    lessons = [
        teach("a", on=day(1, "Mon")), teach("c", on=day(1, "Wed")),
        teach("b", requires={"lesson": "a", "most_slots": 1}, not_before=day(1, "Thu")),
    ]  # fmt: skip
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, closures=[{"name": "Snow", "on": day(1, "Tue")}])
    found = explain(scenario_from_data(data), ExplainSettings(conflicts=1, repairs=1))
    (repair,) = found.repairs
    # Of Monday, Wednesday and Thursday the third is two periods after the first: one more than stated.
    assert (repair.cost, found.cheapest) == (2, True)


def test_nothing_is_taken_apart_once_the_time_is_up(monkeypatch: pytest.MonkeyPatch) -> None:
    # A conflict that holds many statements has many ways out: each of them took as long as reading the scenario.
    stated = take_apart(scenario_from_data(scenario([teach(name) for name in "abcdef"])))
    clock = Clock(20, 20)
    found = Search(stated, clock).conflict()
    assert found is not None and len(found.statements) > 5
    asked = clock.asked
    clock.stop.stop()
    assert Search(stated, clock).conflict() is None

    def never(_: Scenario) -> None:
        raise AssertionError

    monkeypatch.setattr(known_conflicts, "take_apart", never)
    assert Repairs(stated, (found,), clock, 1.0).cheapest(3).repairs == ()
    assert clock.asked == asked
