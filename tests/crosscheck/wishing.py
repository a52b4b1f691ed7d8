"""Random additions that make rules a preference: what is stated already, or a rule stated as a wish from the start."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from random import Random
from typing import Any

from tests.crosscheck import counted, joined, proposals
from tests.crosscheck.facts import Facts
from tests.crosscheck.placing import Assignment
from tests.crosscheck.slots import Raw, listed
from tests.crosscheck.told import MAIN_NUMBER
from tests.crosscheck.writing import LESSON_LEVELS, lessons_of, rules_somewhere

MERGED = ("consecutive_high_load", "marking", "dates", "in_step", "week")
"""Rules whose numbers are merged over the levels, weights of wishes included."""
ENTRIES = ("caps", "threads", "live_quotas")
WINDOW = {f"{least}_{unit}" for least in ("least", "most") for unit in ("days", "slots", "weeks")}
LIMITS = {"dense_a_day", "live_a_day", "marking_a_week", "preparation_a_week"}

Spot = tuple[Any, Any]
"""A mapping or list, and the key or place in it at which something stands that may be a wish."""


def _spots(data: Raw) -> Iterator[tuple[str, Spot]]:
    """Every statement that may be a wish and is none, with where it stands."""
    units, groups = data["units"], data["classes"]
    lessons = [lesson for unit in units for lesson in unit["lessons"]]
    entries = [entry for group in groups for entry in group.get("lessons", {}).values()]
    for where, holder in enumerate((data, *groups, *units, *lessons, *entries)):
        stated = holder.get("rules", {})
        for name in MERGED:
            rule = stated.get(name)
            if rule is not None and rule != "off" and not (isinstance(rule, dict) and ("wish" in rule or rule.get("off"))):
                yield f"{where} {name}", (stated, name)
        for name in ENTRIES:
            for number, entry in enumerate(stated[name] if isinstance(stated.get(name), list) else ()):
                if "wish" not in entry:
                    yield f"{where} {name} {number}", (stated[name], number)
    for lesson in lessons:
        for number, entry in enumerate(listed(lesson.get("requires"))):
            if isinstance(entry, dict) and WINDOW & entry.keys() and "wish" not in entry:
                one = isinstance(lesson["requires"], dict)
                yield f"{lesson['id']} {entry['lesson']}", ((lesson, "requires") if one else (lesson["requires"], number))
    for number, entry in enumerate(data.get("teachers", [])):
        if LIMITS & entry.keys() and "wish" not in entry:
            yield f"teacher {number}", (data["teachers"], number)


def _make_wish(rng: Random, spot: Spot) -> None:
    holder, key = spot
    if isinstance(holder[key], int):
        holder[key] = {MAIN_NUMBER[key]: holder[key]}
    holder[key]["wish"] = rng.choice([1, 1, 1, 2, 3, 5])


def wish(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """Something that is stated becomes a wish."""
    spots = [spot for _, spot in _spots(data)]
    if not spots:
        return False
    for spot in rng.sample(spots, min(len(spots), rng.choice([1, 1, 2]))):
        _make_wish(rng, spot)
    return None


def wish_by_level(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A weight at some level, for numbers that stand at others or hold unless stated; or a rule that is hard again."""
    lessons = lessons_of(facts)
    wished = {
        "consecutive_high_load": [lesson for lesson in lessons if lesson.run_wish],
        "marking": [lesson for lesson in lessons if lesson.marking and lesson.marking.get("wish")],
        "dates": [lesson for lesson in lessons if lesson.dates and lesson.dates["wish"]],
        "in_step": [lesson for lesson in lessons if lesson.in_step_wish],
    }
    in_step = any(lesson.in_step is not None for lesson in lessons)
    name = rng.choice([name for name in wished if wished[name]] or list(wished)[: 4 if in_step else 3])
    where = rules_somewhere(rng, data, facts, LESSON_LEVELS, wished[name] or lessons)
    if where is None or where.get(name) == "off":
        return False
    rule = where.setdefault(name, {})
    if isinstance(rule, int):
        rule = where[name] = {MAIN_NUMBER[name]: rule}
    rule["wish"] = rng.choice(["off", "off", 1, 2] if wished[name] else [1, 1, 2, 4])
    return None


def wished_run(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A small cap on runs that is a wish."""
    high = [lesson for lesson in lessons_of(facts) if lesson.high]
    where = rules_somewhere(rng, data, facts, ("scenario", *LESSON_LEVELS), high)
    if where is None or len(high) < 2:
        return False
    where["consecutive_high_load"] = {"most": rng.choice([1, 1, 1, 2]), "wish": rng.choice([1, 1, 2, 3])}
    return None


def wished_marking(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A time to feedback that is a wish, and may be none that can be kept."""
    answered = {key for lesson in lessons_of(facts) for key in lesson.answers}
    where = rules_somewhere(rng, data, facts, LESSON_LEVELS, [y for y in lessons_of(facts) if y.key in answered])
    if where is None or not answered:
        return False
    least = rng.choice([0, 1, 2, 4, 7, 12])
    where["marking"] = {"least": least, "wish": rng.choice([1, 1, 2])}
    if rng.random() < 0.6:
        where["marking"]["most"] = least + rng.choice([0, 1, 3])
    return None


def wished_rule(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """Another rule that is a wish from the start: it may well be broken."""
    source = rng.choice(
        [
            *(proposals.requires, proposals.requires, proposals.dates),
            *(counted.caps, counted.threads, counted.quotas, counted.week_shape),
            *(joined.teacher_week, joined.teacher_week, joined.in_step),
        ]
    )
    before = {where for where, _ in _spots(deepcopy(data))}
    if source(rng, data, facts, near) is False:
        return False
    if source is proposals.dates:
        rules = rules_somewhere(rng, data, facts, ("scenario", "class", "unit"), [])
        if rules is None or rules.get("dates") == "off":
            return False
        rules["dates"] = {"wish": rng.choice([1, 1, 2])}
        return None
    fresh = [spot for where, spot in _spots(data) if where not in before]
    for spot in fresh:
        _make_wish(rng, spot)
    return None if fresh else False
