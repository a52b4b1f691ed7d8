"""The narrowest wins: scenario, class, unit, lesson, and the class's own word on a lesson; merged number by number."""

from __future__ import annotations

from typing import Any

import pytest

from tests.builders import Data, a_class, aims, assessment, day, feedback, impossible, retrieval, scenario, solved, teach
from tests.rules.helpers import EVERY_DAY, allowed, broken, forbidden, hard, placed, taught

LEVELS = ("scenario", "class", "unit", "lesson", "class's lesson")
"""From the widest to the narrowest."""

AFTER_SCHOOL_DAYS = ["1 Tue 1", "1 Wed 1", "1 Thu 1", "1 Fri 1", "2 Mon 1", "2 Tue 1"]
"""The slots 1, 2, … school days after Monday of week 1."""


def stating(marking: dict[str, Any]) -> Data:
    """A test and its feedback, with marking time stated for the test at the levels named."""
    rules = {level: {"rules": {"marking": numbers}} for level, numbers in marking.items()}
    own = {"lessons": {"test": rules["class's lesson"]}} if "class's lesson" in rules else {}
    return scenario(
        [assessment("test", **rules.get("lesson", {})), feedback("f", "test")],
        weeks=2,
        per_week=EVERY_DAY,
        unit=rules.get("unit"),
        of_class={**rules.get("class", {}), **own},
        **rules.get("scenario", {}),
    )


def takes(data: Data, school_days: int) -> None:
    """Assert that feedback may come just so many school days after the test on Monday, and not one day sooner."""
    allowed(data, test="1 Mon 1", f=AFTER_SCHOOL_DAYS[school_days - 1])
    if school_days > 1:
        forbidden(data, 6, "f test", test="1 Mon 1", f=AFTER_SCHOOL_DAYS[school_days - 2])


# -- the narrowest wins ------------------------------------------------------------------------------------------------


def test_nothing_stated() -> None:
    takes(stating({}), 3)


@pytest.mark.parametrize("narrowest", range(5))
@pytest.mark.parametrize("numbers", [(1, 2, 4, 5, 6), (6, 5, 4, 2, 1)], ids=["rising", "falling"])
def test_the_narrowest_level_wins_whether_its_number_is_greater_or_smaller(narrowest: int, numbers: tuple[int, ...]) -> None:
    # Levels up to the narrowest state 1, 2, 4, … or 6, 5, 4, …: its number holds.
    stated = {level: {"least": numbers[place]} for place, level in enumerate(LEVELS[: narrowest + 1])}
    takes(stating(stated), numbers[narrowest])


@pytest.mark.parametrize("level", LEVELS)
def test_each_level_alone(level: str) -> None:
    takes(stating({level: {"least": 5}}), 5)
    takes(stating({level: 5}), 5)  # a bare number sets the main one
    # Off: order only, so the same day later, or the next slot, will do.
    allowed(stating({level: "off"}), test="1 Mon 1", f="1 Tue 1")


def test_a_level_speaks_for_its_own_lessons_only() -> None:
    # Two units, two classes: what unit u and class 9C state is heard there alone.
    pair = [assessment("test"), feedback("f", "test")]
    units = [{"id": "u", "lessons": pair, "rules": {"marking": 1}}, {"id": "v", "lessons": pair}]
    classes = [
        a_class("9B", EVERY_DAY, units="u"),
        a_class("9C", EVERY_DAY, units="v", rules={"marking": 4}),
        a_class("9D", EVERY_DAY, units="v"),
    ]
    data = scenario(weeks=1, units=units, classes=classes)
    for entry in data["classes"]:
        entry["lessons"] = {"test": {"on": day(1, "Mon")}, "f": {"not_after": day(1, "Thu")}}
    # 9B needs 1 day, 9D the 3 unless stated, 9C 4, which Thursday does not give.
    impossible(data)
    data["classes"][1]["lessons"]["f"] = {"not_after": day(1, "Fri")}
    answer = solved(data)
    assert (placed(answer, "9C")["f"], placed(answer, "9D")["f"]) == ("1 Fri 1", "1 Thu 1")


