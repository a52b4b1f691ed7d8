"""Both searches against answers worked by hand, so that a mistake they share would have to be shared by arithmetic too."""

from __future__ import annotations

from typing import Any

import pytest

from tests.crosscheck import exhaustive, milp
from tests.crosscheck.facts import read_facts
from tests.crosscheck.slots import Raw

QUIET: Raw = {"consecutive_high_load": "off", "practice_after_dense": "off"}


def _scenario(lessons: list[Raw], timetable: Raw, weeks: int = 1, **more: Any) -> Raw:
    """One class over so many weeks from Monday 2 November 2026."""
    group = {"id": "9B", "units": ["u"], "timetable": timetable, **more.pop("group", {})}
    last = ("2026-11-06", "2026-11-13", "2026-11-20", "2026-11-27")[weeks - 1]
    term = {"first": "2026-11-02", "last": last, **more.pop("term", {})}
    return {"format": 1, "term": term, "units": [{"id": "u", "lessons": lessons}], "classes": [group], **more}


AT_NOTHING = dict.fromkeys(
    (
        "left out",
        "carried over",
        "left for the next plan",
        "wishes",
        "early finish",
        "dense as set work",
        "distance",
        "even load",
    ),
    0,
)
"""The usual aims of a scenario without patterns, each at 0."""


def _best(data: Raw) -> dict[str, int] | None:
    """The best values, on which exhaustive search and the integer programme agree."""
    facts = read_facts(data)
    found = exhaustive.best(facts)
    assert milp.best_values(facts, len(facts.aims)) == (found and found.values)
    return dict(zip(facts.aims, found.values, strict=True)) if found else None


def _teach(name: str, **more: Any) -> Raw:
    return {"id": name, "load": 1, **more}


def test_label_of_calendar_weeks_runs_on_through_a_holiday() -> None:
    # Weeks of 2, 9 and 16 November, the middle one a holiday: A, (B), then A by calendar weeks but B by school weeks.
    holidays = [{"name": "half term", "first": "2026-11-09", "last": "2026-11-15"}]
    timetable = {"A": {"Mon": 1}, "B": {"Tue": 1}}
    dates = []
    for follow in ("calendar weeks", "school weeks"):
        term = {"cycle": ["A", "B"], "labels_follow": follow}
        slots = read_facts(_scenario([_teach("a")], timetable, 3, term=term, holidays=holidays)).classes[0].slots
        dates.append([(slot.day.isoformat(), slot.label, slot.week, slot.cycle) for slot in slots])
    assert dates[0] == [("2026-11-02", "A", 1, 1), ("2026-11-16", "A", 2, 2)]
    assert dates[1] == [("2026-11-02", "A", 1, 1), ("2026-11-17", "B", 2, 1)]


def test_cycle_begins_where_the_label_comes_no_later() -> None:
    # From B, then A in a holiday, then B again: the second B comes no later than the first, so a cycle begins.
    holidays = [{"name": "half term", "first": "2026-11-09", "last": "2026-11-15"}]
    term = {"cycle": ["A", "B"], "first_label": "B", "labels_follow": "calendar weeks"}
    slots = read_facts(_scenario([_teach("a")], {"Mon": 1}, 4, term=term, holidays=holidays)).classes[0].slots
    assert [(slot.label, slot.cycle) for slot in slots] == [("B", 1), ("B", 2), ("A", 3)]


@pytest.mark.parametrize(("most", "possible"), [(1, False), (2, True)])
def test_window_in_slots(most: int, possible: bool) -> None:
    # a, b and c fill three slots and b comes straight after a, so c is at most 2 after a ends, never at most 1.
    lessons = [
        _teach("a"),
        _teach("b", requires={"lesson": "a", "most_slots": 1}),
        _teach("c", requires={"lesson": "a", "most_slots": most}),
    ]
    assert (_best(_scenario(lessons, {"Mon": 1, "Wed": 1, "Fri": 1})) is not None) == possible


