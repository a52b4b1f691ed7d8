"""Every aim, word for word, over an assignment."""

from __future__ import annotations

from collections.abc import Sequence

from tests.crosscheck.facts import ClassFacts, Facts, Lesson
from tests.crosscheck.parallel import Part, even_week, part_of
from tests.crosscheck.placing import Assignment, end, first_slot, occupied, placed_lessons
from tests.crosscheck.rules import (
    live_slots,
    practice_state,
    quota_windows,
    quota_wishes,
    retrieval_state,
    retrieved_lessons,
    teacher_windows,
)
from tests.crosscheck.slots import Slot
from tests.crosscheck.wished import class_wishes, joint_wishes


def class_aim(facts: Facts, aim: str, group: ClassFacts, placed: Assignment) -> int:
    """What one class contributes to an aim; every aim but `even week` is a sum over classes, with some wishes on top."""
    lessons = placed_lessons(group, placed)
    if aim == "left out":
        return sum(lesson.priority for lesson in group.lessons if lesson.key not in placed)
    if aim == "carried over":
        dense = [lesson for lesson in lessons if lesson.dense and lesson.practice is not None]
        met = [retrieval_state(group, lesson, placed)[0] for lesson in retrieved_lessons(group, placed)]
        return sum(practice_state(group, x, placed) == "carried over" for x in dense) + sum(s != "met" for s in met)
    if aim == "wishes":
        windows = [(quota, window) for quota in group.quotas for window in quota_windows(quota, group.slots)]
        asked = class_wishes(facts, group, placed) + quota_wishes(facts, windows, live_slots(group, placed))
        return asked + sum(_unhappy(lesson, placed[lesson.key][1]) for lesson in lessons)
    if aim == "distance":
        return sum(retrieval_state(group, lesson, placed)[1] for lesson in retrieved_lessons(group, placed))
    if aim == "even load":
        weeks = [first_slot(group, lesson, placed).week for lesson in lessons]
        return max((sum(y.load for y, at in zip(lessons, weeks, strict=True) if at == week) for week in weeks), default=0)
    if aim == "even week":
        return 0
    assert aim == "early finish"
    last = max((end(lesson, placed) for lesson in lessons if not lesson.optional), default=0)
    holds = occupied(group, placed)
    return sum(number not in holds for number in range(last))


def _unhappy(lesson: Lesson, taught: str) -> bool:
    if taught == "set work":
        return (lesson.dense or lesson.live == "prefer") and lesson.live not in ("avoid", "refuse")
    return taught == "live" and lesson.live == "avoid"


def values_of(facts: Facts, placed: Assignment) -> tuple[int, ...]:
    """The value of each aim, in the scenario's order."""
    each_class = [tuple(class_aim(facts, aim, group, placed) for aim in facts.aims) for group in facts.classes]
    live = [slot for group in facts.classes for slot in live_slots(group, placed)]
    return joint_values(facts, each_class, [part_of(facts, group, placed) for group in facts.classes], live)


def joint_values(facts: Facts, each_class: Sequence[tuple[int, ...]], parts: Sequence[Part], live: list[Slot]) -> tuple[int, ...]:
    """The value of each aim from what each class contributes, and from the slots taught live of teachers with quotas."""
    values = dict(zip(facts.aims, map(sum, zip(*each_class, strict=True)), strict=True))
    if "even week" in values:
        values["even week"] = even_week(parts)
    if "wishes" in values:
        values["wishes"] += joint_wishes(facts, parts) + quota_wishes(facts, teacher_windows(facts), live)
    return tuple(values.values())
