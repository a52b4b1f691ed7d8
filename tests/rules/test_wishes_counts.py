"""Wishes about counts: runs, caps and threads (rule 2), live quotas (rule 5), weekly shape (rule 9)."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Data, a_class, aims, day, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, broken, forbidden, hard, judged, placed, row, taught, wish_cost

# -- runs --------------------------------------------------------------------------------------------------------------


def cap(most: int, wish: int = 1, **more: Any) -> Data:
    return {"consecutive_high_load": {"most": most, "wish": wish, **more}}


def in_a_row(count: int) -> dict[str, str]:
    days = EVERY_DAY.split(", ")
    return {name: f"{1 + number // 5} {days[number % 5]}" for number, name in enumerate("abcdefgh"[:count])}


@pytest.mark.parametrize(
    ("length", "most", "runs"),
    # A run of n holds n - p runs of p + 1, none when it is no longer than p.
    [(1, 1, 0), (2, 1, 1), (3, 1, 2), (5, 1, 4), (2, 2, 0), (3, 2, 1), (5, 2, 3), (5, 4, 1), (5, 5, 0), (7, 3, 4)],
)
def test_every_run_of_one_too_many_counts(length: int, most: int, runs: int) -> None:
    lessons = [hard(name) for name in in_a_row(length)]
    data = scenario(lessons, weeks=2, per_week=EVERY_DAY, rules=cap(most, wish=3))
    assert wish_cost(data, **in_a_row(length)) == 3 * runs


def test_what_breaks_a_run_breaks_a_wished_one() -> None:
    three = [hard(name) for name in "abc"]
    spare = scenario(three, weeks=1, per_week=EVERY_DAY, rules=cap(1))
    assert wish_cost(spare, a="1 Mon 1", b="1 Tue 1", c="1 Thu 1") == 1
    easy = scenario([*three, teach("easy")], weeks=1, per_week=EVERY_DAY, rules=cap(1))
    assert wish_cost(easy, a="1 Mon 1", easy="1 Tue 1", b="1 Wed 1", c="1 Thu 1") == 1
    off = [hard("a"), hard("b", rules={"consecutive_high_load": "off"}), hard("c")]
    assert wish_cost(scenario(off, weeks=1, per_week=EVERY_DAY, rules=cap(1)), **in_a_row(3)) == 0


def test_break_days() -> None:
    # Fri, Mon, Tue: 3 days and 1. With breaks over 2 days: a | b c.
    lessons = [hard(name) for name in "abc"]
    where = {"a": "1 Fri 1", "b": "2 Mon 1", "c": "2 Tue 1"}
    assert wish_cost(scenario(lessons, per_week=EVERY_DAY, rules=cap(1)), **where) == 2
    assert wish_cost(scenario(lessons, per_week=EVERY_DAY, rules=cap(1, break_days=2)), **where) == 1
    assert wish_cost(scenario(lessons, per_week=EVERY_DAY, rules=cap(1, break_days=3)), **where) == 2


def test_a_double_counts_once() -> None:
    # Two doubles and a single fill Mon 1-2, Tue 1-2 and Wed 1: three in a row, two runs of two, one of three.
    lessons = [hard("a", length=2), hard("b", length=2), hard("c")]
    where = {"a": "1 Mon 1", "b": "1 Tue 1", "c": "1 Wed 1"}
    for most, runs in ((1, 2), (2, 1), (3, 0)):
        data = scenario(lessons, weeks=1, per_week="Mon 1-2, Tue 1-2, Wed 1", rules=cap(most))
        assert wish_cost(data, **where) == runs
    # A single in the first period of Tuesday, and the double after it, is no run across the spare period of Monday.
    data = scenario(lessons, weeks=1, per_week="Mon 1-3, Tue 1-3, Wed 1", rules=cap(1))
    assert wish_cost(data, a="1 Mon 1", c="1 Tue 1", b="1 Tue 2") == 1


def test_each_lesson_asks_for_itself() -> None:
    # a wishes to follow no other high-load lesson; b and c allow two. In a row: a b is a run of 2 that holds a, and a b c one
    # of 3 that holds b (and c): both count. b c alone is a run of 2, which both allow.
    own = {"rules": cap(1, wish=10)}
    lessons = [hard("a", **own), hard("b"), hard("c")]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=cap(2, wish=1))
    assert wish_cost(data, a="1 Mon 1", b="1 Tue 1", c="1 Wed 1") == 10 + 1
    assert wish_cost(data, b="1 Mon 1", a="1 Tue 1", c="1 Wed 1") == 10 + 10 + 1
    assert wish_cost(data, a="1 Mon 1", b="1 Wed 1", c="1 Thu 1") == 0


def test_the_dearest_of_a_run_decides() -> None:
    # All allow one; a with weight 5, the others with 2. a b: 5. b c: 2.
    lessons = [hard("a", rules=cap(1, wish=5)), hard("b"), hard("c")]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=cap(1, wish=2))
    assert wish_cost(data, a="1 Mon 1", b="1 Tue 1", c="1 Wed 1") == 5 + 2
    assert wish_cost(data, b="1 Mon 1", a="1 Tue 1", c="1 Wed 1") == 5 + 5


def test_hard_and_wished_in_one_run() -> None:
    # a allows two, hard; b and c wish for one. Two in a row cost; three in a row with a are a breach, without it they only cost.
    lessons = [hard("a", rules={"consecutive_high_load": {"most": 2, "wish": "off"}}), *(hard(name) for name in "bcd")]
    data = scenario(lessons, weeks=2, per_week=EVERY_DAY, rules=cap(1, wish=1))
    assert wish_cost(data, a="1 Mon 1", b="1 Tue 1", c="2 Mon 1", d="2 Wed 1") == 1
    assert wish_cost(data, a="2 Fri 1", b="1 Mon 1", c="1 Tue 1", d="1 Wed 1") == 2
    forbidden(data, 2, "a b c", a="1 Mon 1", b="1 Tue 1", c="1 Wed 1", d="2 Fri 1")


# -- caps and threads --------------------------------------------------------------------------------------------------


def lab(id: str, **more: Any) -> Data:
    return teach(id, tags="lab", **more)


def test_every_window_counts_what_it_holds_too_many() -> None:
    # At most 1 of any 3; Mon, Tue and Wed hold the tag: Mon-Wed 2 too many, Tue-Thu 1 too many, Wed-Fri none.
    rules = {"caps": [{"tag": "lab", "most": 1, "of": 3, "wish": 4}]}
    data = scenario([lab("a"), lab("b"), lab("c")], weeks=1, per_week=EVERY_DAY, rules=rules)
    assert wish_cost(data, a="1 Mon 1", b="1 Tue 1", c="1 Wed 1") == 4 * 3
    # Mon, Wed, Fri: Mon-Wed and Wed-Fri hold one too many. Mon, Tue, Fri: Mon-Wed alone, and three in five cannot do better.
    assert wish_cost(data, a="1 Mon 1", b="1 Wed 1", c="1 Fri 1") == 4 * 2
    assert wish_cost(data, a="1 Mon 1", b="1 Tue 1", c="1 Fri 1") == 4
    assert aims(solved(data))["wishes"] == 4


def test_a_double_fills_two_periods_of_a_window() -> None:
    rules = {"caps": [{"tag": "lab", "most": 0, "of": 2, "wish": 1}]}
    # Mon 1-2, Tue 1: windows Mon 1-2 (2) and Mon 2-Tue 1 (1).
    assert wish_cost(scenario([lab("d", length=2)], weeks=1, per_week="Mon 1-2, Tue 1", rules=rules), d="1 Mon 1") == 3


def test_a_short_stretch_is_one_window_for_a_cap_and_none_for_a_thread() -> None:
    two = [lab("a"), lab("b")]
    caps = {"caps": [{"tag": "lab", "most": 0, "of": 5, "wish": 1}]}
    assert wish_cost(scenario(two, weeks=1, rules=caps), a="1 Mon 1", b="1 Tue 1") == 2
    threads = {"threads": [{"tag": "lab", "least": 1, "of": 3, "wish": 1}]}
    plain = [teach("a"), teach("b"), lab("never", optional=True, on=day(1, "Sun"))]
    assert wish_cost(scenario(plain, weeks=1, rules=threads), a="1 Mon 1", b="1 Tue 1") == 0


def test_every_window_counts_what_it_holds_too_few() -> None:
    # At least 2 of any 3 hold the tag or are spare; all five periods are filled, lab on Monday only: Mon-Wed 1 too few, Tue-Thu
    # and Wed-Fri 2. On Wednesday: 1 too few in each.
    rules = {"threads": [{"tag": "lab", "least": 2, "of": 3, "wish": 1}]}
    lessons = [lab("a"), *(teach(name) for name in "bcde")]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=rules)
    assert wish_cost(data, **in_a_row(5)) == 5
    answer = solved(data)
    assert placed(answer)["a"] == "1 Wed 1"
    assert aims(answer)["wishes"] == 3


def test_hard_and_wished_caps_side_by_side() -> None:
    # Never three of three, and better one: two in a row cost, three are a breach.
    rules = {"caps": [{"tag": "lab", "most": 2, "of": 3}, {"tag": "lab", "most": 1, "of": 3, "wish": 1}]}
    data = scenario([lab("a"), lab("b"), lab("c")], weeks=1, per_week=EVERY_DAY, rules=rules)
    assert broken(data, a="1 Mon 1", b="1 Tue 1", c="1 Wed 1") == [(2, ["u/a", "u/b", "u/c"])]
    assert wish_cost(data, a="1 Mon 1", b="1 Tue 1", c="1 Fri 1") == 1


# -- live quotas -------------------------------------------------------------------------------------------------------

REMOTE = {"name": "remote", "first": day(1, "Mon"), "last": day(1, "Fri")}
THREE_DAYS = {"weeks": 1, "per_week": "Mon 1, Tue 1, Wed 1"}


def quota(**more: Any) -> Data:
    return {"live_quotas": [more]}


@pytest.mark.parametrize(("least", "weight", "live", "cost"), [(2, 2, 2, 2), (2, 1, 0, 2), (3, 3, 3, 3), (3, 0, 3, 3)])
def test_lessons_short(least: int, weight: int, live: int, cost: int) -> None:
    # Three lessons that avoid live, 1 each when live all the same. A wished quota dearer than that is met, a cheaper one is not.
    shy = [teach(name, live="avoid") for name in "abc"]
    numbers = {"least": least, "wish": weight} if weight else {"least": least}
    answer = solved(scenario(shy, **THREE_DAYS, remote_spells=[REMOTE], rules=quota(**numbers)))
    assert aims(answer)["wishes"] == cost
    if weight != 1:  # else live and set work cost the same
        assert list(taught(answer).values()).count("live") == live


def test_lessons_over() -> None:
    # All fixed live, and none wished: three over.
    data = scenario(
        [teach(name) for name in "abc"], **THREE_DAYS, remote_spells=[{**REMOTE, "taught": "live"}], rules=quota(most=0, wish=2)
    )
    assert aims(solved(data))["wishes"] == 6
    impossible(data | {"rules": quota(most=0)})


def test_a_least_number_is_cut_as_a_hard_one_is() -> None:
    # Four live in three periods: cut to three, which are to be had; strict: one short, whatever is done.
    lessons = [teach(name) for name in "abc"]
    base = {**THREE_DAYS, "remote_spells": [REMOTE], "rules": quota(least=4, wish=5)}
    assert aims(solved(scenario(lessons, **base)))["wishes"] == 0
    assert aims(solved(scenario(lessons, **base, strict=True)))["wishes"] == 5


def test_open_lessons_are_live_for_a_wished_quota_and_not_beyond_it() -> None:
    lessons = [teach(name) for name in "abc"]
    answer = solved(scenario(lessons, **THREE_DAYS, remote_spells=[REMOTE], rules=quota(least=2, wish=1)))
    assert list(taught(answer).values()).count("live") == 2
    assert aims(answer)["wishes"] == 0


def test_a_teachers_quota_counts_over_classes() -> None:
    # At most one live a week over both classes, both fixed live: 1 over; per class nothing is over.
    spell = [{**REMOTE, "taught": "live"}]
    classes = [a_class("9B", "Mon 1", teacher="T"), a_class("9C", "Tue 1", teacher="T")]
    data = scenario([teach("x")], weeks=1, classes=classes, remote_spells=spell, rules=quota(most=1, wish=4, teacher="T"))
    answer = solved(data)
    assert aims(answer)["wishes"] == 4
    assert aims(solved(data | {"rules": quota(most=1, wish=4)}))["wishes"] == 0


def test_weeks_in_school_have_no_quota() -> None:
    data = scenario([teach("a"), teach("b")], per_week="Mon 1", remote_spells=[REMOTE], rules=quota(least=1, wish=3))
    rows = [row("a", "1 Mon 1 set work"), row("b", "2 Mon 1")]
    assert judged(data, *rows)["aims"]["wishes"] == 3  # the first week only


# -- weekly shape ------------------------------------------------------------------------------------------------------


def shape(wish: int = 1, **numbers: int) -> Data:
    return {"week": {"wish": wish, **numbers}}


@pytest.mark.parametrize(
    ("numbers", "cost"),
    [
        # Three lessons of load 2 in week 1, one of load 5 in week 2.
        ({"most_lessons": 2}, 1),
        ({"most_lessons": 0}, 4),
        ({"least_lessons": 2}, 1),
        ({"least_lessons": 2, "most_lessons": 2}, 2),
        ({"most_load": 4}, 2 + 1),
        ({"least_load": 8}, 2 + 3),
        ({"most_lessons": 2, "most_load": 5}, 1 + 1),  # both count
    ],
)
def test_lessons_and_load_short_or_over(numbers: dict[str, int], cost: int) -> None:
    lessons = [*(teach(name, load=2) for name in "abc"), hard("d") | {"load": 5}]
    where = {"a": "1 Mon 1", "b": "1 Tue 1", "c": "1 Wed 1", "d": "2 Mon 1"}
    for wish in (1, 7):
        data = scenario(lessons, weeks=2, per_week="Mon 1, Tue 1, Wed 1", rules=shape(wish, **numbers))
        assert wish_cost(data, **where) == wish * cost


def test_a_least_number_of_lessons_is_cut_to_the_periods() -> None:
    # Five lessons in weeks of two periods: cut to two; the second week has one, 1 short.
    data = scenario([teach(name) for name in "abc"], weeks=2, per_week="Mon 1, Tue 1", rules=shape(least_lessons=5))
    assert wish_cost(data, a="1 Mon 1", b="1 Tue 1", c="2 Mon 1") == 1
    assert wish_cost(data | {"strict": True}, a="1 Mon 1", b="1 Tue 1", c="2 Mon 1") == 3 + 4


def test_the_solver_spreads_lessons_over_weeks() -> None:
    # Five lessons, two weeks of four periods, at most two a week wished: one over, whichever week.
    data = scenario(
        [teach(name) for name in "abcde"], weeks=2, per_week="Mon 1, Tue 1, Wed 1, Thu 1", rules=shape(most_lessons=2)
    )
    assert aims(solved(data))["wishes"] == 1
    impossible(data | {"rules": {"week": {"most_lessons": 2}}})
