"""Starters against a second reading: random terms, exhaustive search on small ones, and cases worked by hand."""

from __future__ import annotations

import random
from datetime import date
from typing import Any

import pytest

from sequencer import (
    Answer,
    SolveSettings,
    Starters,
    StopSignal,
    answer_json,
    assign_starters,
    scenario_from_data,
    solve,
    starters_json,
)
from sequencer.plan.sequence import Laid
from sequencer.questions.lists.starters.question import Assigned, question
from sequencer.questions.lists.starters.starter_referee import breaches
from sequencer.questions.lists.starters.starters_told import when
from tests.builders import MONDAY, Data, a_class, around_text, assessment, day, practice, retrieval, scenario, solved, teach
from tests.starters.reading import Reading, best_of_all, dues, is_allowed, read, size, worth

DAILY = "Mon 1, Tue 1, Wed 1, Thu 1, Fri 1"


def assigned(answer: Answer, **options: Any) -> Starters:
    (starters,) = assign_starters(answer, **{"each": 60.0, **options})
    return starters


def chosen(answer: Answer, starters: Starters) -> set[tuple[str, int]]:
    """The assignment as the second reading has it, from the JSON body."""
    (body,) = starters_json(answer, [starters])["classes"]
    return {
        (f"{topic['unit']}/{topic['lesson']}", number)
        for number, opening in enumerate(body["openings"])
        for topic in opening["topics"]
        if not topic["kept"]
    }


def agrees(data: Data, answer: Answer, starters: Starters) -> Reading:
    """Assert that the second reading lets the assignment through, and that each aim is worth the same."""
    reading = read(data, answer_json(answer))
    pairs = chosen(answer, starters)
    assert is_allowed(reading, pairs)
    assert worth(reading, pairs) == tuple(aim.value for aim in starters.aims)
    return reading


def random_term(seed: int, small: bool) -> Data:
    """A term of one class with teach, practice and retrieval lessons, prerequisites, earlier topics, and openings."""
    rng = random.Random(seed)
    weeks, count = (2, 4) if small else (7, 18)
    before = [
        {
            "id": f"t{number}",
            "date": (MONDAY.replace(month=rng.randint(3, 9), day=rng.randint(1, 28))).isoformat(),
            "load": rng.randint(1, 5),
        }
        for number in range(rng.randint(0, 1 if small else 6))
    ]
    lessons: list[Data] = []
    for number in range(count):
        load = rng.randint(1, 5)
        more: Data = {"rules": {"retrieval": "off"}} if rng.random() < 0.1 else {}
        if number and rng.random() < 0.3:
            more["requires"] = f"l{rng.randrange(number)}"
        lessons.append(teach(f"l{number}", load=load, **more))
        if load >= 4:
            lessons.append(practice(f"p{number}", f"l{number}", load=2))
    for number in range(0 if small else 3):
        targets = [lesson["id"] for lesson in lessons if "kind" not in lesson and "rules" not in lesson]
        lessons.append(retrieval(f"r{number}", rng.sample(targets, 2), load=1))
    if not small:
        lessons.append(assessment("test", load=2))
    openings = {
        "places": rng.randint(1, 3),
        "distances": sorted(rng.sample(range(1, 10), 2)) if small else [2, rng.randint(6, 9), rng.randint(20, 30)],
        "heavier": rng.choice([[], [12]]),
        "soonest": 1 if small else rng.randint(1, 2),
    }
    rules: Data = {"retrieval": {"least": 1, "most": 60}, "consecutive_high_load": "off", "practice_after_dense": 3}
    per_week = "Mon 1, Tue 1-2, Thu 1" if small else DAILY
    return scenario(
        lessons, weeks, per_week, {"in_order": rng.random() < 0.7}, {"taught_before": before},
        openings=openings, rules=rules, aims=["carried over", "even load", "early finish"],
    )  # fmt: skip


def sequenced(data: Data) -> Answer:
    """Some sequence, whether or not it is the best."""
    answer = solve(scenario_from_data(data), SolveSettings(seconds=60, effort=0.3))
    assert answer.sequence is not None
    return answer


@pytest.mark.parametrize("seed", [*range(8), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(8, 20))])
def test_a_half_terms_starters_are_proven_and_judged_twice(seed: int) -> None:
    data = random_term(seed, small=False)
    answer = sequenced(data)
    starters = assigned(answer)
    assert starters.proven
    assert starters.question.topics and starters.question.openings
    agrees(data, answer, starters)