# -- number by number --------------------------------------------------------------------------------------------------


def test_numbers_are_merged_one_by_one() -> None:
    # Scenario: 1 to 2 school days. The lesson: least 2. The greatest number, 2, is still the scenario's.
    data = stating({"scenario": {"least": 1, "most": 2}, "lesson": {"least": 2}})
    takes(data, 2)
    forbidden(data, 6, "f test", test="1 Mon 1", f="1 Thu 1")
    # Each level one number: least 2 from the class, most 4 from the class's own word.
    data = stating({"scenario": {"least": 1, "most": 6}, "class": {"least": 2}, "class's lesson": {"most": 4}})
    takes(data, 2)
    allowed(data, test="1 Mon 1", f="1 Fri 1")
    forbidden(data, 6, "f test", test="1 Mon 1", f="2 Mon 1")


def test_a_number_nobody_states_keeps_its_default() -> None:
    # Only the greatest is stated: the least is still 3.
    data = stating({"unit": {"most": 3}})
    takes(data, 3)
    forbidden(data, 6, "f test", test="1 Mon 1", f="1 Fri 1")


def test_the_preferred_distance_follows_the_merged_window() -> None:
    # Scenario 1 to 20 days, lesson at most 4: preferred (1 + 4) // 2 = 2, Wednesday.
    lessons = [teach("x", on=day(1, "Mon"), rules={"retrieval": {"most": 4}}), retrieval("r", "x")]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules={"retrieval": {"least": 1, "most": 20}})
    answer = solved(data)
    assert (placed(answer)["r"], aims(answer)["distance"]) == ("1 Wed 1", 0)
    # A preferred distance stated wider is kept.
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules={"retrieval": {"least": 1, "most": 20, "preferred": 3}})
    assert placed(solved(data))["r"] == "1 Thu 1"


# -- off and on again --------------------------------------------------------------------------------------------------


def test_a_narrower_level_switches_a_rule_on_again() -> None:
    takes(stating({"scenario": "off", "lesson": {"least": 2}}), 2)
    takes(stating({"scenario": "off", "class": 4}), 4)
    # Stating the rule without a number is enough: its default holds, or the number a wider level states.
    takes(stating({"scenario": "off", "lesson": {}}), 3)
    takes(stating({"scenario": {"least": 2}, "unit": "off", "class's lesson": {}}), 2)


def test_a_narrower_level_switches_a_rule_off_again() -> None:
    data = stating({"scenario": "off", "unit": {"least": 4}, "class's lesson": "off"})
    allowed(data, test="1 Mon 1", f="1 Tue 1")


def test_rules_are_resolved_apart() -> None:
    # Switching one rule on for a lesson leaves the others off.
    off = {"marking": "off", "consecutive_high_load": "off"}
    lessons = [hard("test", rules={"marking": 2}), feedback("f", "test", load=4), hard("x")]
    data = scenario(lessons, weeks=1, per_week=EVERY_DAY, rules=off)
    allowed(data, test="1 Mon 1", x="1 Tue 1", f="1 Wed 1")  # three high-load lessons in a row
    forbidden(data, 6, "f test", test="1 Mon 1", f="1 Tue 1", x="1 Wed 1")


# -- rules of a class --------------------------------------------------------------------------------------------------


TWO_LABS = [teach("a", tags=["lab", "essay"]), teach("b", tags="lab")]
APART = {"tag": "lab", "most": 1, "of": 2}


def labs(scenario_rules: Data, class_rules: Data) -> Data:
    return scenario(TWO_LABS, weeks=1, rules=scenario_rules, of_class={"rules": class_rules})


