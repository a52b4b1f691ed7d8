"""Rule 2, the cap on consecutive high-load lessons: at most p follow one another without a break."""

from __future__ import annotations

import pytest

from tests.builders import Data, a_class, aims, day, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, allowed, broken, forbidden, hard, placed

THREE = [hard("a"), hard("b"), hard("c")]


def cap(most: int, **more: object) -> Data:
    return {"consecutive_high_load": {"most": most, **more}}


# -- where a run lies --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("days", ["Mon Tue Wed", "Tue Wed Thu", "Wed Thu Fri"])
def test_three_in_a_row_are_forbidden_from_the_first_slot_to_the_last(days: str) -> None:
    a, b, c = (f"1 {weekday} 1" for weekday in days.split())
    forbidden(scenario(THREE, weeks=1, per_week=EVERY_DAY), 2, "a b c", a=a, b=b, c=c)


@pytest.mark.parametrize("days", ["Mon Tue Thu", "Mon Wed Thu", "Tue Thu Fri", "Mon Thu Fri", "Mon Wed Fri"])
def test_a_spare_slot_breaks_a_run(days: str) -> None:
    a, b, c = (f"1 {weekday} 1" for weekday in days.split())
    allowed(scenario(THREE, weeks=1, per_week=EVERY_DAY), a=a, b=b, c=c)


def test_another_lesson_breaks_a_run() -> None:
    five = scenario([*THREE, hard("d"), teach("easy")], weeks=1, per_week=EVERY_DAY)
    # Five slots, four high-load, at most two in a row: the easy one lies in the middle.
    assert placed(solved(five))["easy"] == "1 Wed 1"
    forbidden(five, 2, "b c d", a="1 Mon 1", easy="1 Tue 1", b="1 Wed 1", c="1 Thu 1", d="1 Fri 1")


def test_a_run_longer_by_two_is_broken_too() -> None:
    four = scenario([*THREE, hard("d")], weeks=1, per_week=EVERY_DAY)
    found = broken(four, a="1 Mon 1", b="1 Tue 1", c="1 Wed 1", d="1 Thu 1")
    assert {rule for rule, _ in found} == {2}
    assert {lesson for _, lessons in found for lesson in lessons} == {"u/a", "u/b", "u/c", "u/d"}


@pytest.mark.parametrize("most", [1, 2, 3])
@pytest.mark.parametrize("slots", [1, 2, 3, 4, 5])
def test_how_many_fit(most: int, slots: int) -> None:
    # Outside check, by arithmetic: floor(n / (k + 1)) * k + min(n mod (k + 1), k) high-load lessons fit in n slots.
    fit = slots // (most + 1) * most + min(slots % (most + 1), most)
    base = {"weeks": 1, "per_week": ", ".join(EVERY_DAY.split(", ")[:slots]), "rules": cap(most)}
    optional = [hard(f"h{number}", optional=True) for number in range(slots)]
    assert aims(solved(scenario(optional, **base)))["left out"] == slots - fit
    required = [hard(f"h{number}") for number in range(fit + 1)]
    if fit < slots:
        impossible(scenario(required, **base))


def test_load_one_below_the_threshold_is_not_high() -> None:
    almost = [teach("a", load=3), teach("b", load=3), teach("c", load=3)]
    allowed(scenario(almost, weeks=1, per_week=EVERY_DAY), a="1 Mon 1", b="1 Tue 1", c="1 Wed 1")
    # On a scale of 0 to 10 with high from 8, a 7 is not high and an 8 is.
    for load, fits in ((7, True), (8, False)):
        lessons = [{**hard(name), "load": load} for name in "abc"]
        data = scenario(lessons, weeks=1, per_week=EVERY_DAY, loads={"least": 0, "most": 10, "high": 8})
        if fits:
            allowed(data, a="1 Mon 1", b="1 Tue 1", c="1 Wed 1")
        else:
            forbidden(data, 2, "a b c", a="1 Mon 1", b="1 Tue 1", c="1 Wed 1")


# -- doubles -----------------------------------------------------------------------------------------------------------


def test_a_double_counts_once() -> None:
    # Two doubles fill Mon 1-2 and Tue 1-2: four slots, a run of two. A third makes three.
    base = {"weeks": 1, "per_week": "Mon 1-2, Tue 1-2, Wed 1-2"}
    doubles = [hard(name, length=2) for name in "abc"]
    allowed(scenario(doubles[:2], **base), a="1 Mon 1", b="1 Tue 1")
    forbidden(scenario(doubles, **base), 2, "a b c", a="1 Mon 1", b="1 Tue 1", c="1 Wed 1")


