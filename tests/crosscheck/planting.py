"""Planted assignments, and what a random scenario must keep to so that a reader of scenarios accepts it."""

from __future__ import annotations

from copy import deepcopy
from random import Random
from typing import Any

from tests.crosscheck import rules
from tests.crosscheck.alone import ways_of_teaching
from tests.crosscheck.facts import ClassFacts, Facts, read_facts
from tests.crosscheck.placing import Assignment
from tests.crosscheck.slots import Raw


def has_circle(facts: Facts) -> bool:
    """Whether lessons of some class must follow one another in a circle, left-out lessons and switched-off rules aside."""
    for group in facts.classes:
        waits = {lesson.key: {*lesson.after, *(key for key, _ in lesson.requires)} for lesson in group.lessons}
        while free := [key for key, needed in waits.items() if not needed & waits.keys()]:
            for key in free:
                del waits[key]
        if waits:
            return True
    return False


def _random_order(rng: Random, group: ClassFacts, listed_order: float) -> list[Any]:
    """A random order of the lessons that keeps what must follow what; often close to the order listed."""
    waits = {lesson.key: {*lesson.after, *(key for key, _ in lesson.requires)} for lesson in group.lessons}
    left, order = list(group.lessons), []
    while left:
        ready = [lesson for lesson in left if not waits[lesson.key] & {other.key for other in left}]
        chosen = ready[0] if rng.random() < listed_order else rng.choice(ready)
        order.append(chosen)
        left.remove(chosen)
    return order


def _random_places(rng: Random, group: ClassFacts, listed_order: float) -> Assignment:
    order = _random_order(rng, group, listed_order)
    for lesson in [lesson for lesson in order if not lesson.sure]:
        if rng.random() < (0.5 if lesson.made else 0.25) or sum(other.length for other in order) > len(group.slots):
            order.remove(lesson)
    spare = len(group.slots) - sum(lesson.length for lesson in order)
    gaps = sorted(rng.randint(0, max(spare, 0)) for _ in order)
    placed: Assignment = {}
    used = 0
    for lesson, gap in zip(order, gaps, strict=True):
        start = used + gap
        ways = ways_of_teaching(group.slots[start : start + lesson.length])
        placed[lesson.key] = (start, rng.choice(ways) if ways else "in class")
        used += lesson.length
    return placed


def plant(rng: Random, facts: Facts, tries: int, listed_order: float) -> Assignment | None:
    planted: Assignment = {}
    for group in facts.classes:
        for _ in range(tries):
            placed = _random_places(rng, group, listed_order)
            if all(rule(facts, group, placed) for rule in rules.CLASS_RULES):
                planted.update(placed)
                break
        else:
            return None
    return planted if rules.obeys(facts, planted) else None


def sensible(data: Raw, facts: Facts) -> bool:
    """Nothing that a reader of scenarios should refuse: no circles, no empty windows, no need never met."""
    if has_circle(_with_prerequisites(data, facts)):
        return False
    for group in facts.classes:
        offered = {word for slot in group.slots for word in slot.offers}
        carried = {name for name, (_, only_where_offered) in facts.shared.items() if not only_where_offered}
        for lesson in (*group.earlier, *group.lessons):
            if not lesson.needs <= offered | carried:
                return False
            numbers, marking = lesson.retrieval, lesson.marking
            if numbers is not None and not numbers["least"] <= numbers["preferred"] <= numbers["most"]:
                return False
            if marking is not None and marking["least"] > marking.get("most", marking["least"]):
                return False
            if any(
                window.get(f"least_{unit}", 0) > window.get(f"most_{unit}", 10_000)
                for _, window in lesson.requires
                for unit in ("days", "slots", "weeks")
            ):
                return False
            if any(window.get("most_slots", 1) < 1 for _, window in lesson.requires):
                return False
            wanted = lesson.dates or {}
            in_order = [wanted[name] for name in ("not_before", "on", "not_after") if name in wanted]
            if in_order != sorted(in_order):
                return False
    # A level that contradicts itself is refused, whatever holds in the end.
    stated = [holder.get("rules", {}).get("week") for holder in (data, *data["classes"])]
    shape = [week for week in (*(group.week for group in facts.classes), *stated) if isinstance(week, dict)]
    return not any(
        week.get(f"least_{what}", 0) > week.get(f"most_{what}", 10_000) for week in shape for what in ("lessons", "load")
    )


def _with_prerequisites(data: Raw, facts: Facts) -> Facts:
    """The facts as they would be were prerequisites switched off nowhere."""
    if not any("prerequisites" in holder.get("rules", {}) for holder in _holders(data)):
        return facts
    on = deepcopy(data)
    for holder in _holders(on):
        holder.get("rules", {}).pop("prerequisites", None)
    return read_facts(on)


def _holders(data: Raw) -> list[Raw]:
    """All that may state rules."""
    holders = [data, *data["units"], *(lesson for unit in data["units"] for lesson in unit["lessons"])]
    for group in data["classes"]:
        holders += [group, *group.get("lessons", {}).values()]
    return holders


def tidy(data: Raw) -> Raw:
    """Without the empty mappings that proposals leave behind."""
    holders = [data, *data["units"], *(lesson for unit in data["units"] for lesson in unit["lessons"])]
    for group in data["classes"]:
        for entry in group.get("lessons", {}).values():
            if entry.get("rules") == {}:
                del entry["rules"]
        group["lessons"] = {name: entry for name, entry in group.get("lessons", {}).items() if entry}
        if not group["lessons"]:
            del group["lessons"]
        holders.append(group)
    for holder in holders:
        if holder.get("rules") == {}:
            del holder["rules"]
    return data
