"""Rule 14, word for word: at most so many assessments, minutes of homework due and dense lessons a day and a school week.

Of a cohort each subject counts as its class with most does, and what is fixed elsewhere is added to it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from random import Random
from typing import TYPE_CHECKING, Any

from tests.crosscheck import added
from tests.crosscheck.slots import Raw, Slot, day_of, listed

if TYPE_CHECKING:
    from tests.crosscheck.facts import ClassFacts, Lesson

KEY = "pupils_week"
KEYS = tuple(f"{what}_a_{of}" for what in ("assessments", "homework", "dense") for of in ("day", "week"))


def drawn(rng: Random) -> Raw:
    key = rng.choice(KEYS)
    return {key: rng.choice([0, 15, 20, 35]) if "homework" in key else rng.randint(0, 2)}


def windows(numbers: Raw, group: ClassFacts) -> Iterator[added.Window]:
    for key in (key for key in KEYS if key in numbers):
        what, _, of = key.partition("_a_")
        for when in {getattr(slot, of) for slot in group.slots}:

            def counts(lesson: Lesson, start: int, what: str = what, of: str = of, when: object = when) -> int:
                slot = _due(group, lesson, start) if what == "homework" else group.slots[start]
                return _much(lesson, what) if slot is not None and getattr(slot, of) == when else 0

            yield added.Window(
                (key, when), set(range(len(group.slots))), counts, None, numbers[key], 30 if what == "homework" else 1
            )


def _much(lesson: Lesson, what: str) -> int:
    if what == "homework":
        return lesson.homework.get("minutes", 0)
    return int(lesson.kind == "assessment") if what == "assessments" else int(lesson.dense)


def _due(group: ClassFacts, lesson: Lesson, start: int) -> Slot | None:
    """The first date far enough away, and not that of the lesson itself."""
    soonest = group.slots[start].day + timedelta(days=max(1, lesson.homework.get("due_days", 1)))
    return next((slot for slot in group.slots if slot.day >= soonest), None)


def fixed(subjects: list[Raw], name: tuple[str, Any], weeks: dict[date, int]) -> int:
    """How many assessments are fixed elsewhere on a day or in a week."""
    key, when = name
    days = [day_of(text) for subject in subjects for text in listed(subject.get("fixed_assessments"))]
    if not key.startswith("assessments"):
        return 0
    return sum(day == when if key.endswith("day") else weeks.get(day - timedelta(days=day.weekday())) == when for day in days)


def cohorts(rng: Random, data: Raw, lessons: list[Raw]) -> bool | None:
    """A cohort of one to three subjects, and homework in some lessons."""
    for lesson in rng.sample(lessons, rng.randint(0, len(lessons))):
        lesson["homework"] = {"minutes": rng.choice([10, 20, 20, 30]), "due_days": rng.randint(0, 4)}
    ids = rng.sample([group["id"] for group in data["classes"]], len(data["classes"]))
    subjects = [{"name": "A", "classes": ids[:1]}, {"name": rng.choice("AB"), "classes": ids[1:]}]
    if subjects[1]["name"] == "A":
        subjects = [{"name": "A", "classes": ids}]
    cohort: Raw = {"id": f"Y{len(data.get('cohorts', []))}", "subjects": [each for each in subjects if each["classes"]]}
    if rng.random() < 0.4:
        first = day_of(data["term"]["first"])
        length = (day_of(data["term"]["last"]) - first).days
        days = [(first + timedelta(days=rng.randint(0, min(length, 20)))).isoformat() for _ in range(rng.randint(1, 3))]
        cohort["subjects"].append({"name": "C", "fixed_assessments": days if len(days) > 1 else days[0]})
    if rng.random() < 0.9:
        numbers = drawn(rng) | (drawn(rng) if rng.random() < 0.5 else {})
        cohort["rules"] = {KEY: numbers | ({"wish": rng.choice([1, 1, 2])} if rng.random() < 0.4 else {})}
    data.setdefault("cohorts", []).append(cohort)
    return None
