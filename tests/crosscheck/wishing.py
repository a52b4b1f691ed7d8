"""Random additions that make rules a preference: what is stated already, or a rule stated as a wish from the start."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from random import Random
from typing import Any

from tests.crosscheck import counted, joined, proposals
from tests.crosscheck.facts import MAIN_NUMBER, Facts
from tests.crosscheck.placing import Assignment
from tests.crosscheck.slots import Raw, listed
from tests.crosscheck.writing import lessons_of, rules_somewhere

MERGED = ("consecutive_high_load", "marking", "dates", "in_step", "week")
"""Rules whose numbers are merged over the levels, weights of wishes included."""
ENTRIES = ("caps", "threads", "live_quotas")
WINDOW = {f"{least}_{unit}" for least in ("least", "most") for unit in ("days", "slots", "weeks")}
LIMITS = {"dense_a_day", "live_a_day", "marking_a_week", "preparation_a_week"}

Spot = tuple[Raw, Any]
"""A mapping or list, and the key or place in it at which something stands that may be a wish."""


def _spots(data: Raw) -> Iterator[Spot]:
    """Every statement that may be a wish and is none."""
    units, groups = data["units"], data["classes"]
    lessons = [lesson for unit in units for lesson in unit["lessons"]]
    entries = [entry for group in groups for entry in group.get("lessons", {}).values()]
    for holder in (data, *groups, *units, *lessons, *entries):
        stated = holder.get("rules", {})
        for name in MERGED:
            rule = stated.get(name)
            if rule is not None and rule != "off" and not (isinstance(rule, dict) and ("wish" in rule or rule.get("off"))):
                yield stated, name
        for name in ENTRIES:
            if isinstance(stated.get(name), list):
                yield from ((stated[name], number) for number, entry in enumerate(stated[name]) if "wish" not in entry)
    for lesson in lessons:
        wanted = listed(lesson.get("requires"))
        for number, entry in enumerate(wanted):
            if isinstance(entry, dict) and WINDOW & entry.keys() and "wish" not in entry:
                yield (lesson, "requires") if isinstance(lesson["requires"], dict) else (lesson["requires"], number)
    for number, entry in enumerate(data.get("teachers", [])):
        if LIMITS & entry.keys() and "wish" not in entry:
            yield data["teachers"], number


def _make_wish(rng: Random, spot: Spot) -> None:
    holder, key = spot
    if isinstance(holder[key], int):
        holder[key] = {MAIN_NUMBER[key]: holder[key]}
    holder[key]["wish"] = rng.choice([1, 1, 1, 2, 3, 5])


def wish(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """Something that is stated becomes a wish."""
    spots = list(_spots(data))
    if not spots:
        return False
    for spot in rng.sample(spots, min(len(spots), rng.choice([1, 1, 2]))):
        _make_wish(rng, spot)
    return None


def wish_by_level(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A weight at some level, for numbers that stand at others or hold unless stated; or a rule that is hard again."""
    levels = ("scenario", "class", "unit", "lesson", "entry")
    names = ["consecutive_high_load", "marking", "dates", "dates"]
    names += ["in_step"] * 2 * any(lesson.in_step is not None for lesson in lessons_of(facts))
    name = rng.choice(names)
    where = rules_somewhere(rng, data, facts, levels, lessons_of(facts))
    if where is None or where.get(name) == "off":
        return False
    rule = where.setdefault(name, {})
    if isinstance(rule, int):
        rule = where[name] = {MAIN_NUMBER[name]: rule}
    weights = [x.run_wish or x.in_step_wish or (x.marking or {}).get("wish", 0) for x in lessons_of(facts)]
    rule["wish"] = rng.choice(["off", 1, 2]) if any(weights) else rng.choice([1, 1, 2, 4])
    return None


def wished_rule(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A rule that is a wish from the start: it may well be broken."""
    source = rng.choice(
        [
            proposals.requires,
            proposals.requires,
            proposals.run_cap,
            proposals.marking_numbers,
            proposals.dates,
            counted.caps,
            counted.threads,
            counted.quotas,
            counted.week_shape,
            joined.teacher_week,
            joined.teacher_week,
            joined.in_step,
        ]
    )
    before = deepcopy(data)
    if source(rng, data, facts, near) is False:
        return False
    stated = {str(holder[key]) for holder, key in _spots(before)}
    fresh = [spot for spot in _spots(data) if str(spot[0][spot[1]]) not in stated]
    if source is proposals.dates:
        rules = rules_somewhere(rng, data, facts, ("scenario", "class", "unit"), [])
        if rules is None or rules.get("dates") == "off":
            return False
        rules["dates"] = {"wish": rng.choice([1, 1, 2])}
        return None
    for spot in fresh:
        _make_wish(rng, spot)
    return None if fresh else False