@pytest.mark.parametrize("seed", range(40))
def test_exhaustive_search_agrees_on_small_terms(seed: int) -> None:
    data = random_term(seed, small=True)
    answer = sequenced(data)
    starters = assigned(answer)
    reading = agrees(data, answer, starters)
    if size(reading) > 14:
        pytest.skip(f"{size(reading)} pairs are too many to try all")
    assert starters.proven
    assert tuple(aim.value for aim in starters.aims) == best_of_all(reading)


def test_enough_small_terms_are_tried_exhaustively() -> None:
    sizes = []
    for seed in range(40):
        data = random_term(seed, small=True)
        sizes.append(size(read(data, answer_json(sequenced(data)))))
    assert sum(8 <= each <= 14 for each in sizes) >= 12


# -- by hand -----------------------------------------------------------------------------------------------------------

PLAIN: Data = {"openings": {"places": 1, "distances": [2, 7], "heavier": []}}


def fixed(lessons: list[Data], weeks: int = 2, per_week: str = DAILY, **more: Any) -> tuple[Data, Answer]:
    data = scenario(lessons, weeks, per_week, **(PLAIN | more))
    return data, solved(data)


def opened(answer: Answer, starters: Starters) -> dict[str, list[str]]:
    """What each lesson opens with, by ids, openings without any left out."""
    (body,) = starters_json(answer, [starters])["classes"]
    found = {opening["lesson"]: [topic["lesson"] for topic in opening["topics"]] for opening in body["openings"]}
    return {lesson: topics for lesson, topics in found.items() if topics}


def week(**more: Any) -> list[Data]:
    """One topic on the first Monday, and lessons that open with something on every day after it."""
    days = [(number, weekday) for number in (1, 2) for weekday in ("Mon", "Tue", "Wed", "Thu", "Fri")]
    others = [practice(f"{weekday}{number}", "x", on=day(number, weekday)) for number, weekday in days[1:]]
    return [teach("x", on=day(1, "Mon"), **more), *others]


def test_practice_is_a_meeting_and_leaves_nothing_to_assign() -> None:
    """Every lesson practises x, so that x is met on every day it is due."""
    _, answer = fixed(week())
    starters = assigned(answer)
    assert opened(answer, starters) == {}
    assert [aim.value for aim in starters.aims] == [0, 0, 0, 0, 0]


def others(*days: tuple[int, str], rules: str = "off") -> list[Data]:
    """Lessons that are no topics themselves."""
    return [teach(f"{weekday}{number}", on=day(number, weekday), rules={"retrieval": rules}) for number, weekday in days]


def test_a_topic_is_met_on_the_days_nearest_to_its_distances() -> None:
    """x on Mon 2 November: due after 2 days on Wed 4, after 7 on Mon 9."""
    lessons = [teach("x", on=day(1, "Mon")), *others((1, "Tue"), (1, "Wed"), (1, "Fri"), (2, "Mon"), (2, "Wed"))]
    data, answer = fixed(lessons)
    starters = assigned(answer)
    assert opened(answer, starters) == {"Wed1": ["x"], "Mon2": ["x"]}
    assert dues(read(data, answer_json(answer)), "u/x") == {MONDAY.replace(day=4), MONDAY.replace(day=9)}


def test_the_last_opening_counts_and_what_is_due_after_it_is_for_the_next_plan() -> None:
    """Due after 2 days, on the last opening; after 7 it would be after it."""
    _, answer = fixed([teach("x", on=day(1, "Mon")), *others((1, "Wed"))])
    starters = assigned(answer)
    assert opened(answer, starters) == {"Wed1": ["x"]}
    assert [len(topic.dues) for topic in starters.question.topics] == [1]


