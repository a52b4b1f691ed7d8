"""Rule 5, live quotas per week, cycle or span, and what a single lesson demands, prefers, avoids or refuses."""

from __future__ import annotations

from typing import Any

import pytest

from sequencer import answer_json
from tests.builders import Data, a_class, aims, assessment, day, impossible, scenario, solved, teach, term
from tests.rules.helpers import broken, forbidden, judged, placed, taught

THREE_DAYS = "Mon 1, Tue 1, Wed 1"
SHY = [teach(name, live="avoid") for name in "abc"]
"""Lessons that avoid live: each that is live costs 1 wish, so none is unless a quota says so."""
KEEN = [teach(name, live="prefer") for name in "abc"]
"""Lessons that prefer live: each that is set work costs 1 wish."""


def remote(week: int = 1, to_week: int = 0, **more: Any) -> Data:
    return {"name": "remote", "first": day(week, "Mon"), "last": day(to_week or week, "Fri"), **more}


def quota(**numbers: Any) -> Data:
    return {"live_quotas": [numbers]}


def how_many_live(data: Data) -> int:
    return list(taught(solved(data)).values()).count("live")


# -- quotas per week ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("least", [0, 1, 2, 3])
def test_at_least_n_live(least: int) -> None:
    # Three open slots, three lessons that avoid live: exactly the least is live.
    data = scenario(SHY, weeks=1, per_week=THREE_DAYS, remote_spells=[remote()], rules=quota(least=least))
    answer = solved(data)
    assert list(taught(answer).values()).count("live") == aims(answer)["wishes"] == least
    assert answer_json(answer)["notes"] == []


@pytest.mark.parametrize("most", [0, 1, 2, 3])
def test_at_most_n_live(most: int) -> None:
    data = scenario(KEEN, weeks=1, per_week=THREE_DAYS, remote_spells=[remote()], rules=quota(most=most))
    answer = solved(data)
    assert list(taught(answer).values()).count("live") == most
    assert aims(answer)["wishes"] == 3 - most


def test_the_referee_counts_what_is_live() -> None:
    lessons = [teach("a"), teach("b"), teach("c")]
    two = scenario(lessons, weeks=1, per_week=THREE_DAYS, remote_spells=[remote()], rules=quota(least=2, most=2))
    assert broken(two, a="1 Mon 1 live", b="1 Tue 1 set work", c="1 Wed 1 live") == []
    one = judged(two, a="1 Mon 1 set work", b="1 Tue 1 set work", c="1 Wed 1 live")["breaches"]
    three = judged(two, a="1 Mon 1 live", b="1 Tue 1 live", c="1 Wed 1 live")["breaches"]
    assert [breach["rule"] for breach in one] == [breach["rule"] for breach in three] == [5]


def test_at_most_as_many_as_are_fixed_live() -> None:
    # Both slots are fixed live and both are needed: at most one is impossible, unless one is left spare.
    fixed = {"weeks": 1, "remote_spells": [remote(taught="live")], "rules": quota(most=1)}
    impossible(scenario([teach("a"), teach("b")], **fixed))
    assert taught(solved(scenario([teach("a")], **fixed))) == {"a": "live"}


def test_a_spare_slot_is_never_live() -> None:
    # Three slots that can be live, two lessons, at least three: not cut, for the slots are there, and not met.
    data = scenario([teach("a"), teach("b")], weeks=1, per_week=THREE_DAYS, remote_spells=[remote()], rules=quota(least=3))
    impossible(data)
    assert how_many_live(data | {"rules": quota(least=2)}) == 2


def test_no_lesson_that_may_be_live() -> None:
    # At least 1 live, and the only lesson refuses: impossible. At most 0, and it demands: impossible.
    for wish, numbers in (("refuse", {"least": 1}), ("demand", {"most": 0})):
        impossible(scenario([teach("a", live=wish)], weeks=1, remote_spells=[remote()], rules=quota(**numbers)))


