"""What more of something shared would be worth at most: no less than is gained with it; and what is told meanwhile."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import deepcopy
from random import Random

import pytest

from sequencer import MoreWorth, Progress, SolveSettings, answer_json, answer_text, scenario_from_data, solve
from sequencer.solver.prices.covers import broken_cover, looser
from sequencer.solver.prices.rows import SharedRow
from tests.builders import QUIET, Data, a_class, scenario, teach
from tests.test_prices import one_teacher

SETTINGS = SolveSettings(seconds=300, effort=20)


def an_hour_a_week(classes: int, minutes: int = 60) -> Data:
    return one_teacher(classes, teach("a", marking_minutes=60), teachers=[{"name": "T", "marking_a_week": minutes}])


def value(data: Data) -> int:
    found = solve(scenario_from_data(data), SETTINGS).aims[0]
    assert found.proven and found.value is not None
    return found.value


def test_an_hour_of_marking_is_worth_what_solving_with_it_gains() -> None:
    # Three lessons to be marked an hour each, one a week: one waits a week, one two. With two hours a week two need not wait.
    answer = solve(scenario_from_data(an_hour_a_week(3)), SETTINGS)
    (worth,) = answer.more_worth
    assert (worth.aim, worth.owner, worth.most, worth.more) == ("early finish", "T", 60, 60)
    assert worth.at_most == value(an_hour_a_week(3)) - value(an_hour_a_week(3, 120)) == 2
    # In week 1 alone it is 0, 0, 1 instead of 0, 1, 2; in week 2 alone 0, 1, 1.
    assert worth.windows == (("in week 1", 2), ("in week 2", 1))
    assert worth.text == "T: 120 minutes of marking instead of 60" and not worth.one_alone
    assert (
        "  early finish: T: 120 minutes of marking instead of 60: at most 2 less (in week 1 alone: 2; in week 2 alone: 1)\n"
        in answer_text(answer)
    )
    told = answer_json(answer)["more_worth"][0]
    assert told["at_most"] == 2 and told["windows"][1] == {"where": "in week 2", "at_most": 1}


def test_cuts_allow_more_where_their_rows_do() -> None:
    # As where cuts are tested: 6 with 100 minutes a week; with 160 any three lessons lie in a week, and three wait one.
    units = [{"id": name, "lessons": [teach("a", marking_minutes=much)]} for name, much in (("g", 40), ("h", 50))]
    classes = [a_class(f"9{name}{number}", "Mon 1", name, teacher="T") for number in range(3) for name in "gh"]
    data = scenario(weeks=3, units=units, classes=classes, rules=QUIET, aims=["early finish"])
    data["teachers"] = [{"name": "T", "marking_a_week": 100}]
    (worth,) = solve(scenario_from_data(data), SETTINGS).more_worth
    assert value(data) == 6 and value(_with_more(data, worth)) == 3 and 3 <= worth.at_most <= 6


def test_where_there_is_enough_nothing_is_worth_more() -> None:
    assert solve(scenario_from_data(an_hour_a_week(3, 180)), SETTINGS).more_worth == ()


def test_it_is_said_where_one_class_could_take_more_by_itself() -> None:
    # Two classes of three lessons and periods a week, and two hours: one class alone could use three.
    units = [{"id": "u", "lessons": [teach(name, marking_minutes=60) for name in "abc"]}]
    classes = [a_class(name, "Mon 1, Mon 2, Mon 3", teacher="T") for name in ("9A", "9B")]
    data = scenario(weeks=4, units=units, classes=classes, rules=QUIET, aims=["early finish"])
    data["teachers"] = [{"name": "T", "marking_a_week": 120}]
    answer = solve(scenario_from_data(data), SETTINGS)
    assert [worth.one_alone for worth in answer.more_worth] == [True]
    assert ", as long as no class by itself, nor classes in step, takes more than 120\n" in answer_text(answer)


def test_while_it_goes_on_it_says_what_costs_most_and_who_pays() -> None:
    told: list[Progress] = []
    solve(scenario_from_data(an_hour_a_week(3)), SETTINGS, told.append)
    with_prices = [each.prices for each in told if each.prices is not None]
    assert with_prices[0].limits[0][0] == "T: 60 minutes of marking in week 1" and with_prices[0].limits[0][1] > 0
    # One of the classes waits two weeks; by itself it would not wait.
    assert with_prices[0].classes[0][1:] == (2, 0)
    assert with_prices[0].text().startswith("; costs most: T: 60 minutes of marking in week 1; pays most: 9")


def test_a_cut_allows_as_many_lessons_as_fit_where_its_row_allows_more() -> None:
    rng = Random("looser")
    made = 0
    for _ in range(300):
        items = tuple((rng.randint(1, 9), (number,)) for number in range(rng.randint(3, 7)))
        row = SharedRow("minutes", tuple((number, much) for number, (much, _) in enumerate(items)), rng.randint(5, 20))
        cut = broken_cover(row, items, {number: rng.random() for number in range(len(items))})
        more = rng.randint(1, 15)
        if cut is not None:
            made += 1
            sizes = sorted(items[variable][0] for variable, _ in cut.terms)
            fit = max(count for count in range(len(sizes) + 1) if sum(sizes[:count]) <= row.most + more)
            assert looser(row, items, cut, more) == max(0, fit - cut.most)
    assert made > 50


def test_nothing_gains_more_than_is_said() -> None:
    assert _compared(range(2, 9)) >= 4


@pytest.mark.slow
@pytest.mark.parametrize("first", range(9, 89, 20))
def test_nothing_gains_more_than_is_said_in_more_cases(first: int) -> None:
    assert _compared(range(first, first + 20)) > 10


def test_a_limit_is_told_of_on_the_first_aim_on_which_it_has_a_price() -> None:
    # What each class may pay on the next is reckoned with the limit as it is, so that its prices say nothing of a raised one.
    data = _drawn(Random("worth 2")) | {"aims": ["early finish", "even week"]}
    told = [(worth.aim, worth.owner) for worth in solve(scenario_from_data(data), SETTINGS).more_worth]
    assert told == [("early finish", None), ("even week", "A")]


def test_nor_on_a_later_aim() -> None:
    assert sum(_compared(range(2, 9), aims) for aims in TWO_AIMS) >= 6


TWO_AIMS = (["early finish", "even week"], ["even load", "early finish"])


def _compared(seeds: Iterable[int], aims: Sequence[str] = ("early finish",)) -> int:
    """Compare what is said of random cases with what solving with more of it finds; how often."""
    compared = 0
    for seed in seeds:
        data = _drawn(Random(f"worth {seed}")) | {"aims": [*aims]}
        answer = solve(scenario_from_data(data), SETTINGS)
        assert all(aim.proven for aim in answer.aims)
        for worth in answer.more_worth:
            if not worth.one_alone:
                place = aims.index(worth.aim)
                before, after = (
                    [aim.value or 0 for aim in each.aims]
                    for each in (answer, solve(scenario_from_data(_with_more(data, worth)), SETTINGS))
                )
                if before[:place] == after[:place]:
                    assert before[place] - after[place] <= worth.at_most, f"seed {seed}, {worth}"
                    compared += 1
    return compared


def _drawn(rng: Random) -> Data:
    """Three or four classes of two teachers that meet once a week, with what they share scarce."""
    units = [{"id": name, "lessons": [_lesson(rng, f"{name}{number}") for number in range(rng.randint(1, 2))]} for name in "gh"]
    classes = [
        a_class(f"9{number}", f"Mon {rng.randint(1, 2)}", rng.choice("gh"), teacher="AAEA"[number])
        for number in range(rng.randint(3, 4))
    ]
    limits = {"marking_a_week": rng.choice([40, 50, 60]), "preparation_a_week": rng.choice([30, 40]), "dense_a_day": 1}
    teachers = [{"name": name} | {key: limits[key] for key in rng.sample(sorted(limits), 2)} for name in "AE"]
    cohorts: list[Data] = [{"id": "Y", "subjects": [{"name": each["id"], "classes": [each["id"]]} for each in classes[:3]]}]
    cohorts[0]["rules"] = {"pupils_week": {"homework_a_week": rng.choice([20, 40])}}
    return scenario(
        weeks=7, units=units, classes=classes, teachers=teachers, shared=[{"name": "kit"}], cohorts=cohorts, rules=QUIET,
        aims=["early finish"],
    )  # fmt: skip


def _lesson(rng: Random, name: str) -> Data:
    minutes = {"marking_minutes": rng.choice([0, 20, 30, 40]), "preparation_minutes": rng.choice([0, 20, 30])}
    homework = {"homework": {"minutes": 20, "due_days": 3}} if rng.random() < 0.5 else {}
    return teach(name, load=rng.choice([1, 4]), **minutes, **homework, **({"needs": "kit"} if rng.random() < 0.4 else {}))


def _with_more(data: Data, worth: MoreWorth) -> Data:
    """The same with the limit raised."""
    more = deepcopy(data)
    if worth.owner is None:
        more["shared"][0]["capacity"] = 1 + worth.more
    elif worth.owner == "Y":
        more["cohorts"][0]["rules"]["pupils_week"]["homework_a_week"] += worth.more
    else:
        key = {"marking": "marking_a_week", "preparation": "preparation_a_week", "dense": "dense_a_day"}
        teacher = next(each for each in more["teachers"] if each["name"] == worth.owner)
        teacher[next(key[word] for word in key if word in worth.text)] += worth.more
    return more