@pytest.mark.parametrize(("slots", "most", "fit"), [(5, 1, 3), (5, 2, 4), (6, 3, 5), (4, 4, 4)])
def test_run_cap_by_arithmetic(slots: int, most: int, fit: int) -> None:
    # Of n slots at most floor(n / (k + 1)) * k + min(n mod (k + 1), k) hold high-load lessons, k of them in a row.
    lessons = [{"id": f"h{n}", "kind": "assessment", "load": 4, "optional": True} for n in range(slots)]
    days = {day: [1] for day in ("Mon", "Tue", "Wed", "Thu", "Fri")[:slots]}
    if slots == 6:
        days["Mon"] = [1, 2]
    data = _scenario(lessons, days, rules={"consecutive_high_load": most}, aims=["left out"])
    assert _best(data) == {"left out": slots - fit}


def test_practice_is_carried_over_only_at_the_end() -> None:
    # The dense lesson's date puts it in the last slot; practice must come after it, so it is left out and carried over.
    dense = {"id": "x", "load": 4, "not_before": "2026-11-06"}
    practice = {"id": "p", "kind": "practice", "practises": "x", "optional": True, "load": 1}
    best = _best(_scenario([dense, practice], {"Mon": 1, "Fri": 1}))
    assert best == AT_NOTHING | {"left out": 1, "carried over": 1, "left for the next plan": 1, "even load": 4, "early finish": 1}
    # One slot earlier the practice would fit, and nothing may be carried over: without it there is no sequence.
    data = _scenario([dense | {"not_after": "2026-11-04", "not_before": "2026-11-04"}], {"Wed": 1, "Fri": 1})
    assert _best(data) is None


def test_late_retrieval_takes_the_first_later_date() -> None:
    # Mondays only. Two to three days after Monday 2 there is no slot; the first later date is Monday 9, seven days on:
    # late (1), and 7 - 2 = 5 days from the preferred distance.
    lessons = [_teach("x", on="2026-11-02"), {"id": "r", "kind": "retrieval", "revisits": "x", "load": 1}]
    rules = {"retrieval": {"least": 2, "most": 3}}
    best = _best(_scenario(lessons, {"Mon": 1}, 3, rules=rules))
    assert best == AT_NOTHING | {"carried over": 1, "distance": 5, "even load": 1}


def test_retrieval_carried_over_counts_no_distance() -> None:
    # Taught on the last slot but one: the window reaches beyond the last slot, and the only meeting is too soon for it.
    lessons = [_teach("x", on="2026-11-04"), {"id": "r", "kind": "retrieval", "revisits": "x", "load": 1}]
    # Its date fixes the only teach lesson, so no spare slot lies too early.
    best = _best(_scenario(lessons, {"Mon": 1, "Wed": 1, "Fri": 1}))
    assert best == AT_NOTHING | {"carried over": 1, "left for the next plan": 1, "even load": 2}


def test_live_quota_leaves_dense_lessons_set_work() -> None:
    # Three dense lessons in three open remote slots, at most one live: the two others are set work, which no wish forbids.
    lessons = [{"id": f"x{n}", "load": 4} for n in range(3)]
    spell = [{"name": "remote", "first": "2026-11-02", "last": "2026-11-06"}]
    rules = QUIET | {"live_quotas": [{"most": 1}]}
    best = _best(_scenario(lessons, {"Mon": 1, "Wed": 1, "Fri": 1}, remote_spells=spell, rules=rules))
    assert best is not None
    assert (best["wishes"], best["dense as set work"]) == (0, 2)


@pytest.mark.parametrize(("strict", "possible"), [(False, True), (True, False)])
def test_least_number_of_live_lessons_is_cut_unless_strict(strict: bool, possible: bool) -> None:
    # Two remote slots cannot hold three live lessons.
    lessons = [_teach("a"), _teach("b")]
    spell = [{"name": "remote", "first": "2026-11-02", "last": "2026-11-06"}]
    rules = {"live_quotas": [{"least": 3}]}
    data = _scenario(lessons, {"Mon": 1, "Wed": 1}, remote_spells=spell, rules=rules, strict=strict)
    assert (_best(data) is not None) == possible


@pytest.mark.parametrize(("capacity", "left_out"), [(1, 1), (2, 0)])
def test_shared_thing_in_one_period_of_two_classes(capacity: int, left_out: int) -> None:
    data = _scenario([_teach("a", needs="kit", optional=True)], {"Mon": 1}, shared=[{"name": "kit", "capacity": capacity}])
    data["classes"].append(data["classes"][0] | {"id": "9C"})
    best = _best(data)
    assert best is not None
    assert best["left out"] == left_out


