"""Rule 0, shape: each lesson once, in slots that exist, in the shape of its length, alone in them, taught in one way."""

from __future__ import annotations

from tests.builders import Data, day, impossible, scenario, solved, teach
from tests.rules.helpers import allowed, broken, forbidden, placed, row, taught

DOUBLE = [teach("d", length=2)]


def test_as_many_lessons_as_periods() -> None:
    # Two periods: two lessons fill the first and the last, three do not fit.
    assert allowed(scenario([teach("a"), teach("b")], weeks=1), a="1 Mon 1", b="1 Tue 1")["left out"] == 0
    impossible(scenario([teach("a"), teach("b"), teach("c")], weeks=1))


def test_a_required_lesson_is_placed() -> None:
    two = scenario([teach("a"), teach("b")], weeks=1)
    assert broken(two, a="1 Mon 1") == [(0, ["u/b"])]
    assert broken(two) == [(0, ["u/a"]), (0, ["u/b"])]


def test_a_lesson_is_placed_at_most_once() -> None:
    data = scenario([teach("a")], weeks=1)
    assert broken(data, row("a", "1 Mon 1"), row("a", "1 Tue 1")) == [(0, ["u/a"])]


def test_a_period_holds_one_lesson() -> None:
    forbidden(scenario([teach("a"), teach("b")], weeks=1), 0, "a b", a="1 Mon 1", b="1 Mon 1")
    # The second period of a double is taken too.
    inside = scenario([*DOUBLE, teach("b")], weeks=1, per_week="Mon 1-3")
    forbidden(inside, 0, "b d", d="1 Mon 1", b="1 Mon 2")
    allowed(inside, d="1 Mon 1", b="1 Mon 3")
    allowed(inside, d="1 Mon 2", b="1 Mon 1")


def test_a_lesson_lies_in_a_slot_that_exists() -> None:
    one = scenario([teach("a")], weeks=1)
    forbidden(one, 0, "a", a="1 Wed 1")  # no lesson on Wednesdays
    forbidden(one, 0, "a", a="1 Mon 2")  # no second period on Mondays
    closed = scenario([teach("a")], weeks=1, closures=[{"name": "storm", "on": day(1, "Mon")}])
    forbidden(closed, 0, "a", a="1 Mon 1")
    allowed(closed, a="1 Tue 1")


# -- doubles -----------------------------------------------------------------------------------------------------------


def test_a_double_takes_adjacent_periods_of_one_date() -> None:
    # Slots: Mon 2 | Tue 3, 4. Mon 2 and Tue 3 follow one another and their numbers differ by 1, but not on one date.
    data = scenario(DOUBLE, weeks=1, per_week="Mon 2, Tue 3-4")
    assert placed(solved(data)) == {"d": "1 Tue 3"}
    forbidden(data, 0, "d", d="1 Mon 2")
    impossible(scenario(DOUBLE, weeks=1, per_week="Mon 2, Tue 3"))


def test_a_double_does_not_begin_in_the_last_slot() -> None:
    data = scenario(DOUBLE, weeks=1, per_week="Mon 1, Tue 1-2")
    forbidden(data, 0, "d", d="1 Tue 2")
    allowed(data, d="1 Tue 1")  # the last slot is its second


def test_unless_declared_adjacent_numbers_differ_by_1() -> None:
    split = {"weeks": 1, "per_week": "Mon 1, Mon 3"}
    forbidden(scenario(DOUBLE, **split), 0, "d", d="1 Mon 1")
    allowed(scenario(DOUBLE, **split, adjacent_periods=[[1, 3]]), d="1 Mon 1")


def test_declared_pairs_stand_instead_of_the_numbers() -> None:
    # A break lies between 2 and 3: only 1-2 and 3-4 are declared. A double fits in Mon 3-4, not in Mon 2-3.
    pairs = {"weeks": 1, "per_week": "Mon 2-4", "adjacent_periods": [[1, 2], [3, 4]]}
    assert placed(solved(scenario(DOUBLE, **pairs))) == {"d": "1 Mon 3"}
    forbidden(scenario(DOUBLE, **pairs), 0, "d", d="1 Mon 2")


def test_a_triple_needs_every_neighbouring_pair() -> None:
    triple = [teach("t", length=3)]
    allowed(scenario(triple, weeks=1, per_week="Mon 1-3"), t="1 Mon 1")
    data = scenario(triple, weeks=1, per_week="Mon 1-3", adjacent_periods=[[1, 2]])
    forbidden(data, 0, "t", t="1 Mon 1")


def test_a_closed_period_splits_a_double() -> None:
    # Monday 1, 2, 3 with period 2 closed leaves 1 and 3, which are not adjacent.
    closed = {"closures": [{"name": "assembly", "on": day(1, "Mon"), "periods": 2}]}
    forbidden(scenario(DOUBLE, weeks=1, per_week="Mon 1-3", **closed), 0, "d", d="1 Mon 1")


# -- all slots of a lesson agree in how it is taught ---------------------------------------------------------------------


def remote(**more: object) -> Data:
    return {"name": "remote day", "on": day(1, "Mon"), **more}


def over(spell: Data) -> Data:
    """A double whose only place is Monday 1-2."""
    return scenario(DOUBLE, weeks=1, per_week="Mon 1-2", remote_spells=[spell])


def test_fixed_live_and_fixed_set_work_do_not_make_a_double() -> None:
    mixed = remote(fixed=[{"taught": "live", "periods": 1}, {"taught": "set work", "periods": 2}])
    forbidden(over(mixed), 0, "d", d="1 Mon 1")


def test_an_open_period_goes_with_its_fixed_neighbour() -> None:
    for fixed in ("live", "set work"):
        for period in (1, 2):
            answer = solved(over(remote(fixed=[{"taught": fixed, "periods": period}])))
            assert taught(answer) == {"d": fixed}


def test_a_lesson_is_taught_as_its_period_fixes_it() -> None:
    # Referee alone: in class, fixed live, fixed set work and open allow just these.
    for how, may in (("in class", ["in class"]), ("live", ["live"]), ("set work", ["set work"]), ("open", ["live", "set work"])):
        spells = [] if how == "in class" else [remote(taught=how)]
        data = scenario([teach("a")], weeks=1, per_week="Mon 1", remote_spells=spells)
        for stated in ("in class", "live", "set work"):
            expected = [] if stated in may else [(0, ["u/a"])]
            assert broken(data, a=f"1 Mon 1 {stated}") == expected, (how, stated)


def test_in_class_and_remote_do_not_make_a_double() -> None:
    for period in (1, 2):
        forbidden(over(remote(periods=period)), 0, "d", d="1 Mon 1")
    allowed(over(remote(periods=[1, 2])), d="1 Mon 1")
