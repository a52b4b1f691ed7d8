"""Random additions that join classes or tie them to teachers: rules 10, 11 and 13, and minutes of preparation and marking."""

from __future__ import annotations

from random import Random
from typing import Any

from tests.crosscheck.facts import Facts
from tests.crosscheck.parallel import marking_minutes, part_of, preparation_minutes
from tests.crosscheck.placing import Assignment
from tests.crosscheck.slots import Raw, listed
from tests.crosscheck.writing import LESSON_LEVELS, lesson_of, lessons_of, rules_somewhere


def _teachers(facts: Facts) -> list[str]:
    return sorted({slot.teacher for group in facts.classes for slot in group.slots if slot.teacher})


def minutes(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """Minutes for some lessons; few different numbers, so that several ways to spread them come close."""
    for lesson in rng.sample(lessons_of(facts), rng.randint(1, len(lessons_of(facts)))):
        raw = lesson_of(data, *lesson.key[1:])
        for name in rng.choice([["preparation_minutes"], ["marking_minutes"], ["preparation_minutes", "marking_minutes"]]):
            raw[name] = rng.choice([0, 10, 20, 20, 30, 40])
    return None


def _weekly(facts: Facts, near: Assignment, teacher: str, what: str) -> list[int]:
    """What the teacher's weeks come to near by."""
    # Only what limits or aims ask for is in the parts: ask for it.
    asking = Facts(**{**vars(facts), "aims": ("even week",)})
    count = marking_minutes if what == "marking_a_week" else preparation_minutes
    found = count([part_of(asking, group, near) for group in facts.classes])
    return sorted(value for (name, week), value in found.items() if name == teacher and week > 0)


def teacher_week(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """One limit more for a teacher's day or week, close to what it comes to near by."""
    names = _teachers(facts)
    if not names:
        return False
    teacher = rng.choice(names)
    entries: list[Raw] = data.setdefault("teachers", [])
    entry = next((entry for entry in entries if entry["name"] == teacher), None)
    if entry is None:
        entry = {"name": teacher}
        entries.append(entry)
    which = rng.choice(["dense_a_day", "live_a_day", "marking_a_week", "preparation_a_week", "preparation_a_week"])
    if which in ("dense_a_day", "live_a_day"):
        counted = [lesson for lesson in lessons_of(facts) if which == "live_a_day" or lesson.dense]
        if not counted or (which == "live_a_day" and not data.get("remote_spells")):
            return False
        entry[which] = rng.choice([0, 1, 1, 1, 2])
        return None
    if not any(lesson.marking_minutes or lesson.preparation_minutes for lesson in lessons_of(facts)):
        minutes(rng, data, facts, near)
    weeks = _weekly(facts, near, teacher, which)
    if weeks and rng.random() < 0.7:
        entry[which] = max(0, rng.choice([weeks[-1] - 1, weeks[-1], weeks[0]]))
    else:
        entry[which] = rng.choice([0, 20, 30, 40, 65])
    return None


def in_step(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """The rule at some level, its number close to what the dates come to near by; or off, or on again."""
    dates: dict[tuple[str, str], list[Any]] = {}
    for group in facts.classes:
        for lesson in group.lessons:
            dates.setdefault(lesson.key[1:], [])
            if lesson.key in near:
                dates[lesson.key[1:]].append(group.slots[near[lesson.key][0]].day)
    apart = [(max(days) - min(days)).days for days in dates.values() if len(days) > 1]
    if not apart:
        return False
    parallel = [lesson for lesson in lessons_of(facts) if len(dates[lesson.key[1:]]) > 1]
    stated = "in_step" in data.get("rules", {})
    levels = ("class", "unit", "lesson", "entry") if stated else ("scenario", *LESSON_LEVELS, "class")
    where = rules_somewhere(rng, data, facts, levels, parallel)
    if where is None:
        return False
    gap = rng.choice(apart)
    days: Any = rng.choice([gap, max(0, gap - 1), max(0, max(apart) - 1), rng.randint(0, 7), rng.randint(0, 3)])
    others = ["off", {"off": True}, "off", {}] if stated else [{"off": True, "days": days}]
    where["in_step"] = rng.choice([days, days, days, {"days": days}, *others])
    return None


def tied(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A lesson tied to a teacher by itself, or a strand of its unit."""
    names = _teachers(facts)
    begun = [unit["id"] for unit in data["units"] if unit.get("strands")]
    lesson = rng.choice([lesson for lesson in lessons_of(facts) if lesson.key[1] in begun] or lessons_of(facts))
    raw = lesson_of(data, *lesson.key[1:])
    if not names:
        return False
    if rng.random() < (0.25 if begun else 0.5):
        raw["teacher"] = rng.choice(names)
        return None
    unit = next(unit for unit in data["units"] if unit["id"] == lesson.key[1])
    if not lesson.tags:
        raw["tags"] = rng.choice([["talk"], "quiz", ["quiz", "talk"]])
    strand = {"tag": rng.choice(listed(raw["tags"])), "teacher": rng.choice(names)}
    unit["strands"] = rng.choice([[*unit.get("strands", []), strand], [strand, *unit.get("strands", [])]])
    return None