def test_too_few_places_serve_the_worst_as_well_as_can_be() -> None:
    """x and y on Monday, one opening on Wednesday and one on Thursday, one place each, both due on Wednesday.

    One of them waits until Thursday: a day of two is 50% off; both would be 100% if one took both places.
    """
    lessons = [teach(name, on=day(1, "Mon"), period=period, load=load) for name, period, load in (("x", 1, 3), ("y", 2, 2))]
    lessons += [assessment("none", on=day(1, "Tue")), *others((1, "Wed"), (1, "Thu"))]
    per_week = "Mon 1-2, Tue 1, Wed 1, Thu 1"
    _, answer = fixed(lessons, 1, per_week, openings={"places": 1, "distances": [2], "heavier": []})
    starters = assigned(answer)
    assert opened(answer, starters) == {"Wed1": ["x"], "Thu1": ["y"]}  # the heavier one on its day: 2 days off by load, not 3
    assert {aim.aim: aim.value for aim in starters.aims} == {
        "worst served": 50, "forgotten": 0, "prerequisites not met": 0, "days off": 2, "places used": 2,
    }  # fmt: skip
    text = around_text("starters", answer, starters=(starters,))
    assert "Worst served: y (50% off" in text
    assert "Not met when due: y, after 2 days, Wed  4 Nov 2026: nearest Thu  5 Nov 2026" in text


def test_what_cannot_be_met_at_all_is_listed() -> None:
    """Three topics of last year, two openings with a place each."""
    before = [{"id": name, "date": "2025-11-03"} for name in ("a", "b", "c")]
    _, answer = fixed(others((1, "Mon"), (1, "Tue")), 1, of_class={"taught_before": before})
    starters = assigned(answer)
    assert {aim.aim: aim.value for aim in starters.aims}["forgotten"] == 1
    text = around_text("starters", answer, starters=(starters,))
    assert text.count("Not met again at all: ") == 1
    assert text.count("(earlier year, ") == 2
    (body,) = starters_json(answer, [starters])["classes"]
    assert [topic["per_cent_off"] for topic in body["topics"]].count(100) == 1


def test_what_today_requires_comes_first() -> None:
    """x and y are due on the same days; z requires x, so x has the one place before z."""
    lessons = [teach("x", on=day(1, "Mon"), period=1), teach("y", on=day(1, "Mon"), period=2)]
    lessons += [teach("z", on=day(1, "Tue"), requires="x"), *others((1, "Wed"))]
    _, answer = fixed(lessons, 1, "Mon 1-2, Tue 1, Wed 1", openings={"places": 1, "distances": [1], "heavier": []})
    starters = assigned(answer)
    assert opened(answer, starters)["z"] == ["x"]
    (body,) = starters_json(answer, [starters])["classes"]
    assert body["openings"][2]["topics"][0]["required"]


def test_what_rule_4_put_into_a_starter_stays_and_takes_a_place() -> None:
    lessons = [teach("x", on=day(1, "Mon")), teach("y", on=day(1, "Tue"))]
    lessons += [teach("w", on=day(1, "Thu"), starter="x", rules={"retrieval": "off"})]
    data, answer = fixed(
        lessons, 1, rules={"retrieval": {"least": 1, "most": 9}}, openings={"places": 1, "distances": [2], "heavier": []}
    )
    starters = assigned(answer)
    (body,) = starters_json(answer, [starters])["classes"]
    assert [(topic["lesson"], topic["kept"]) for topic in body["openings"][2]["topics"]] == [("x", True)]
    assert starters.question.openings[2].places == 0
    assert "x (this week, 3 days, planned with the lesson)" in around_text("starters", answer, starters=(starters,))
    agrees(data, answer, starters)


@pytest.mark.parametrize(
    ("taught", "told"),
    [
        ("2026-11-30", "this week"),
        ("2026-11-29", "last week"),
        ("2026-11-23", "last week"),
        ("2026-11-22", "2 weeks ago"),
        ("2026-11-19", "2 weeks ago"),
        ("2026-11-02", "4 weeks ago"),
        ("2026-11-01", "this term"),
        ("2026-09-30", "earlier term"),
        ("2026-07-10", "earlier year"),
    ],
)
def test_how_long_ago_is_told_in_weeks(taught: str, told: str) -> None:
    # The lesson lies on Thursday 3 December; its term began on 1 October.
    assert when(date.fromisoformat(taught), date(2026, 12, 3), date(2026, 10, 1)) == told


def test_a_month_is_five_weeks_at_most() -> None:
    # From Friday 30 October to Monday 30 November lie 31 days.
    assert when(date(2026, 10, 30), date(2026, 11, 30), date(2026, 10, 1)) == "5 weeks ago"
    assert when(date(2026, 10, 29), date(2026, 11, 29), date(2026, 10, 1)) == "4 weeks ago"


