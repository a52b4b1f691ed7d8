"""Alternatives: further sequences as good as the best one, as different as can be. Every answer is worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from sequencer import (
    Answer,
    Progress,
    RefereeDisagrees,
    SolveSettings,
    StopSignal,
    UnusableSettings,
    answer_json,
    answer_text,
    build_instance,
    check,
    read_loss,
    read_scenario,
    scenario_from_data,
    sequence_from_data,
    solve,
)
from sequencer.solver.aim_search import GroupResult, GroupSearch, StageResult
from sequencer.solver.further import FurtherSearch
from sequencer.solver.model import ClassesModel, Prepared, build_model
from sequencer.solver.solver_calls import Budget, Calls
from tests.builders import Data, a_class, day, retrieval, scenario, solved, teach, term

SCENARIOS = Path(__file__).resolve().parent.parent / "scenarios"
TWO_DAYS, THREE_DAYS = "Mon 1, Tue 1", "Mon 1, Tue 1, Wed 1"


def asked(data: Data, alternatives: int, **settings: Any) -> Answer:
    """Solve for alternatives; all that are given must be proven as different as can be and must pass the referee."""
    answer = solved(data, alternatives=alternatives, **settings)
    given = scenario_from_data(data)
    for alternative in answer_json(answer)["alternatives"]:
        assert alternative["proven"] and alternative["bound"] == alternative["difference"]
        verdict = check(given, sequence_from_data(given, {"lessons": alternative["lessons"]}))
        assert verdict.sound
        assert alternative["aims"] == {aim: verdict.aims[aim] for aim in alternative["aims"]}
    return answer


def differences(answer: Answer) -> list[int]:
    return [alternative.difference for alternative in answer.alternatives]


def none_left(answer: Answer) -> bool:
    assert answer.further is not None
    return answer.further.none_left


def one_of_each_load(count: int, **more: Any) -> list[Data]:
    """Lessons that differ in their loads only, so that none is the twin of another: low loads, under no rule."""
    return [teach(f"l{load}", load=load, **more) for load in range(1, count + 1)]


# -- how many there are ------------------------------------------------------------------------------------------------


def test_no_further_sequence() -> None:
    # Two periods, and b must follow a: there is one sequence.
    answer = asked(scenario([teach("a"), teach("b", requires="a")], weeks=1, per_week=TWO_DAYS), 3)
    assert (answer.alternatives, none_left(answer)) == ((), True)
    assert "Proven: no other dates and periods are as good." in answer_text(answer)


def test_exactly_one_further_sequence() -> None:
    # Two lessons in two periods, either first: both move.
    answer = asked(scenario(one_of_each_load(2), weeks=1, per_week=TWO_DAYS), 3)
    assert (differences(answer), none_left(answer)) == ([2], True)
    best, other = answer_json(answer), answer_json(answer)["alternatives"][0]
    assert [lesson["lesson"] for lesson in other["lessons"]] == [lesson["lesson"] for lesson in best["lessons"]][::-1]
    moved = {move["lesson"]: (move["from"]["date"], move["to"]["date"]) for move in other["moved"]}
    first, second = (lesson["lesson"] for lesson in best["lessons"])
    assert moved == {first: (day(1, "Mon"), day(1, "Tue")), second: (day(1, "Tue"), day(1, "Mon"))}


def test_as_many_as_are_asked_for_and_no_more() -> None:
    # Of the six orders of three lessons two are given: whether there are more is not looked into.
    answer = asked(scenario(one_of_each_load(3), weeks=1, per_week=THREE_DAYS), 1)
    assert (differences(answer), none_left(answer)) == ([3], False)


def test_nothing_is_looked_for_unless_asked() -> None:
    answer = solved(scenario(one_of_each_load(3), weeks=1, per_week=THREE_DAYS))
    assert (answer.alternatives, answer.further) == ((), None)
    body = answer_json(answer)
    assert (body["alternatives"], body["further"]) == ([], None)


def test_without_a_sequence_there_are_no_alternatives() -> None:
    data = scenario([teach("a"), teach("b"), teach("c")], weeks=1, per_week=TWO_DAYS)
    answer = solve(scenario_from_data(data), SolveSettings(alternatives=3))
    assert (answer.status, answer.alternatives, answer.further) == ("infeasible", (), None)


# -- as different as can be --------------------------------------------------------------------------------------------


def test_each_is_as_different_as_can_be_from_all_before() -> None:
    """Three lessons in three periods: the other five orders.

    Two of them move all three lessons, against the first and against each other: 3 and 3. Each order that is left exchanges
    two lessons of the first: 2 against that, 2 against the two given (an exchange and a round differ in two places), and 3
    against one another: 2, 2 and 2. Then none is left.
    """
    answer = asked(scenario(one_of_each_load(3), weeks=1, per_week=THREE_DAYS), 6)
    assert (differences(answer), none_left(answer)) == ([3, 3, 2, 2, 2], True)
    assert [len(alternative.moved) for alternative in answer.alternatives] == [3, 3, 2, 2, 2]


def test_a_lesson_that_is_left_out_instead_of_another_counts_as_two() -> None:
    # One period and two optional lessons of the same priority: one is left out, the other placed.
    answer = asked(scenario(one_of_each_load(2, optional=True), weeks=1, per_week="Mon 1", aims=["left out"]), 2)
    assert (differences(answer), none_left(answer)) == ([2], True)
    out, in_place = sorted(answer_json(answer)["alternatives"][0]["moved"], key=lambda move: move["to"] is not None)
    assert (out["from"]["date"], out["to"]) == (day(1, "Mon"), None)
    assert (in_place["from"], in_place["to"]["date"]) == (None, day(1, "Mon"))
    assert "left out" in answer_text(answer).partition("Alternative 1")[2]


def test_to_exchange_identical_lessons_is_no_difference() -> None:
    # With the same load nothing but their names tells the two apart.
    answer = asked(scenario([teach("a"), teach("b")], weeks=1, per_week=TWO_DAYS), 3)
    assert (answer.alternatives, none_left(answer)) == ((), True)


def test_live_or_set_work_alone_is_no_difference() -> None:
    """Two lessons in order in two open remote periods, one of which must be live: either may be, but the dates stay."""
    data = scenario(
        [teach("a"), teach("b", requires="a")],
        weeks=1,
        per_week=TWO_DAYS,
        remote_spells=[{"name": "Flood", "first": day(1, "Mon"), "last": day(1, "Tue")}],
        rules={"live_quotas": [{"per": "week", "least": 1, "most": 1}]},
    )
    assert sorted(lesson["taught"] for lesson in answer_json(solved(data))["lessons"]) == ["live", "set work"]
    answer = asked(data, 3)
    assert (answer.alternatives, none_left(answer)) == ((), True)


# -- loss --------------------------------------------------------------------------------------------------------------


def met_again(of_class: tuple[str, ...] = ("9B",), aims: tuple[str, ...] = ("distance",)) -> Data:
    """On three Mondays, the first pinned: x is met again a week later, as preferred, or two weeks later, 7 days off."""
    window = {"least": 7, "most": 14, "preferred": 7}
    return scenario(
        [teach("x", on=day(1, "Mon"), rules={"retrieval": window}), retrieval("r", "x")],
        term=term(3),
        classes=[a_class(id, "Mon 1") for id in of_class],
        aims=list(aims),
    )


@pytest.mark.parametrize(("loss", "expected"), [({}, []), ({"distance": 6}, []), ({"distance": 7}, [1])])
def test_within_the_loss(loss: dict[str, int], expected: list[int]) -> None:
    answer = asked(met_again(), 3, loss=loss)
    assert (differences(answer), none_left(answer)) == (expected, True)
    for alternative in answer.alternatives:
        assert alternative.verdict.aims["distance"] == 7


@pytest.mark.parametrize(
    ("loss", "expected"),
    [
        # Every class keeps its distance.
        (0, []),
        # Either class may move its retrieval, but not both: 1 against the best, 2 against each other.
        (7, [1, 1]),
        # Both move: 2. To move one differs in one lesson from the best and in one from both.
        (14, [2, 1, 1]),
    ],
)
def test_the_loss_is_that_of_all_classes_together(loss: int, expected: list[int]) -> None:
    answer = asked(met_again(("9B", "9C")), 5, loss={"distance": loss})
    assert (differences(answer), none_left(answer)) == (expected, True)
    assert all(alternative.verdict.aims["distance"] <= loss for alternative in answer.alternatives)


def test_an_aim_after_one_with_a_loss_may_be_given_none() -> None:
    # Loads of 3 in separate weeks: the heaviest week is 3 wherever the retrieval lies.
    answer = asked(met_again(aims=("distance", "even load")), 3, loss={"distance": 7, "even load": 0})
    assert differences(answer) == [1]
    assert "Aims that differ: distance 7 instead of 0." in answer_text(answer)
    assert "within the loss allowed (distance 7 more)" in answer_text(answer)


@pytest.mark.parametrize(
    ("settings", "says"),
    [
        ({"alternatives": -1}, ["alternatives must be a whole number from 0 to 20"]),
        ({"alternatives": 21}, ["alternatives must be a whole number from 0 to 20"]),
        ({"alternatives": True}, ["alternatives must be a whole number from 0 to 20"]),
        ({"loss": {"even load": 1}}, ["a loss says how much worse alternatives may be: ask for some"]),
        (
            {"alternatives": 1, "loss": {"distance": 1}},
            ["a loss may be stated for the last aims only: even load stands after distance and has none (0 will do)"],
        ),
        (
            {"alternatives": 1, "loss": {"wishes": 1, "even load": -1}},
            [
                "a loss must name an aim of the scenario: distance, even load",
                "a loss must be a whole number from 0 to 1000000",
            ],
        ),
    ],
)
def test_what_cannot_be_asked_for(settings: dict[str, Any], says: list[str]) -> None:
    data = met_again(aims=("distance", "even load"))
    with pytest.raises(UnusableSettings) as refused:
        solve(scenario_from_data(data), SolveSettings(**settings))
    assert list(refused.value.problems) == says


def test_losses_as_they_are_written() -> None:
    assert read_loss(["distance=2", " even load = 0 "]) == {"distance": 2, "even load": 0}
    for wrong in ("distance", "=1", "distance=", "distance=-1", "distance=1.5", "distance=٢", "distance=1=2"):
        with pytest.raises(UnusableSettings, match="such as distance=2"):
            read_loss([wrong])
    with pytest.raises(UnusableSettings, match="twice"):
        read_loss(["distance=1", "distance=1"])


# -- several groups of classes -----------------------------------------------------------------------------------------


def test_classes_that_share_no_rule_are_compared_as_a_whole() -> None:
    """Two classes with two orders each, and one that has a single one: four sequences of the whole.

    First both exchange their lessons: 4. Then one of them does: 2 against the best, 2 against the first; then the other: 2
    against these, 4 against the one before. The third class keeps what it has.
    """
    data = scenario(
        term=term(1),
        units=[{"id": "u", "lessons": one_of_each_load(2)}, {"id": "v", "lessons": [teach("a"), teach("b", requires="a")]}],
        classes=[a_class("9B"), a_class("9C"), a_class("9D", units="v")],
    )
    answer = asked(data, 5)
    assert (differences(answer), none_left(answer)) == ([4, 2, 2], True)
    instance = build_instance(scenario_from_data(data))
    for alternative in answer.alternatives:
        assert {instance.class_of(instance.lessons[move.lesson]).id for move in alternative.moved} <= {"9B", "9C"}
        assert len(alternative.sequence.placements) == 6


def test_behind_an_aim_with_a_loss_one_class_may_lose_what_another_wins() -> None:
    """9B's r lies a week after x, with f in the heaviest week (2 + 3), or two weeks after it, 7 days off: heaviest 3.
    9C's q lies in the week of p (3 + 2) or in the next: heaviest 3.

    Best is distance 0, even load 5 + 3. With a loss of 7 on the distance r may move, alone (3 + 3) or with q (3 + 5); q alone
    would make it 5 + 5. First both move: 2. Then r alone: 1 against the best, 1 against both.
    """
    window = {"least": 7, "most": 14, "preferred": 7}
    data = scenario(
        term=term(3),
        units=[
            {
                "id": "u",
                "lessons": [
                    teach("x", on=day(1, "Mon"), period=1, rules={"retrieval": window}),
                    teach("f", on=day(2, "Mon"), period=1),
                    retrieval("r", "x", load=2),
                ],
            },
            {"id": "v", "lessons": [teach("p", on=day(1, "Tue"), period=1), teach("q", load=2)]},
        ],
        classes=[a_class("9B", "Mon 1-2"), a_class("9C", "Tue 1-2", units="v")],
        closures=[
            {"name": "Visit", "on": [day(1, "Mon"), day(3, "Mon")], "classes": "9B", "periods": 2},
            {"name": "Visit", "on": day(2, "Tue"), "classes": "9C", "periods": 1},
            {"name": "Trip", "on": day(3, "Tue"), "classes": "9C"},
        ],
        aims=["distance", "even load"],
    )
    answer = asked(data, 5, loss={"distance": 7, "even load": 0})
    assert {aim.aim: aim.value for aim in answer.aims} == {"distance": 0, "even load": 8}
    assert (differences(answer), none_left(answer)) == ([2, 1], True)
    assert [alternative.verdict.aims["even load"] for alternative in answer.alternatives] == [8, 6]


def test_behind_an_aim_that_is_not_proven_one_class_may_lose_what_another_wins(monkeypatch: pytest.MonkeyPatch) -> None:
    """9B is left with its retrieval 7 days off, as when time is up; 9C has it as preferred: 7 in all.

    The other way round it is 7 too, and both move: 2. Then none is off, better than the best found: 1 against that, 1 against
    the first.
    """
    data = met_again(("9B", "9C"))
    late = {"class": "9B", "lesson": "r", "date": day(3, "Mon"), "period": 1}
    first = {"class": "9B", "lesson": "x", "date": day(1, "Mon"), "period": 1}
    settle = GroupSearch.settle

    def cut_short(self: GroupSearch, budget: Budget) -> GroupResult:
        if self.classes != ("9B",):
            return settle(self, budget)
        given = sequence_from_data(scenario_from_data(data), {"lessons": [first, late]})
        return GroupResult(given, (StageResult("distance", 7, 0, False),))

    monkeypatch.setattr(GroupSearch, "settle", cut_short)
    answer = solve(scenario_from_data(data), SolveSettings(alternatives=5))
    assert (answer.status, answer.aims[0].value) == ("feasible", 7)
    assert (differences(answer), none_left(answer)) == ([2, 1], True)
    assert [alternative.verdict.aims["distance"] for alternative in answer.alternatives] == [7, 0]
    assert "Aims that differ: distance 0 instead of 7." in answer_text(answer)


def test_the_class_is_named_where_there_are_several() -> None:
    data = scenario(one_of_each_load(2), term=term(1), classes=[a_class("9B"), a_class("9C", "Mon 1, Wed 1")])
    text = answer_text(asked(data, 1))
    assert "Alternative 1: 4 of 4 lessons lie elsewhere\n  Proven: no sequence as good differs in more.\n" in text
    table = text.partition("differs in more.\n")[2].splitlines()
    assert table[0].split() == ["class", "lesson", "from", "to"]
    assert sorted(row.split()[0] for row in table[1:5]) == ["9B", "9B", "9C", "9C"]
    assert "Mon  2 Nov 2026 period 1" in table[1] and "Tue  3 Nov 2026 period 1" in table[1]


# -- searches that are cut short, and repeated -------------------------------------------------------------------------


@pytest.mark.slow
def test_cut_by_effort_it_is_told_and_repeated() -> None:
    bodies = []
    for _ in range(2):
        answer = solve(read_scenario(SCENARIOS / "exam-year.yaml"), SolveSettings(seconds=300, effort=2, alternatives=1))
        assert answer.run.stopped_by == "effort" and answer.run.repeatable
        assert answer.status == "feasible" and answer.verdict is not None
        assert answer.alternatives and not any(alternative.proven for alternative in answer.alternatives)
        for alternative in answer.alternatives:
            assert alternative.verdict.sound and 1 <= alternative.difference < alternative.bound
            assert all(alternative.verdict.aims[aim.aim] <= answer.verdict.aims[aim.aim] for aim in answer.aims)
        text = answer_text(answer)
        assert "Best found: no sequence as good differs in more than " in text
        assert "The best found above is not proven best; the alternatives are measured by it." in text
        body = answer_json(answer)
        del body["run"]
        bodies.append(body)
    assert bodies[0] == bodies[1]


def test_stopped_by_hand_it_keeps_what_was_found() -> None:
    """The signal is given while the second alternative is looked for: the best and the first are as they were."""
    stop = StopSignal()

    def watch(progress: Progress) -> None:
        if progress.aim == "alternative 2":
            stop.stop()

    shared = read_scenario(SCENARIOS / "shared-class.yaml")
    answer = solve(shared, SolveSettings(seconds=300, alternatives=5), watch, stop)
    assert answer.status == "optimal"
    assert answer.run.stopped_by == "hand" and not answer.run.repeatable
    assert 1 <= len(answer.alternatives) <= 2 and answer.alternatives[0].proven
    assert not none_left(answer)
    text = answer_text(answer)
    assert "The search for alternatives was stopped by hand" in text
    assert "Of 5 alternatives asked for no more were found" in text


def test_with_no_effort_left_nothing_is_claimed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search for alternatives makes no call at all: none is found, and none is said not to exist."""
    run = Calls.run

    def only_for_aims(self: Calls, model: Any, budget: Budget, *rest: Any, **more: Any) -> float:
        return run(self, model, budget if self.workers > 1 else Budget(budget.ends, 0.0), *rest, **more)

    monkeypatch.setattr(Calls, "run", only_for_aims)
    data = scenario(one_of_each_load(2), weeks=1, per_week=TWO_DAYS)
    answer = solve(scenario_from_data(data), SolveSettings(alternatives=2))
    assert (answer.status, answer.alternatives, none_left(answer)) == ("optimal", (), False)
    assert answer.run.stopped_by == "effort"
    assert "there may be more" in answer_text(answer)


