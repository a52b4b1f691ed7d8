"""Random additions to a scenario, one function for each feature: each changes the scenario in place, or says False.

`near` is an assignment that obeys the scenario so far, so that windows and pins are drawn close to something possible.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any

from tests.crosscheck import calendars
from tests.crosscheck.facts import Facts
from tests.crosscheck.placing import Assignment
from tests.crosscheck.slots import Raw, listed
from tests.crosscheck.writing import LESSON_LEVELS, entry_of, lesson_of, lessons_of, rules_somewhere

Proposal = Callable[[Random, Raw, Facts, Assignment], bool | None]


# -- rule 1 ------------------------------------------------------------------------------------------------------------


def requires(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    group = rng.choice(facts.classes)
    later, earlier = rng.choice(group.lessons), rng.choice(group.lessons)
    if later.key == earlier.key:
        return False
    if later.key in near and earlier.key in near and near[later.key] < near[earlier.key]:
        later, earlier = earlier, later
    same_unit = later.key[1] == earlier.key[1]
    if not same_unit and any(
        later.key[1] in other["units"] and earlier.key[1] not in other["units"] for other in data["classes"]
    ):
        return False
    reference = earlier.key[2] if same_unit and rng.random() < 0.8 else f"{earlier.key[1]}/{earlier.key[2]}"
    wanted: Any = reference
    if rng.random() < 0.7:
        wanted = {"lesson": reference}
        for unit in rng.sample(["days", "slots", "weeks"], rng.choice([1, 1, 2])):
            gap = {"days": rng.randint(0, 9), "slots": rng.randint(0, 4), "weeks": rng.randint(0, 2)}[unit]
            if later.key in near and earlier.key in near and rng.random() < 0.7:
                x, y = group.slots[near[earlier.key][0]], group.slots[near[later.key][0]]
                gap = {
                    "days": (y.day - x.day).days,
                    "slots": near[later.key][0] - near[earlier.key][0] - earlier.length + 1,
                    "weeks": y.week - x.week,
                }[unit]
            which = rng.choice(["least", "most", "least", "most", "both"])
            if which != "most":
                wanted[f"least_{unit}"] = max(0, gap - rng.randint(0, 1))
            if which != "least":
                wanted[f"most_{unit}"] = max(1 if unit == "slots" else 0, gap + rng.randint(0, 1))
    lesson = lesson_of(data, later.key[1], later.key[2])
    present = listed(lesson.get("requires"))
    if any((entry["lesson"] if isinstance(entry, dict) else entry).endswith(earlier.key[2]) for entry in present):
        return False
    lesson["requires"] = [*present, wanted] if present or rng.random() < 0.5 else wanted
    return None


def in_order(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    rng.choice(data["units"])["in_order"] = True
    return None


def after(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    if len(data["units"]) < 2:
        return False
    first, second = rng.sample(data["units"], 2)
    second["after"] = rng.choice([first["id"], [first["id"]]])
    return None


def rule_off(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """Prerequisites, dates or place switched off, or on again below a level where they are off."""
    name = rng.choice(["prerequisites", "dates", "place"])
    if data.get("rules", {}).get(name):
        value: Any = rng.choice([{"off": False}, {}])
        levels: tuple[str, ...] = ("class", "unit", "lesson", "entry")
    else:
        value, levels = rng.choice(["off", {"off": True}]), LESSON_LEVELS
    where = rules_somewhere(rng, data, facts, levels, lessons_of(facts))
    if where is None:
        return False
    where[name] = value
    return None


# -- rule 2 ------------------------------------------------------------------------------------------------------------


def run_cap(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    high = [lesson for lesson in lessons_of(facts) if lesson.high]
    where = rules_somewhere(rng, data, facts, LESSON_LEVELS, high)
    if where is None:
        return False
    where["consecutive_high_load"] = rng.choice([1, 1, 2, 3, {"most": 1}, "off", {"off": True}, {}])
    return None


def run_break(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    where = rules_somewhere(rng, data, facts, ("scenario", "class"), [])
    if where is None:
        return False
    where["consecutive_high_load"] = {"most": rng.choice([1, 1, 2]), "break_days": rng.randint(0, 4)}
    return None


# -- rules 3, 4 and 6 --------------------------------------------------------------------------------------------------


def practice_numbers(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    where = rules_somewhere(rng, data, facts, LESSON_LEVELS, [lesson for lesson in lessons_of(facts) if lesson.dense])
    if where is None:
        return False
    where["practice_after_dense"] = rng.choice(
        [
            1,
            rng.randint(2, 3),
            {"within": rng.randint(2, 4), "days": rng.randint(0, 7)},
            {"days": rng.randint(0, 3)},
            {"within": 3, "no_new_content": True},
            {"no_new_content": rng.random() < 0.8},
            "off",
            {},
        ]
    )
    return None


def retrieval_numbers(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    named = {key for lesson in lessons_of(facts) for key in lesson.revisits}
    revisited = [lesson for lesson in lessons_of(facts) if lesson.key in named]
    if not revisited:
        return False
    where = rules_somewhere(rng, data, facts, LESSON_LEVELS, revisited)
    if where is None:
        return False
    least = rng.randint(1, 9)
    most = least + rng.choice([0, 0, 1, 2, 4, 8])
    where["retrieval"] = rng.choice(
        [
            {"least": least, "most": most},
            {"least": least, "most": most, "preferred": rng.randint(least, most)},
            {"least": least, "most": most},
            {"off": True, "least": least, "most": most},
            "off",
            {},
        ]
    )
    return None


def marking_numbers(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    answered = {key for lesson in lessons_of(facts) for key in lesson.answers}
    due = [y for y in lessons_of(facts) if y.key in answered or "report_deadline" in (y.dates or {})]
    where = rules_somewhere(rng, data, facts, LESSON_LEVELS, due)
    if where is None:
        return False
    least = rng.randint(0, 4)
    where["marking"] = rng.choice([least, {"least": least, "most": least + rng.randint(0, 4)}, "off", {}])
    return None


# -- rules 5, 7, 8 and 9 -----------------------------------------------------------------------------------------------


def dates(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    group = rng.choice(facts.classes)
    lesson = rng.choice(group.lessons)
    slot = group.slots[near[lesson.key][0]] if lesson.key in near else rng.choice(group.slots)
    if rng.random() < 0.5:
        slot = rng.choice(group.slots)
    levels = [lesson_of(data, *lesson.key[1:]), entry_of(rng, data, *lesson.key)]
    if any("on" in level for level in levels):
        return False
    where, which = rng.choice(levels), rng.randrange(6)
    if which == 0:
        where["not_before"] = calendars.iso(slot.day)
    elif which == 1:
        where["not_after"] = calendars.iso(slot.day)
    elif which == 2:
        where["on"] = calendars.iso(slot.day)
    elif which == 3:
        where["on"], where["period"] = calendars.iso(slot.day), slot.period
    else:
        where["report_deadline"] = calendars.iso(rng.choice([day for day in calendars.term_dates(data) if day >= slot.day]))
    return None


def live_wish(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    lesson = rng.choice(lessons_of(facts))
    where = lesson_of(data, *lesson.key[1:]) if rng.random() < 0.6 else entry_of(rng, data, *lesson.key)
    where["live"] = rng.choice(["demand", "prefer", "avoid", "refuse"])
    return None
