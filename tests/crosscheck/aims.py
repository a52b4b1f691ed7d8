"""Every aim, word for word, over an assignment."""

from __future__ import annotations

from collections.abc import Sequence

from tests.crosscheck.again import Choice, Stated, best_choice, stated_choice
from tests.crosscheck.facts import ClassFacts, Facts, Lesson
from tests.crosscheck.made import practice_state
from tests.crosscheck.parallel import Part, even_week, part_of
from tests.crosscheck.placing import Assignment, first_slot, occupied, placed_lessons, pos
from tests.crosscheck.rules import live_slots, quota_windows, quota_wishes, teacher_windows
from tests.crosscheck.slots import Slot
from tests.crosscheck.wished import class_wishes, joint_wishes


def class_values(facts: Facts, group: ClassFacts, placed: Assignment, stated: Stated | None = None) -> tuple[int, ...]:
    """What a class contributes to each aim, with the choice of revisits that is stated or else the best."""
    choice = best_choice(facts, group, placed) if stated is None else stated_choice(facts, group, placed, stated)
    assert isinstance(choice, Choice), choice
    return tuple(_value(facts, aim, group, placed, choice) for aim in facts.aims)


def _value(facts: Facts, aim: str, group: ClassFacts, placed: Assignment, choice: Choice) -> int:
    """What one class contributes to an aim; every aim but `even week` is a sum over classes, with some wishes on top."""
    lessons = placed_lessons(group, placed)
    if aim == "left out":
        return sum(lesson.priority for lesson in group.lessons if lesson.optional and lesson.key not in placed)
    if aim in ("carried over", "left for the next plan"):
        dense = [lesson for lesson in lessons if lesson.dense and lesson.practice is not None]
        practices = sum(practice_state(group, lesson, placed) == "carried over" for lesson in dense)
        return practices + (choice.apart if aim == "carried over" else choice.carried)
    if aim == "made lessons":
        return sum(bool(lesson.made) for lesson in lessons)
    if aim == "wishes":
        windows = [(quota, window) for quota in group.quotas for window in quota_windows(quota, group.slots)]
        asked = class_wishes(facts, group, placed) + quota_wishes(facts, windows, live_slots(group, placed))
        return asked + sum(_unhappy(lesson, placed[lesson.key][1]) for lesson in lessons)
    if aim == "distance":
        return choice.distance
    if aim == "even load":
        weeks = [first_slot(group, lesson, placed).week for lesson in lessons]
        return max((sum(y.load for y, at in zip(lessons, weeks, strict=True) if at == week) for week in weeks), default=0)
    if aim == "even week":
        return 0
    if aim == "dense as set work":
        return sum(y.dense and y.live not in ("avoid", "refuse") and placed[y.key][1] == "set work" for y in lessons)
    assert aim == "early finish"
    last = max((pos(lesson, placed) for lesson in lessons if lesson.awaited), default=0)
    holds = occupied(group, placed)
    return sum(number not in holds for number in range(last))


def _unhappy(lesson: Lesson, taught: str) -> bool:
    if taught == "set work":
        return lesson.live == "prefer"
    return taught == "live" and lesson.live == "avoid"


def values_of(facts: Facts, placed: Assignment, stated: Stated | None = None) -> tuple[int, ...]:
    """The value of each aim, in the scenario's order."""
    each_class = [class_values(facts, group, placed, stated) for group in facts.classes]
    live = [slot for group in facts.classes for slot in live_slots(group, placed)]
    return joint_values(facts, each_class, [part_of(facts, group, placed) for group in facts.classes], live)


def joint_values(facts: Facts, each_class: Sequence[tuple[int, ...]], parts: Sequence[Part], live: list[Slot]) -> tuple[int, ...]:
    """The value of each aim from what each class contributes, and from the slots taught live of teachers with quotas."""
    found = dict(zip(facts.aims, map(sum, zip(*each_class, strict=True)), strict=True))
    if "even week" in found:
        found["even week"] = even_week(parts)
    if "wishes" in found:
        found["wishes"] += joint_wishes(facts, parts) + quota_wishes(facts, teacher_windows(facts), live)
    return tuple(found.values())