def test_heavy_doubles_in_a_run_of_one() -> None:
    # At most one in a row: a double alone is one, though it fills two slots in a row.
    allowed(scenario([hard("a", length=2)], weeks=1, per_week="Mon 1-2", rules=cap(1)), a="1 Mon 1")
    # Mon 1-2, Tue 1, Wed 1-2: two doubles with the single slot of Tuesday between them, spare.
    two = [hard("a", length=2), hard("b", length=2)]
    allowed(scenario(two, weeks=1, per_week="Mon 1-2, Tue 1, Wed 1-2", rules=cap(1)), a="1 Mon 1", b="1 Wed 1")
    forbidden(scenario(two, weeks=1, per_week="Mon 1-2, Tue 1-2", rules=cap(1)), 2, "a b", a="1 Mon 1", b="1 Tue 1")
    # Mon 1-3: the double in 1-2, a single in 3 (or 1, with the double in 2-3).
    mixed = scenario([hard("a", length=2), hard("b")], weeks=1, per_week="Mon 1-3, Tue 1", rules=cap(1))
    forbidden(mixed, 2, "a b", a="1 Mon 1", b="1 Mon 3")
    forbidden(mixed, 2, "a b", a="1 Mon 2", b="1 Mon 1")
    allowed(mixed, a="1 Mon 1", b="1 Tue 1")  # Monday 3 is spare


def test_an_easy_double_breaks_a_run() -> None:
    data = scenario([hard("a"), teach("easy", length=2), hard("b")], weeks=1, per_week="Mon 1-4", rules=cap(1))
    allowed(data, a="1 Mon 1", easy="1 Mon 2", b="1 Mon 4")


# -- break_days --------------------------------------------------------------------------------------------------------


def test_weekends_do_not_break_a_run_unless_days_are_stated() -> None:
    # Fri 6, Mon 9, Fri 13: 3 and 4 days apart. A run breaks where dates differ by MORE than break_days.
    def over(rules: Data) -> Data:
        return scenario(THREE, weeks=2, per_week="Mon 1, Fri 1", rules=rules)

    where = {"a": "1 Fri 1", "b": "2 Mon 1", "c": "2 Fri 1"}
    forbidden(over({}), 2, "a b c", **where)
    forbidden(over(cap(2, break_days=4)), 2, "a b c", **where)
    allowed(over(cap(2, break_days=3)), **where)  # a b | c
    forbidden(over(cap(1, break_days=3)), 2, "a b", **where)
    allowed(over(cap(1, break_days=2)), **where)  # a | b | c


def test_closures_do_not_break_a_run_unless_days_are_stated() -> None:
    # Wednesday closed: Tue and Thu are neighbouring slots, 2 days apart.
    def over(rules: Data) -> Data:
        return scenario(THREE, weeks=1, per_week=EVERY_DAY, closures=[{"name": "storm", "on": day(1, "Wed")}], rules=rules)

    where = {"a": "1 Tue 1", "b": "1 Thu 1", "c": "1 Fri 1"}
    forbidden(over({}), 2, "a b c", **where)
    forbidden(over(cap(2, break_days=2)), 2, "a b c", **where)
    allowed(over(cap(2, break_days=1)), **where)  # a | b c


def test_holidays_do_not_break_a_run_unless_days_are_stated() -> None:
    # Week 2 is holiday: Fri 6 and Mon 16 are neighbouring slots, 10 days apart; then Fri 20.
    def over(rules: Data) -> Data:
        off = [{"name": "half term", "first": day(2, "Mon"), "last": day(2, "Sun")}]
        return scenario(THREE, weeks=3, per_week="Mon 1, Fri 1", holidays=off, rules=rules)

    where = {"a": "1 Mon 1", "b": "1 Fri 1", "c": "3 Mon 1"}
    forbidden(over({}), 2, "a b c", **where)
    forbidden(over(cap(2, break_days=10)), 2, "a b c", **where)
    allowed(over(cap(2, break_days=9)), **where)  # a b | c