def test_an_assessment_opens_with_nothing_and_rule_4_off_makes_no_topic() -> None:
    lessons = [teach("x", on=day(1, "Mon"), rules={"retrieval": "off"}), assessment("test", on=day(1, "Wed"))]
    _, answer = fixed(lessons, 1)
    starters = assigned(answer)
    assert [answer.instance.lessons[opening.lesson].id for opening in starters.question.openings] == ["x"]
    assert starters.question.topics == ()


def test_high_load_topics_are_due_more_often_and_a_class_has_its_own_openings() -> None:
    openings = {"places": 2, "distances": [2], "heavier": [4]}
    lessons = [teach("x", load=4, on=day(1, "Mon")), teach("y", load=3, on=day(1, "Mon"), period=2)]
    lessons += others((1, "Wed"), (1, "Thu"), (1, "Fri"))
    rules: Data = {"practice_after_dense": "off"}
    data = scenario(lessons, 1, "Mon 1-2, Wed 1, Thu 1, Fri 1", of_class={"openings": openings}, rules=rules)
    starters = assigned(solved(data))
    assert [[due.distance for due in topic.dues] for topic in starters.question.topics] == [[2, 4], [2]]


def test_the_lesson_that_remains_stands_for_one_that_was_part_taught() -> None:
    record = [{"class": "9B", "lesson": "x", "what": "part-taught", "date": day(1, "Mon"), "period": 1}]
    lessons = [teach("x"), *others((1, "Fri"))]
    _, answer = fixed(lessons, 1, record=record, today=day(1, "Tue"))
    starters = assigned(answer)
    assert [answer.instance.lessons[topic.lesson].id for topic in starters.question.topics] == ["x-rest"]
    assert all(opening.date > MONDAY for opening in starters.question.openings)


def test_two_classes_are_assigned_one_by_one_and_none_without_a_sequence() -> None:
    lessons = [teach("x"), *others((1, "Wed"))]
    classes = [a_class("9A", DAILY), a_class("9B", DAILY)]
    data = scenario(lessons, 1, classes=classes, **PLAIN)
    assert [starters.question.class_index for starters in assign_starters(solved(data))] == [0, 1]
    never = scenario([teach("x", on=day(1, "Wed"))], 1, "Mon 1")
    answer = solve(scenario_from_data(never))
    assert answer.sequence is None
    assert assign_starters(answer) == () and starters_json(answer, ())["classes"] == []


# -- the referee -------------------------------------------------------------------------------------------------------


def test_the_referee_finds_what_is_wrong() -> None:
    lessons = [teach("x", on=day(1, "Mon")), *others((1, "Tue"), (1, "Wed"), (1, "Thu"))]
    _, answer = fixed(lessons, 1, openings={"places": 1, "distances": [2], "heavier": [], "soonest": 2})
    assert answer.sequence is not None
    asked = question(Laid(answer.instance, answer.sequence), answer.instance.classes[0])
    monday, tuesday, wednesday, thursday = range(4)
    assert breaches(asked, (Assigned(0, wednesday),)) == []
    assert len(breaches(asked, (Assigned(0, tuesday),))) == 1  # too soon after it was taught
    assert len(breaches(asked, (Assigned(0, monday),))) == 1
    assert len(breaches(asked, (Assigned(0, wednesday), Assigned(0, thursday)))) == 1  # a day apart
    assert len(breaches(asked, (Assigned(0, wednesday), Assigned(0, wednesday)))) == 3  # places, twice, the same day


def test_the_same_scenario_has_the_same_starters() -> None:
    answer = sequenced(random_term(3, small=False))
    assert assigned(answer) == assigned(answer)


def test_out_of_time_or_stopped_nothing_is_claimed() -> None:
    """The empty assignment is sound and its aims are counted; no bound is claimed that was not proven."""
    answer = sequenced(random_term(3, small=False))
    stop = StopSignal()
    stop.stop()
    for starters in (assigned(answer, seconds=0.0), assigned(answer, stop=stop)):
        assert starters.assigned == ()
        worst = starters.aims[0]
        assert (worst.value, worst.bound, worst.proven) == (100, 0, False)
        assert starters.aims[-1].conditional
        assert "best found" in around_text("starters", answer, starters=(starters,))