# -- the referee -------------------------------------------------------------------------------------------------------


def test_an_alternative_that_loses_more_than_allowed_is_a_defect(monkeypatch: pytest.MonkeyPatch) -> None:
    """The model forgets its limits: the referee does not."""
    monkeypatch.setattr(FurtherSearch, "_hold", lambda *_: None)
    with pytest.raises(RefereeDisagrees, match="distance: an alternative may come to 0, the referee counts 7"):
        solve(scenario_from_data(met_again()), SolveSettings(alternatives=1))


def test_an_alternative_that_breaks_a_rule_is_a_defect(monkeypatch: pytest.MonkeyPatch) -> None:
    """The model forgets that b follows a: among all that it then finds is b in the second period and a in the third."""

    def forgetful(prepared: Prepared, *rest: Any) -> ClassesModel:
        return build_model(replace(prepared, links=()), *rest)

    monkeypatch.setattr("sequencer.solver.further.build_model", forgetful)
    data = scenario([teach("a"), teach("b", requires="a")], weeks=1, per_week="Mon 1, Tue 1, Wed 1, Thu 1", aims=["left out"])
    with pytest.raises(RefereeDisagrees, match="u/b on Tue 3 Nov 2026, period 1 does not come after u/a on Wed 4 Nov"):
        solve(scenario_from_data(data), SolveSettings(alternatives=10))