def test_a_double_counts_once() -> None:
    # Mon 1-2 and Tue 1: a double and a single are two live lessons in three slots.
    lessons = [teach("d", length=2, live="avoid"), teach("a", live="avoid")]
    base = {"weeks": 1, "per_week": "Mon 1-2, Tue 1", "remote_spells": [remote()]}
    assert aims(solved(scenario(lessons, **base, rules=quota(least=2))))["wishes"] == 2
    impossible(scenario(lessons, **base, rules=quota(least=3)))  # three slots could be live: not cut
    eager = [{**lesson, "live": "demand"} for lesson in lessons]
    assert how_many_live(scenario(eager, **base, rules=quota(most=2))) == 2
    impossible(scenario(eager, **base, rules=quota(most=1)))


def test_only_weeks_with_a_remote_slot_have_a_quota() -> None:
    # Week 1 in class, week 2 remote on Monday alone: at least 1 is asked of week 2 only; nothing is cut or noted.
    spell = [{"name": "remote day", "on": day(2, "Mon")}]
    four = [teach(name, live="avoid") for name in "abcd"]
    data = scenario(four, per_week="Mon 1, Tue 1", remote_spells=spell, rules=quota(least=1), strict=True)
    answer = solved(data)
    assert aims(answer)["wishes"] == 1
    assert answer_json(answer)["notes"] == []
    by_place = {placed(answer)[lesson]: how for lesson, how in taught(answer).items()}
    assert by_place == {"1 Mon 1": "in class", "1 Tue 1": "in class", "2 Mon 1": "live", "2 Tue 1": "in class"}


def test_every_week_has_its_own_count() -> None:
    # Two remote weeks of two slots: at least 1 each makes 2, first week and last.
    four = [teach(name, live="avoid") for name in "abcd"]
    data = scenario(four, per_week="Mon 1, Tue 1", remote_spells=[remote(1, 2)], rules=quota(least=1))
    answer = solved(data)
    live = [placed(answer)[lesson][0] for lesson, how in taught(answer).items() if how == "live"]
    assert sorted(live) == ["1", "2"]


# -- a least number that a short week cannot hold ----------------------------------------------------------------------


def test_cut_to_the_slots_that_can_be_live_and_reported() -> None:
    # Four are asked of three open slots: cut to 3, in the notes; strict: impossible.
    base = {"weeks": 1, "per_week": THREE_DAYS, "remote_spells": [remote()], "rules": quota(least=4)}
    answer = solved(scenario(SHY, **base))
    assert aims(answer)["wishes"] == 3
    (note,) = answer_json(answer)["notes"]
    assert all(word in note for word in ("9B", "4", "3", "live")), note
    impossible(scenario(SHY, **base, strict=True))


def test_slots_fixed_as_set_work_cannot_be_live() -> None:
    # Monday is fixed as set work: two slots can be live; three are cut to 2.
    spell = remote(fixed=[{"taught": "set work", "weekdays": "Mon"}])
    base = {"weeks": 1, "per_week": THREE_DAYS, "remote_spells": [spell]}
    answer = solved(scenario(SHY, **base, rules=quota(least=3)))
    assert aims(answer)["wishes"] == 2
    assert len(answer_json(answer)["notes"]) == 1
    impossible(scenario(SHY, **base, rules=quota(least=3), strict=True))
    exact = solved(scenario(SHY, **base, rules=quota(least=2), strict=True))
    assert (aims(exact)["wishes"], answer_json(exact)["notes"]) == (2, [])


def test_a_week_in_which_no_slot_can_be_live() -> None:
    # All remote, all set work: at least 1 is cut to 0 and reported, or strictly impossible.
    base = {"weeks": 1, "remote_spells": [remote(taught="set work")], "rules": quota(least=1)}
    answer = solved(scenario(SHY[:2], **base))
    assert (set(taught(answer).values()), len(answer_json(answer)["notes"])) == ({"set work"}, 1)
    impossible(scenario(SHY[:2], **base, strict=True))


