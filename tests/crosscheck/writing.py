"""Where in a raw scenario something is written: the mapping of a lesson, of a class's entry for it, of a level's rules."""

from __future__ import annotations

from random import Random
from typing import Any

from tests.crosscheck.facts import Facts
from tests.crosscheck.slots import Raw


def lesson_of(data: Raw, unit_id: str, lesson_id: str) -> Raw:
    unit = next(unit for unit in data["units"] if unit["id"] == unit_id)
    found: Raw = next(lesson for lesson in unit["lessons"] if lesson["id"] == lesson_id)
    return found


def group_of(data: Raw, class_id: str) -> Raw:
    found: Raw = next(group for group in data["classes"] if group["id"] == class_id)
    return found


def entry_of(rng: Random, data: Raw, class_id: str, unit_id: str, lesson_id: str) -> Raw:
    entries: Raw = group_of(data, class_id).setdefault("lessons", {})
    full, bare = f"{unit_id}/{lesson_id}", lesson_id
    if full in entries or bare in entries:
        entry: Raw = entries[full if full in entries else bare]
        return entry
    name = bare if len(group_of(data, class_id)["units"]) == 1 and rng.random() < 0.5 else full
    return entries.setdefault(name, {})


def rules_somewhere(rng: Random, data: Raw, facts: Facts, levels: tuple[str, ...], lessons: list[Any]) -> Raw | None:
    """The `rules` of a random level; single lessons are drawn from those given."""
    level = rng.choice(levels)
    if level == "scenario":
        return data.setdefault("rules", {})
    if level == "class":
        return rng.choice(data["classes"]).setdefault("rules", {})
    if level == "unit":
        return rng.choice(data["units"]).setdefault("rules", {})
    if not lessons:
        return None
    class_id, unit_id, lesson_id = rng.choice(lessons).key
    if level == "lesson":
        return lesson_of(data, unit_id, lesson_id).setdefault("rules", {})
    return entry_of(rng, data, class_id, unit_id, lesson_id).setdefault("rules", {})


LESSON_LEVELS = ("scenario", "class", "unit", "lesson", "lesson", "entry")


def lessons_of(facts: Facts) -> list[Any]:
    return [lesson for group in facts.classes for lesson in group.lessons]