def test_a_list_of_the_class_replaces_that_of_the_scenario() -> None:
    # Two periods, two labs: any cap of 1 in 2 makes it impossible.
    impossible(labs({"caps": [APART]}, {}))
    impossible(labs({}, {"caps": [APART]}))
    solved(labs({"caps": [APART]}, {"caps": "off"}))
    solved(labs({"caps": [APART]}, {"caps": []}))
    # Replaced, not added to: the class's cap on another tag leaves labs free.
    solved(labs({"caps": [APART]}, {"caps": [{**APART, "tag": "essay"}]}))
    impossible(labs({"caps": [{**APART, "tag": "essay"}]}, {"caps": [APART]}))


def test_threads_and_quotas_are_replaced_too() -> None:
    # Two periods, two plain lessons; the lesson that carries the tag is left out.
    plain = [teach("a"), teach("b"), teach("talk", tags="talk", optional=True)]
    thread = {"threads": [{"tag": "talk", "least": 1, "of": 2}]}
    impossible(scenario(plain, weeks=1, rules=thread))
    solved(scenario(plain, weeks=1, rules=thread, of_class={"rules": {"threads": "off"}}))

    remote = [{"name": "remote", "first": day(1, "Mon"), "last": day(1, "Fri")}]
    shy = [teach("a", live="avoid"), teach("b", live="avoid")]
    quotas = {"live_quotas": [{"least": 2}]}
    for own, live in (({}, 2), ({"live_quotas": "off"}, 0), ({"live_quotas": [{"least": 1}]}, 1)):
        data = scenario(shy, weeks=1, remote_spells=remote, rules=quotas, of_class={"rules": own})
        assert list(taught(solved(data)).values()).count("live") == live


def test_a_teachers_quota_holds_whatever_the_class_states() -> None:
    live = [{"name": "remote", "first": day(1, "Mon"), "last": day(1, "Fri"), "taught": "live"}]
    of_class = {"teacher": "T1", "rules": {"live_quotas": "off"}}
    for most, fits in ((1, False), (2, True)):
        rules = {"live_quotas": [{"teacher": "T1", "most": most}]}
        data = scenario([teach("a"), teach("b")], weeks=1, remote_spells=live, rules=rules, of_class=of_class)
        if fits:
            solved(data)
        else:
            impossible(data)


def test_weekly_shape_is_merged_number_by_number() -> None:
    # Scenario: 1 to 2 lessons a week; class: at most 3. Two weeks of three periods, six lessons: three a week.
    six = [teach(f"l{number}") for number in range(6)]
    base = {"per_week": "Mon 1, Tue 1, Wed 1", "rules": {"week": {"least_lessons": 1, "most_lessons": 2}}}
    impossible(scenario(six, **base))
    solved(scenario(six, **base, of_class={"rules": {"week": {"most_lessons": 3}}}))
    # The least number is still the scenario's: three lessons cannot all lie in week 1.
    three = scenario(six[:3], **base, of_class={"rules": {"week": {"most_lessons": 3}}})
    assert [rule for rule, _ in broken(three, l0="1 Mon 1", l1="1 Tue 1", l2="1 Wed 1")] == [9]
    off = scenario(six[:3], **base, of_class={"rules": {"week": "off"}})
    allowed(off, l0="1 Mon 1", l1="1 Tue 1", l2="1 Wed 1")


def test_break_days_are_a_number_of_the_class() -> None:
    # Fri, Mon: 3 days. The class's break_days of 2 breaks the run; its cap is still the scenario's 1.
    rules = {"consecutive_high_load": {"most": 1}}
    pair = [hard("a"), hard("b")]
    where = {"a": "1 Fri 1", "b": "2 Mon 1"}
    base = {"per_week": "Mon 1, Fri 1", "rules": rules}
    forbidden(scenario(pair, **base), 2, "a b", **where)
    allowed(scenario(pair, **base, of_class={"rules": {"consecutive_high_load": {"break_days": 2}}}), **where)