def test_feedback_waits_for_marking_in_school_days() -> None:
    # Assessed on Thursday 5; Friday is closed to all, so Monday 9 and Tuesday 10 are the first two school days after it.
    lessons = [
        {"id": "t", "kind": "assessment", "load": 1, "on": "2026-11-05", "rules": {"marking": 2}},
        {"id": "f", "kind": "feedback", "answers": "t", "load": 1, "not_after": "2026-11-09"},
    ]
    closures = [{"name": "closed", "on": "2026-11-06"}]
    data = _scenario(lessons, {"Mon": 1, "Tue": 1, "Thu": 1}, 2, closures=closures)
    assert _best(data) is None
    lessons[1]["not_after"] = "2026-11-10"
    assert _best(data) is not None


def test_early_finish_counts_spares_before_the_last_required_lesson() -> None:
    # Five slots; b two slots or more after a: with a in slot 0 and b in slot 2 one spare lies before b, unless c fills it.
    lessons = [_teach("a"), _teach("b", requires={"lesson": "a", "least_slots": 2})]
    days = dict.fromkeys(("Mon", "Tue", "Wed", "Thu", "Fri"), 1)
    assert _best(_scenario(lessons, days, aims=["early finish"])) == {"early finish": 1}
    filler = [*lessons, _teach("c", optional=True)]
    assert _best(_scenario(filler, days, aims=["early finish"])) == {"early finish": 0}


def _two_classes(lessons: list[Raw], first: Raw, second: Raw, weeks: int = 1, **more: Any) -> Raw:
    """Ms Oak teaches the same lessons to two classes."""
    data = _scenario(lessons, first, weeks, group={"teacher": "Ms Oak"}, **more)
    data["classes"].append(data["classes"][0] | {"id": "9C", "timetable": second})
    return data


@pytest.mark.parametrize(("days", "left_out"), [(2, 1), (3, 0), (4, 0)])
def test_parallel_lessons_in_step(days: int, left_out: int) -> None:
    # Monday and Thursday are three days apart; nearer than that, one of the two lessons is left out.
    data = _two_classes([_teach("a", optional=True)], {"Mon": 1}, {"Thu": 1}, rules={"in_step": days}, aims=["left out"])
    assert _best(data) == {"left out": left_out}
    data["classes"][1]["rules"] = {"in_step": "off"}
    assert _best(data) == {"left out": 0}


@pytest.mark.parametrize(("stated", "own", "best"), [
    (None, None, None), (None, True, 1), (True, None, 1), (True, False, None), (False, True, 1),
])  # fmt: skip
def test_a_class_says_itself_what_it_may_leave_out(stated: bool | None, own: bool | None, best: int | None) -> None:
    # Two lessons for one period: one is left out, where the lesson, or else the class, says that it may be.
    optional = {} if stated is None else {"optional": stated}
    data = _scenario([_teach("a"), _teach("b", **optional)], {"Mon": 1}, aims=["left out"])
    if own is not None:
        data["classes"][0]["lessons"] = {"b": {"optional": own}}
    assert _best(data) == (None if best is None else {"left out": best})


@pytest.mark.parametrize(("most", "left_out"), [(0, 2), (1, 1), (2, 0)])
def test_dense_lessons_of_a_teacher_in_a_day(most: int, left_out: int) -> None:
    # Both classes meet on Monday alone.
    dense = {"id": "a", "load": 4, "optional": True}
    limits = [{"name": "Ms Oak", "dense_a_day": most}]
    data = _two_classes([dense], {"Mon": 1}, {"Mon": 2}, rules=QUIET, teachers=limits, aims=["left out"])
    assert _best(data) == {"left out": left_out}


@pytest.mark.parametrize(("most", "wishes"), [(0, 2), (1, 1), (2, 0)])
def test_live_lessons_of_a_teacher_in_a_day(most: int, wishes: int) -> None:
    spell = [{"name": "remote", "on": "2026-11-02"}]
    limits = [{"name": "Ms Oak", "live_a_day": most}]
    lessons = [_teach("a", live="prefer")]
    data = _two_classes(lessons, {"Mon": 1}, {"Mon": 2}, remote_spells=spell, teachers=limits, aims=["wishes"])
    assert _best(data) == {"wishes": wishes}