def test_a_closure_shortens_the_week() -> None:
    closed = [{"name": "storm", "on": day(1, "Wed")}]
    data = scenario(SHY[:2], weeks=1, per_week=THREE_DAYS, remote_spells=[remote()], rules=quota(least=3), closures=closed)
    answer = solved(data)
    assert (aims(answer)["wishes"], len(answer_json(answer)["notes"])) == (2, 1)
    impossible(data | {"strict": True})


def test_a_week_cut_to_one_period_under_a_minimum_of_two() -> None:
    # Two remote weeks of Mon, Tue, Wed; Tue and Wed of week 2 are closed, so four periods for four lessons that avoid live.
    # Week 1: at least 2 of 3. Week 2: 2 cut to its 1 period. So 2 + 1 = 3 are live, 3 wishes, and the one cut is told.
    lessons = [teach(name, live="avoid") for name in "abcd"]
    closed = [{"name": "storm", "on": [day(2, "Tue"), day(2, "Wed")]}]
    base = {"per_week": THREE_DAYS, "remote_spells": [remote(1, 2)], "closures": closed, "rules": quota(least=2)}
    answer = solved(scenario(lessons, **base))
    live = [placed(answer)[lesson][0] for lesson, how in taught(answer).items() if how == "live"]
    assert (sorted(live), aims(answer)["wishes"]) == (["1", "1", "2"], 3)
    (note,) = answer_json(answer)["notes"]
    assert all(word in note for word in ("9B", "week 2", "2", "1", "live")), note
    impossible(scenario(lessons, **base, strict=True))


# -- quotas per cycle and span -----------------------------------------------------------------------------------------


def test_per_cycle() -> None:
    # Cycles of weeks 1-2 and 3-4, two slots a week, all remote. At least 3 a cycle: 6 of 8. Per week it would be cut to 2.
    lessons = [teach(f"l{number}", live="avoid") for number in range(8)]
    base = {"term": {**term(4), "cycle": ["A", "B"]}, "remote_spells": [remote(1, 4)]}
    answer = solved(scenario(lessons, **base, rules=quota(per="cycle", least=3)))
    assert (aims(answer)["wishes"], answer_json(answer)["notes"]) == (6, [])
    live = [placed(answer)[lesson][0] in "12" for lesson, how in taught(answer).items() if how == "live"]
    assert live.count(True) == live.count(False) == 3
    keen = [{**lesson, "live": "prefer"} for lesson in lessons]
    assert aims(solved(scenario(keen, **base, rules=quota(per="cycle", most=1))))["wishes"] == 6  # 2 of 8 live


def test_per_span_with_both_ends() -> None:
    # Slots Mon Tue Wed of weeks 1 and 2. The span from Tue of week 1 to Mon of week 2 holds Tue, Wed, Mon: at least 3.
    lessons = [teach(f"l{number}", live="avoid") for number in range(6)]
    span = {"per": "span", "first": day(1, "Tue"), "last": day(2, "Mon")}
    base = {"per_week": THREE_DAYS, "remote_spells": [remote(1, 2)]}
    answer = solved(scenario(lessons, **base, rules=quota(**span, least=3), strict=True))
    live = {placed(answer)[lesson] for lesson, how in taught(answer).items() if how == "live"}
    assert live == {"1 Tue 1", "1 Wed 1", "2 Mon 1"}
    impossible(scenario(lessons, **base, rules=quota(**span, least=4), strict=True))
    cut = solved(scenario(lessons, **base, rules=quota(**span, least=4)))
    assert (aims(cut)["wishes"], len(answer_json(cut)["notes"])) == (3, 1)


def test_a_span_without_a_remote_slot_asks_for_nothing() -> None:
    # Remote in week 1, the span in week 2: even strictly, nothing is asked.
    span = {"per": "span", "first": day(2, "Mon"), "last": day(2, "Fri")}
    data = scenario(SHY, remote_spells=[remote()], rules=quota(**span, least=1), strict=True)
    assert (aims(solved(data))["wishes"], answer_json(solved(data))["notes"]) == (0, [])


# -- quotas of a teacher -----------------------------------------------------------------------------------------------


