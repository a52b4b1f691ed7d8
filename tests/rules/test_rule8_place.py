"""Rule 8, place: what a lesson needs, what restricted days refuse, and what all classes share."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Data, a_class, assessment, day, impossible, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, allowed, broken, forbidden, placed, row

LAB = [teach("a", needs="lab")]


# -- needs -------------------------------------------------------------------------------------------------------------


def timetable(**periods: Any) -> Data:
    return {"timetable": periods}


@pytest.mark.parametrize("where", ["Mon", "Wed", "Fri"])
def test_a_lesson_uses_only_periods_that_offer_what_it_needs(where: str) -> None:
    # One of five periods is in the lab: the first, one in the middle, the last.
    week = {name: {"period": 1, "offers": "lab"} if name == where else 1 for name in ("Mon", "Tue", "Wed", "Thu", "Fri")}
    data = scenario(LAB, weeks=1, of_class=timetable(**week))
    assert placed(solved(data)) == {"a": f"1 {where} 1"}
    forbidden(data, 8, "a", a="1 Tue 1")


def test_no_period_offers_it() -> None:
    # The lab of Tuesday is closed with the school.
    closed = [{"name": "storm", "on": day(1, "Tue")}]
    impossible(scenario(LAB, weeks=1, of_class=timetable(Mon=1, Tue={"period": 1, "offers": "lab"}), closures=closed))
    # Every period of the class does.
    allowed(scenario(LAB, weeks=1, of_class={"offers": "lab"}), a="1 Mon 1")


def test_all_needs_at_once_from_class_and_period() -> None:
    # The class always has computers; Tuesday is in the lab.
    both = [teach("a", needs=["lab", "computers"])]
    data = scenario(both, weeks=1, of_class={"offers": "computers", **timetable(Mon=1, Tue={"period": 1, "offers": ["lab"]})})
    assert placed(solved(data)) == {"a": "1 Tue 1"}
    forbidden(data, 8, "a", a="1 Mon 1")


def test_every_period_of_a_double_offers_it() -> None:
    lab = {"period": 2, "offers": "lab"}
    half = scenario([teach("a", length=2, needs="lab")], weeks=1, of_class=timetable(Mon=[1, lab]))
    forbidden(half, 8, "a", a="1 Mon 1")
    whole = scenario([teach("a", length=2, needs="lab")], weeks=1, of_class=timetable(Mon=[1, lab, {**lab, "period": 3}]))
    assert placed(solved(whole)) == {"a": "1 Mon 2"}


def test_remote_periods_offer_only_what_their_spell_states() -> None:
    # Monday remote: neither what the class offers nor being in school.
    def on_monday(needs: str, **spell: Any) -> Data:
        remote = [{"name": "remote day", "on": day(1, "Mon"), **spell}]
        return scenario([teach("a", needs=needs)], weeks=1, of_class={"offers": "lab"}, remote_spells=remote)

    for needs in ("lab", "in school"):
        assert placed(solved(on_monday(needs))) == {"a": "1 Tue 1"}
        forbidden(on_monday(needs), 8, "a", a="1 Mon 1")
    allowed(on_monday("lab", offers="lab"), a="1 Mon 1")
    allowed(on_monday("computers", offers=["lab", "computers"]), a="1 Mon 1")
    forbidden(on_monday("lab", offers="computers"), 8, "a", a="1 Mon 1")


# -- restricted days ---------------------------------------------------------------------------------------------------


def visit(lesson: Data, *, per_week: str = "Mon 1, Tue 1", refuses: Data, **more: Any) -> Data:
    """One lesson; Monday is restricted."""
    day_ = {"name": "visit", "on": day(1, "Mon"), "refuses": refuses, **more}
    # Never taught: it carries every tag, for one that no lesson carries is refused as a slip.
    never = teach("never", tags=["lab", "essay", "talk"], optional=True, on=day(1, "Sun"))
    return scenario([lesson, never], weeks=1, per_week=per_week, restricted_days=[day_], rules={"practice_after_dense": "off"})


@pytest.mark.parametrize(
    ("lesson", "refuses", "refused"),
    [
        (assessment("a"), {"kinds": "assessment"}, True),
        (teach("a"), {"kinds": "assessment"}, False),
        (assessment("a"), {"kinds": ["teach", "assessment"]}, True),
        (teach("a"), {"kinds": ["teach", "assessment"]}, True),
        (teach("a", tags="lab"), {"tags": "lab"}, True),
        (teach("a", tags=["lab", "essay"]), {"tags": ["essay", "talk"]}, True),
        (teach("a", tags="lab"), {"tags": "talk"}, False),
        (teach("a", load=4), {"high_load": True}, True),
        (teach("a", load=3), {"high_load": True}, False),
        (assessment("a", load=5), {"high_load": True}, True),
        (teach("a", load=4), {"kinds": "assessment", "tags": "lab"}, False),
        (teach("a", tags="lab"), {"kinds": "assessment", "tags": "lab"}, True),  # any of them is enough
    ],
)
def test_what_a_restricted_day_refuses(lesson: Data, refuses: Data, refused: bool) -> None:
    data = visit(lesson, refuses=refuses)
    allowed(data, a="1 Tue 1")
    if refused:
        forbidden(data, 8, "a", a="1 Mon 1")
    else:
        allowed(data, a="1 Mon 1")


def test_restricted_periods_and_classes() -> None:
    no_tests = {"refuses": {"kinds": "assessment"}}
    test = assessment("a")
    forbidden(visit(test, **no_tests, periods=1), 8, "a", a="1 Mon 1")
    allowed(visit(test, **no_tests, periods=2), a="1 Mon 1")
    forbidden(visit(test, **no_tests, classes="9B"), 8, "a", a="1 Mon 1")
    other = visit(test, **no_tests, classes="9C")
    other["classes"].append(a_class("9C"))
    allowed(other, row("a", "1 Mon 1"), row("a", "1 Tue 1", of="9C"))
    forbidden(other, 8, "a", row("a", "1 Mon 1"), row("a", "1 Mon 1", of="9C"))


@pytest.mark.parametrize("period", [1, 2])
def test_a_double_that_touches_a_restricted_period(period: int) -> None:
    double = assessment("a", length=2)
    forbidden(visit(double, per_week="Mon 1-2", refuses={"kinds": "assessment"}, periods=period), 8, "a", a="1 Mon 1")


def test_other_lessons_take_a_restricted_day() -> None:
    # Monday refuses new content: the assessment goes there, the lesson on Tuesday.
    data = visit(teach("a"), refuses={"kinds": "teach"})
    data["units"][0]["lessons"].append(assessment("p"))
    assert placed(solved(data)) == {"p": "1 Mon 1", "a": "1 Tue 1"}


# -- shared things -----------------------------------------------------------------------------------------------------


def kit(per_week_9b: str, per_week_9c: str, lesson: Data | None = None, **thing: Any) -> Data:
    """9B and 9C each need the kit once."""
    classes = [a_class("9B", per_week_9b), a_class("9C", per_week_9c)]
    lesson = lesson or teach("a", needs="kit")
    return scenario([lesson], weeks=1, classes=classes, shared=[{"name": "kit", **thing}])


def both(place_9b: str, place_9c: str) -> tuple[Data, Data]:
    return row("a", place_9b), row("a", place_9c, of="9C")


def test_one_kit_in_one_period() -> None:
    same = kit("Mon 1", "Mon 1")
    impossible(same)
    assert broken(same, *both("1 Mon 1", "1 Mon 1")) == [(8, ["u/a", "u/a"])]
    solved(kit("Mon 1", "Mon 1", capacity=2))


def test_another_period_or_another_date_is_free() -> None:
    allowed(kit("Mon 1", "Mon 2"), *both("1 Mon 1", "1 Mon 2"))
    allowed(kit("Mon 1", "Tue 1"), *both("1 Mon 1", "1 Tue 1"))
    # 9B has only Monday; 9C, which could meet there too, takes Tuesday.
    answer = solved(kit("Mon 1", "Mon 1, Tue 1"))
    assert (placed(answer, "9B"), placed(answer, "9C")) == ({"a": "1 Mon 1"}, {"a": "1 Tue 1"})


def test_capacity_over_three_classes() -> None:
    def three(capacity: int) -> Data:
        classes = [a_class(name, "Mon 1") for name in ("9B", "9C", "9D")]
        return scenario([teach("a", needs="kit")], weeks=1, classes=classes, shared=[{"name": "kit", "capacity": capacity}])

    impossible(three(2))
    solved(three(3))


def test_a_double_uses_it_in_both_its_periods() -> None:
    # 9B: a double in Mon 1-2. 9C: a single in period 2, then in period 3.
    units = [{"id": "u", "lessons": [teach("a", length=2, needs="kit")]}, {"id": "v", "lessons": [teach("b", needs="kit")]}]
    for period, fits in ((1, False), (2, False), (3, True)):
        classes = [a_class("9B", "Mon 1-2"), a_class("9C", f"Mon {period}", units="v")]
        data = scenario(weeks=1, units=units, classes=classes, shared=[{"name": "kit"}])
        places = (row("a", "1 Mon 1"), row("b", f"1 Mon {period}", of="9C"))
        if fits:
            allowed(data, *places)
        else:
            forbidden(data, 8, "u/a v/b", *places)


def test_lessons_that_do_not_need_it_do_not_count() -> None:
    data = kit("Mon 1", "Mon 1")
    data["classes"][1]["units"] = ["v"]
    data["units"].append({"id": "v", "lessons": [teach("b")]})
    solved(data)


def test_unless_only_where_offered_it_is_carried_to_any_period_in_school() -> None:
    solved(kit("Mon 1", "Tue 1"))
    # Not to a remote one, unless that states it.
    remote = {"name": "remote day", "on": day(1, "Mon")}
    data = kit("Mon 1, Wed 1", "Tue 1") | {"remote_spells": [remote]}
    assert placed(solved(data)) == {"a": "1 Wed 1"}
    forbidden(data, 8, "a", *both("1 Mon 1", "1 Tue 1"))
    allowed(data | {"remote_spells": [remote | {"offers": "kit"}]}, *both("1 Mon 1", "1 Tue 1"))
    # Remote or not, one kit serves one lesson a period.
    at_home = {"remote_spells": [remote | {"offers": "kit"}]}
    forbidden(kit("Mon 1", "Mon 1") | at_home, 8, "a a", *both("1 Mon 1", "1 Mon 1"))
    impossible(kit("Mon 1", "Mon 1") | at_home)


def test_only_where_offered() -> None:
    data = kit("Mon 1, Tue 1", "Wed 1", only_where_offered=True)
    data["classes"][0]["timetable"] = {"Mon": 1, "Tue": {"period": 1, "offers": "kit"}}
    data["classes"][1]["offers"] = ["kit"]
    assert placed(solved(data)) == {"a": "1 Tue 1"}
    forbidden(data, 8, "a", *both("1 Mon 1", "1 Wed 1"))
    # Without Tuesday no period offers it.
    impossible(data | {"closures": [{"name": "storm", "on": day(1, "Tue")}]})


# -- switched off ------------------------------------------------------------------------------------------------------


def test_off_voids_needs_restrictions_and_capacity() -> None:
    off = {"rules": {"place": "off"}}
    allowed(scenario([{**LAB[0], **off}], weeks=1), a="1 Mon 1")
    allowed(visit(assessment("a", **off), refuses={"kinds": "assessment"}), a="1 Mon 1")
    # 9C's lesson no longer counts: 9B may use the kit at the same time.
    data = kit("Mon 1", "Mon 1")
    data["classes"][1]["lessons"] = {"a": off}
    solved(data)
    assert broken(data, *both("1 Mon 1", "1 Mon 1")) == []


def test_needs_and_capacity_hold_in_the_last_period_too() -> None:
    same = kit(EVERY_DAY, EVERY_DAY)
    forbidden(same, 8, "a a", *both("1 Fri 1", "1 Fri 1"))
    forbidden(same, 8, "a a", *both("1 Mon 1", "1 Mon 1"))