@pytest.mark.parametrize(("most", "possible"), [(39, False), (40, True)])
def test_marking_of_a_week(most: int, possible: bool) -> None:
    # 20 minutes for each class and lesson, two lessons, two weeks: 40 a week at best.
    lessons = [_teach(name, marking_minutes=20) for name in "ab"]
    limits = [{"name": "Ms Oak", "marking_a_week": most}]
    data = _two_classes(lessons, {"Mon": 1}, {"Mon": 1}, 2, teachers=limits, aims=["even week"])
    assert _best(data) == ({"even week": 40} if possible else None)


@pytest.mark.parametrize(("most", "possible"), [(29, False), (30, True)])
def test_preparation_is_shared_by_parallel_classes_and_week_0_is_not_capped(most: int, possible: bool) -> None:
    # a is taught in week 1, prepared in week 0; b in week 2, prepared in week 1, once: 30 for both classes.
    lessons = [_teach("a", preparation_minutes=50), _teach("b", preparation_minutes=30, requires="a")]
    limits = [{"name": "Ms Oak", "preparation_a_week": most}]
    data = _two_classes(lessons, {"Mon": 1}, {"Fri": 1}, 2, teachers=limits, aims=["even week"])
    assert _best(data) == ({"even week": 50} if possible else None)


def test_even_week_is_a_sum_over_teachers() -> None:
    # One lesson of 30 minutes to mark and 10 to prepare for each class, in the one week: 10 + 10 in week 0, 30 each in week 1.
    data = _two_classes([_teach("a", marking_minutes=30, preparation_minutes=10)], {"Mon": 1}, {"Mon": 1}, aims=["even week"])
    assert _best(data) == {"even week": 60}
    data["classes"][1]["teacher"] = "Mr Elm"
    assert _best(data) == {"even week": 60}
    # Nobody's classes are one teacher's.
    for group in data["classes"]:
        del group["teacher"]
    assert _best(data) == {"even week": 60}
    data["term"]["last"] = "2026-11-13"
    # Weeks 1 and 2, prepared once in week 0: 10, 30, 30.
    assert _best(data) == {"even week": 30}


def test_strands_are_a_teachers() -> None:
    # Of three periods Ms Oak has one; her two lessons do not fit, the first strand wins and the lesson's own word over it.
    timetable = {"Mon": {"period": 1, "teacher": "Ms Oak"}, "Wed": 1, "Fri": 1}
    strands = [{"tag": "talk", "teacher": "Ms Oak"}, {"tag": "quiz", "teacher": "Mr Elm"}]
    lessons = [_teach("a", tags=["quiz", "talk"]), _teach("b", tags="talk")]
    data = _scenario(lessons, timetable, group={"teacher": "Mr Elm"})
    data["units"][0]["strands"] = strands
    assert _best(data) is None
    lessons[0]["teacher"] = "Mr Elm"
    assert _best(data) is not None


@pytest.mark.parametrize(("n", "possible"), [(2, False), (3, True), (4, True), (5, False), (7, True)])
def test_langford_pairs(n: int, possible: bool) -> None:
    # CSPLib problem 24 (OEIS A014552): possible if and only if n mod 4 is 0 or 3.
    lessons = []
    for v in range(1, n + 1):
        lessons += [
            _teach(f"a{v}"),
            _teach(f"b{v}", requires={"lesson": f"a{v}", "least_slots": v + 1, "most_slots": v + 1}),
        ]
    week = {"Mon": [1, 2], "Tue": [1, 2], "Wed": [1, 2], "Thu": [1, 2], "Fri": [1, 2]}
    short = {**{day: week[day] for day in list(week)[: min(n, 5)]}, **({"Mon": [1, 2, 3, 4, 5, 6]} if n == 7 else {})}
    facts = read_facts(_scenario(lessons, short, aims=["even load"]))
    assert len(facts.classes[0].slots) == 2 * n
    assert milp.best_values(facts) == ((2 * n,) if possible else None)
    if n <= 4:
        assert (exhaustive.best(facts) is not None) == possible
