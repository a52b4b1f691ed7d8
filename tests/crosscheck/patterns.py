"""What a pattern makes for a unit of one class, as plain data in the form of listed lessons.

A made lesson has keys that a listed one has not: `made_for`, the lessons without which it goes, and `follows`, those that it
comes after when both are placed; a practice is `own` where its lesson says what it is like.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.crosscheck.slots import Raw, listed

Numbers = Callable[[Raw, str], Raw | None]
"""The numbers of a rule for a listed lesson of the unit in the class; None when it is off."""

KEPT = ("length", "tags", "needs", "preparation_minutes", "marking_minutes")


def pattern_of(data: Raw, unit: Raw) -> Raw | None:
    return next((pattern for pattern in data.get("patterns", []) if pattern["id"] == unit.get("pattern")), None)


def _most_further(stated: Any) -> int:
    if isinstance(stated, list):
        return max(map(_most_further, stated), default=0)
    if not isinstance(stated, dict):
        return 0
    here = stated["retrieval"] if isinstance(stated.get("retrieval"), dict) else {}
    return max([len(listed(here.get("then"))), *map(_most_further, stated.values())])


def made_lessons(
    data: Raw, unit: Raw, present: list[Raw], practised: set[str], numbers: Numbers, delivered: Callable[[str], bool]
) -> list[Raw]:
    """The lessons made, given the unit's lessons that the class has, and which of them some listed lesson practises.

    What was delivered already stays, whether or not it is still needed.
    """
    pattern = pattern_of(data, unit)
    if pattern is None:
        return []
    scale = data.get("loads", {})
    high = scale.get("high", 4)

    def made(part: str, name: str, kind: str, says: Raw, load: int) -> Raw:
        lesson = {"id": name, "kind": kind, "made": part, "load": load, "made_for": [], "follows": []}
        lesson |= {key: says[key] for key in KEPT if key in says}
        return lesson | ({"load": says["load"]} if says.get("load") is not None else {})

    light = max(scale.get("least", 1), high - 2)
    found: list[Raw] = []
    teach = [lesson for lesson in present if lesson.get("kind", "teach") == "teach"]
    # What practises a skipped lesson may have been delivered all the same.
    told = [each for each in unit["lessons"] if each not in present and delivered(f"{each['id']}-practice")]
    for lesson in (*teach, *(each for each in told if each.get("kind", "teach") == "teach")):
        own = lesson.get("practice")
        rule = numbers(lesson, "practice_after_dense")
        if "practice" not in pattern and own is None:
            continue
        if lesson.get("load", 0) < high or lesson["id"] in practised:
            continue
        if (rule is None or rule.get("homework") is not None) and not delivered(f"{lesson['id']}-practice"):
            continue
        says = {**(pattern.get("practice") or {}), **(own or {})}
        practice = made("practice", f"{lesson['id']}-practice", "practice", says, light)
        found.append(practice | {"practises": [lesson["id"]], "made_for": [lesson["id"]], "own": own is not None})
    if "retrieval" in pattern:
        says = pattern["retrieval"] or {}
        # One for each time that some teach lesson could be met again, by the longest list of further times stated anywhere.
        every = [lesson for lesson in unit["lessons"] if lesson.get("kind", "teach") == "teach"]
        count = len(every) * (1 + _most_further(data))
        for number in range(1, min(count, says.get("most") or count) + 1):
            retrieval = made("retrieval", f"retrieval-{number}", "retrieval", says, light)
            found.append(retrieval | {"room": says.get("room", 3)})
    if "writing" in pattern and teach:
        says = pattern["writing"] or {}
        kind = says.get("kind", "assessment")
        names = [lesson["id"] for lesson in teach]
        before = [lesson["id"] for lesson in (*present, *found) if lesson.get("kind", "teach") in ("teach", "practice")]
        writing = made("writing", "writing", kind, says, max(scale.get("least", 1), min(high, scale.get("most", 5))))
        writing |= {"made_for": names, "follows": before}
        found.append(writing | ({"practises": names} if kind == "practice" else {}))
    if "feedback" in pattern:
        says = pattern["feedback"] or {}
        kinds = listed(says.get("answers")) or ["practice", "retrieval"]
        answered = [lesson["id"] for lesson in (*present, *found) if lesson.get("kind", "teach") in kinds]
        if answered:
            found.append(made("feedback", "feedback", "feedback", says, light) | {"answers": answered, "made_for": answered})
    taken = {lesson["id"] for lesson in unit["lessons"]}
    return [lesson for lesson in found if lesson["id"] not in taken]