def two_classes(timetable_9c: Data, **teacher_quota: int) -> Data:
    """9B and 9C of T1, one live slot each on Monday."""
    classes = [
        a_class("9B", "Mon 1", teacher="T1"),
        {**a_class("9C", teacher="T1"), "timetable": timetable_9c},
    ]
    return scenario(
        [teach("a")],
        weeks=1,
        classes=classes,
        remote_spells=[remote(taught="live")],
        rules=quota(teacher="T1", **teacher_quota),
    )


def test_a_teachers_quota_counts_over_classes() -> None:
    both = two_classes({"Mon": 2}, most=2)
    assert (taught(solved(both), "9B"), taught(solved(both), "9C")) == ({"a": "live"}, {"a": "live"})
    impossible(two_classes({"Mon": 2}, most=1))


def test_a_period_of_another_teacher_is_not_counted() -> None:
    solved(two_classes({"Mon": {"period": 2, "teacher": "T2"}}, most=1))
    # Nor can it serve: T1 alone has one slot that can be live, so two are cut to 1, and noted.
    answer = solved(two_classes({"Mon": {"period": 2, "teacher": "T2"}}, least=2))
    assert len(answer_json(answer)["notes"]) == 1
    assert answer_json(solved(two_classes({"Mon": 2}, least=2)))["notes"] == []


# -- single lessons ----------------------------------------------------------------------------------------------------


def one(wish: str | None, how: str, load: int = 3) -> Data:
    """One lesson on Monday, remote and taught as said, or in class."""
    spells = [] if how == "in class" else [remote(taught=how)]
    lesson = teach("a", load=load, **({"live": wish} if wish else {}))
    return scenario([lesson], weeks=1, per_week="Mon 1", remote_spells=spells, rules={"practice_after_dense": "off"})


@pytest.mark.parametrize(
    ("wish", "how", "expected"),
    [
        ("demand", "in class", "in class"),  # in class satisfies a demand
        ("demand", "live", "live"),
        ("demand", "open", "live"),
        ("demand", "set work", None),
        ("refuse", "in class", "in class"),
        ("refuse", "set work", "set work"),
        ("refuse", "open", "set work"),
        ("refuse", "live", None),
    ],
)
def test_demand_and_refuse(wish: str, how: str, expected: str | None) -> None:
    if expected is None:
        forbidden(one(wish, how), 5, "a", a=f"1 Mon 1 {how}")
        impossible(one(wish, how))
        return
    answer = solved(one(wish, how))
    assert (taught(answer), aims(answer)["wishes"]) == ({"a": expected}, 0)


@pytest.mark.parametrize(("wish", "against"), [("demand", "set work"), ("refuse", "live")])
def test_the_referee_sees_an_open_slot_taught_against_a_demand(wish: str, against: str) -> None:
    assert broken(one(wish, "open"), a=f"1 Mon 1 {against}") == [(5, ["u/a"])]


@pytest.mark.parametrize(
    ("wish", "load", "how", "expected", "wishes", "dense"),
    [
        ("prefer", 3, "open", "live", 0, 0),
        ("prefer", 3, "set work", "set work", 1, 0),
        ("prefer", 3, "in class", "in class", 0, 0),
        ("avoid", 3, "open", "set work", 0, 0),
        ("avoid", 3, "live", "live", 1, 0),
        ("avoid", 3, "in class", "in class", 0, 0),
        (None, 3, "live", "live", 0, 0),
        (None, 3, "set work", "set work", 0, 0),
        # Dense, and nothing said: no wish, but an aim of its own.
        (None, 4, "open", "live", 0, 0),
        (None, 4, "set work", "set work", 0, 1),
        (None, 4, "in class", "in class", 0, 0),
        # Dense, but avoiding or refusing live: set work costs nothing.
        ("avoid", 4, "open", "set work", 0, 0),
        ("avoid", 4, "set work", "set work", 0, 0),
        ("avoid", 4, "live", "live", 1, 0),
        ("refuse", 4, "open", "set work", 0, 0),
        ("prefer", 4, "set work", "set work", 1, 1),  # dense, and a wish stated
    ],
)
def test_wishes(wish: str | None, load: int, how: str, expected: str, wishes: int, dense: int) -> None:
    answer = solved(one(wish, how, load))
    values = {"wishes": wishes, "dense as set work": dense}
    assert taught(answer) == {"a": expected} and values.items() <= aims(answer).items()
    assert values.items() <= judged(one(wish, how, load), a=f"1 Mon 1 {expected}")["aims"].items()


