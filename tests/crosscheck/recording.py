"""Random records of what happened, and `today`: as planned, or not."""

from __future__ import annotations

from datetime import timedelta
from random import Random

from tests.crosscheck import calendars
from tests.crosscheck.facts import ClassFacts, Facts, Lesson
from tests.crosscheck.placing import Assignment, end, occupied
from tests.crosscheck.slots import Raw


def record(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """What became of the first lessons of the plan `near`: mostly delivered as planned, now and then not."""
    days = sorted({slot.day for group in facts.classes for slot in group.slots})
    today = rng.choice(days[: max(2, 2 * len(days) // 3)]) + timedelta(days=rng.choice([0, 0, 1]))
    entries: list[Raw] = data.setdefault("record", [])
    faithful = rng.choice([0.95, 0.6, 0.2])
    for group in facts.classes:
        entries += _of_class(rng, group, near, today - timedelta(days=rng.choice([0, 1])), faithful)
    if rng.random() < 0.93:
        data["today"] = calendars.iso(today)
    rng.shuffle(entries)
    return None if entries else False


def _of_class(rng: Random, group: ClassFacts, near: Assignment, last: object, faithful: float) -> list[Raw]:
    holds = occupied(group, near)
    left = [lesson for lesson in group.lessons if lesson.done is None]
    entries: list[Raw] = []

    def entry(lesson: Lesson, number: int, what: str) -> None:
        slot = group.slots[number]
        found: Raw = {"class": group.id, "unit": lesson.key[1], "lesson": lesson.key[2], "what": what}
        found |= {"date": calendars.iso(slot.day), "period": slot.period}
        if what == "delivered" and rng.random() < 0.5:
            del found["what"]
        if slot.remote and rng.random() < 0.6:
            found["taught"] = {"open": rng.choice(["live", "set work"])}.get(slot.remote, slot.remote)
        if what in ("part-taught", "needs another") and rng.random() < 0.4:
            found["load"] = rng.randint(1, 5)
        if what in ("part-taught", "needs another") and rng.random() < 0.3:
            found["length"] = 1
        teach = [other for other in gone if other.kind == "teach"]
        if teach and rng.random() < 0.3:
            found["revisits"] = [f"{other.key[1]}/{other.key[2]}" for other in rng.sample(teach, 1)]
        entries.append(found)
        gone.append(lesson)
        left.remove(lesson)

    gone: list[Lesson] = []
    number = 0
    while number < len(group.slots) and group.slots[number].day < last:  # type: ignore[operator]
        planned = holds.get(number)
        here, number = number, number + 1
        if planned is not None and planned in left and near[planned.key][0] == here and rng.random() < faithful:
            entry(planned, here, "delivered")
            number = end(planned, near) + 1
            continue
        draw = rng.random()
        short = [lesson for lesson in left if lesson.length == 1 and not lesson.made]
        if draw < 0.2 and short:
            entry(rng.choice(short), here, "delivered")
        elif draw < 0.8 and planned in left and planned is not None and not planned.made and near[planned.key][0] == here:
            entry(planned, here, rng.choice(["part-taught", "needs another", "needs another"]))
            number = end(planned, near) + 1
        elif draw < 0.9:
            entries.append(_lost(rng, group, here))
    if left and rng.random() < 0.25:
        lesson = rng.choice(left)
        entries.append({"class": group.id, "unit": lesson.key[1], "lesson": lesson.key[2], "what": "skipped"})
        left.remove(lesson)
    if left and rng.random() < 0.12:
        lesson = rng.choice([y for y in left if not y.made] or left)
        day = group.slots[0].day - timedelta(days=rng.randint(1, 9))
        entries.append({"class": group.id, "unit": lesson.key[1], "lesson": lesson.key[2], "date": calendars.iso(day)})
    return entries


def _lost(rng: Random, group: ClassFacts, number: int) -> Raw:
    """Some lesson's period that did not take place."""
    slot, lesson = group.slots[number], rng.choice([lesson for lesson in group.lessons if not lesson.made] or group.lessons)
    found = {"class": group.id, "unit": lesson.key[1], "lesson": lesson.key[2], "what": "lost"}
    return found | {"date": calendars.iso(slot.day), "period": slot.period}