def test_break_days_0_lets_runs_last_a_day() -> None:
    data = scenario(THREE, weeks=1, per_week="Mon 1-2, Tue 1-2", rules=cap(1, break_days=0))
    allowed(data | {"units": [{"id": "u", "lessons": THREE[:2]}]}, a="1 Mon 2", b="1 Tue 1")
    forbidden(data, 2, "a b", a="1 Mon 1", b="1 Mon 2", c="1 Tue 1")


# -- numbers per scenario, class, unit, lesson -------------------------------------------------------------------------


ROW = {"a": "1 Mon 1", "b": "1 Tue 1", "c": "1 Wed 1"}


def test_numbers_for_scenario_class_unit_and_lesson() -> None:
    base = {"weeks": 1, "per_week": EVERY_DAY}
    for wider in ({"rules": cap(3)}, {"of_class": {"rules": cap(3)}}, {"unit": {"rules": cap(3)}}):
        allowed(scenario(THREE, **base, **wider), **ROW)
    each = [{**lesson, "rules": cap(3)} for lesson in THREE]
    allowed(scenario(each, **base), **ROW)
    # The narrower number wins, whether it is the smaller or the greater.
    allowed(scenario(THREE, **base, rules=cap(1), unit={"rules": cap(3)}), **ROW)
    forbidden(scenario(THREE, **base, rules=cap(3), of_class={"rules": cap(2)}), 2, "a b c", **ROW)


@pytest.mark.parametrize("named", ["a", "b", "c"])
def test_a_run_keeps_the_number_of_every_lesson_it_holds(named: str) -> None:
    # All may run to 3 but one, which stays at 2: a run of three that holds it is broken, wherever in the run it is.
    lessons = [{**lesson, "rules": cap(2 if lesson["id"] == named else 3)} for lesson in THREE]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY)
    forbidden(data, 2, "a b c", **ROW)
    # One that demands to stand alone breaks even a run of two; the two others may still follow one another.
    alone = [{**lesson, "rules": cap(1)} if lesson["id"] == "a" else lesson for lesson in THREE]
    data = scenario(alone, weeks=1, per_week=EVERY_DAY)
    forbidden(data, 2, "a b", a="1 Mon 1", b="1 Tue 1", c="1 Thu 1")
    allowed(data, a="1 Mon 1", b="1 Wed 1", c="1 Thu 1")


def test_a_lesson_with_the_rule_off_interrupts_a_run() -> None:
    off = {"consecutive_high_load": "off"}
    base = {"weeks": 1, "per_week": EVERY_DAY}
    middle = scenario([hard("a"), hard("b", rules=off), hard("c")], **base, rules=cap(1))
    allowed(middle, **ROW)  # a | c: each alone
    edge = scenario([hard("a", rules=off), hard("b"), hard("c")], **base, rules=cap(1))
    forbidden(edge, 2, "b c", **ROW)
    allowed(scenario(THREE, **base, rules=off), **ROW)


def test_the_cap_is_per_class() -> None:
    # Two classes, high-load lessons on Monday and Tuesday: each class has a run of one.
    classes = [a_class("9B", "Mon 1", units="u"), a_class("9C", "Tue 1", units="v")]
    units = [{"id": "u", "lessons": [hard("a")]}, {"id": "v", "lessons": [hard("b")]}]
    answer = solved(scenario(weeks=1, units=units, classes=classes, rules=cap(1)))
    assert (placed(answer, "9B"), placed(answer, "9C")) == ({"a": "1 Mon 1"}, {"b": "1 Tue 1"})


@pytest.mark.parametrize("length", [1, 2])
def test_a_smaller_number_of_one_lesson_says_nothing_of_runs_it_is_not_in(length: int) -> None:
    # a, b, c fill Monday and follow one another: three, as all of them may. t, which may follow no other, stands alone.
    # A double elsewhere changes nothing of that.
    lessons = [hard(each, on=day(1, "Mon")) for each in "abc"]
    lessons += [hard("d", length=length), hard("t", rules={"consecutive_high_load": 1})]
    data = scenario(
        lessons, weeks=1, per_week="Mon 1-3, Tue 1-4, Thu 1-2", rules={"consecutive_high_load": 3, "practice_after_dense": "off"}
    )
    allowed(data, a="1 Mon 1", b="1 Mon 2", c="1 Mon 3", d="1 Tue 2", t="1 Thu 1")
    forbidden(data, 2, "d t", a="1 Mon 1", b="1 Mon 2", c="1 Mon 3", d=f"1 Tue {4 - length}", t="1 Tue 4")