def test_dense_as_set_work_comes_where_the_aims_put_it() -> None:
    # Monday open, Tuesday fixed set work, Wednesday in class. Of two dense lessons at most one may be live in the spell.
    spell = remote(first=day(1, "Mon"), last=day(1, "Tue"), taught="set work")
    lessons = [teach("a", load=4), teach("b", load=4)]
    rules = {"practice_after_dense": "off", "consecutive_high_load": "off"}
    data = scenario(lessons, weeks=1, per_week="Mon 1, Wed 1, Thu 1", remote_spells=[spell], rules=rules)
    early = aims(solved(data | {"aims": ["early finish", "dense as set work"]}))
    assert early == {"early finish": 0, "dense as set work": 1}
    in_class = aims(solved(data | {"aims": ["dense as set work", "early finish"]}))
    assert in_class == {"dense as set work": 0, "early finish": 1}


def test_a_high_load_lesson_that_is_not_new_content_may_be_set_work() -> None:
    lesson = {"id": "a", "kind": "assessment", "load": 5}
    data = scenario([lesson], weeks=1, per_week="Mon 1", remote_spells=[remote(taught="set work")])
    assert aims(solved(data))["wishes"] == 0


@pytest.mark.parametrize("quota", [{"least": 0}, {"least": 2}])
def test_a_teachers_quota_over_classes_that_it_does_not_bind(quota: Data) -> None:
    # Both remote periods are fixed set work: the least is cut to 0, and the two classes need not be looked at together.
    data = scenario(
        [teach("a")],
        weeks=1,
        classes=[a_class(each, "Mon 1, Tue 1", teacher="Ms Oak") for each in ("9B", "9C")],
        remote_spells=[remote(taught="set work")],
        rules={"live_quotas": [{"per": "week", "teacher": "Ms Oak", **quota}]},
    )
    assert taught(solved(data)) == {"a": "set work"}


# -- what belongs in school --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lesson", "what"),
    [
        (assessment("x", title="Ice test"), "an assessment"),
        (teach("x", title="Ice test", tags="fieldwork"), "tagged fieldwork"),
        (teach("x", title="Ice test", tags=["maths", "practical"]), "tagged practical"),
    ],
)
def test_what_belongs_in_school_and_reaches_a_class_at_home_is_told(lesson: Data, what: str) -> None:
    data = scenario([lesson], weeks=1, remote_spells=[remote(taught="set work")])
    data["classes"].append(a_class("9C", "Tue 1"))
    (note,) = answer_json(solved(data | {"aims": ["early finish"]}))["notes"]
    assert note == (
        f'"Ice test", {what}, is set work in a remote week: for 9B on Mon 2 Nov 2026, 9C on Tue 3 Nov 2026. '
        'For it to be in school, say that it needs "in school"'
    )


def test_nothing_is_told_of_what_is_in_school_chosen_or_over() -> None:
    test = assessment("x", title="Ice test")
    for lesson in (teach("x"), assessment("x", needs="in school"), assessment("x", live="demand")):
        # In the second week the class is in school.
        assert answer_json(solved(scenario([lesson], remote_spells=[remote()])))["notes"] == []
    assert answer_json(solved(scenario([test], weeks=1)))["notes"] == []
    told = {"class": "9B", "unit": "u", "lesson": "x", "date": day(1, "Mon"), "period": 1, "what": "delivered", "taught": "live"}
    over = scenario([test], remote_spells=[remote()], record=[told], today=day(1, "Tue"))
    assert answer_json(solved(over))["notes"] == []
