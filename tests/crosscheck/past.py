"""What cannot be mended: instances of rules that delivered lessons and `today` break, wherever the rest is placed.

A lesson that is still to be placed may lie wherever the rules that concern it alone let it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from tests.crosscheck.alone import lies_well
from tests.crosscheck.facts import ClassFacts, Facts, Lesson, Place
from tests.crosscheck.slots import Slot


def places(facts: Facts, group: ClassFacts, lesson: Lesson) -> list[int]:
    """First slots that the lesson can still have, if there were no other."""
    if lesson.done is not None:
        assert lesson.done.slot is not None
        return [lesson.done.slot]
    ways = ("in class", "live", "set work")
    return [start for start in range(len(group.slots)) if any(lies_well(facts, group, lesson, start, way) for way in ways)]


def no_pair(facts: Facts, group: ClassFacts, one: Lesson, other: Lesson, fits: Callable[[int, int], bool]) -> bool:
    """Whether one of two lessons was delivered and no first slots that both can still have fit."""
    if one.done is None and other.done is None:
        return False
    return not any(fits(here, there) for here in places(facts, group, one) for there in places(facts, group, other))


# -- rule 3 ------------------------------------------------------------------------------------------------------------


def practice_gone_by(facts: Facts, group: ClassFacts, dense: Lesson) -> bool:
    """Whether a dense lesson was delivered, and nothing that can still be placed would practise it in its window."""
    if dense.done is None:
        return False
    assert dense.done.slot is not None
    start = dense.done.slot
    numbers, last = dense.practice, start + dense.length - 1
    assert numbers is not None
    for practice in group.lessons:
        if dense.key not in practice.practises:
            continue
        for number in places(facts, group, practice):
            days = (group.slots[number].day - group.slots[start].day).days
            new = numbers.get("no_new_content") and _new_between(group, last + 1, number)
            if 1 <= number - last <= numbers["within"] and days <= numbers.get("days", days) and not new:
                return False
    return True


def _new_between(group: ClassFacts, first: int, end: int) -> bool:
    """Whether new content was delivered between."""
    teach = [lesson for lesson in group.lessons if lesson.kind == "teach" and lesson.done is not None]
    return any(first <= n < end for lesson in teach for n in range(*_held(lesson)))


def _held(lesson: Lesson) -> tuple[int, int]:
    assert lesson.done is not None
    assert lesson.done.slot is not None
    return lesson.done.slot, lesson.done.slot + lesson.length


# -- what counts slots and weeks ---------------------------------------------------------------------------------------


def live_done(facts: Facts, window: Sequence[Slot]) -> int:
    """How many lessons delivered so far were live and began in the window."""
    inside = {id(slot) for slot in window}
    return sum(id(group.slots[start]) in inside for group, _, (start, way) in delivered(facts) if way == "live")


def delivered(facts: Facts) -> Iterator[tuple[ClassFacts, Lesson, Place]]:
    """Every lesson delivered in a slot, with where and how."""
    for group in facts.classes:
        done = group.done
        for lesson in group.lessons:
            if lesson.key in done:
                yield group, lesson, done[lesson.key]


def too_few_left(facts: Facts, window: Sequence[Slot], least: int) -> bool:
    """Whether what was live so far and the slots that can still be live do not make up the number."""
    remote = [slot for slot in window if slot.remote]
    able = sum(slot.usable and slot.remote in ("open", "live") for slot in window)
    return not all(slot.usable for slot in remote) and live_done(facts, window) + able < least
