"""What cannot be mended: instances of rules that delivered lessons and `today` break, wherever the rest is placed.

A lesson that is still to be placed may lie wherever the rules that concern it alone let it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from tests.crosscheck.alone import can_lie, could_lie_once
from tests.crosscheck.facts import ClassFacts, Facts, Lesson, Place
from tests.crosscheck.slots import Slot


def places(facts: Facts, group: ClassFacts, lesson: Lesson) -> list[int]:
    """First slots that the lesson can still have, if there were no other."""
    if lesson.done is not None:
        assert lesson.done.slot is not None
        return [lesson.done.slot]
    return can_lie(facts, group, lesson)


def places_once(facts: Facts, group: ClassFacts, lesson: Lesson) -> list[int]:
    """First slots that it could have had before any slot was lost."""
    return places(facts, group, lesson) if lesson.done is not None else could_lie_once(facts, group, lesson)


def no_pair(facts: Facts, group: ClassFacts, one: Lesson, other: Lesson, fits: Callable[[int, int], bool]) -> bool:
    """Whether no first slots that both lessons can still have fit, because of what was delivered or the slots that were lost."""

    def fit(where: Callable[[Facts, ClassFacts, Lesson], list[int]]) -> bool:
        return any(fits(here, there) for here in where(facts, group, one) for there in where(facts, group, other))

    return not fit(places) and (one.done is not None or other.done is not None or fit(places_once))


# -- rule 3 ------------------------------------------------------------------------------------------------------------


def practice_gone_by(facts: Facts, group: ClassFacts, dense: Lesson) -> bool:
    """Whether nothing can practise the dense lesson in its window any more, wherever both lie, nor can it be carried over."""
    if _can_be_practised(facts, group, dense, places):
        return False
    return dense.done is not None or _can_be_practised(facts, group, dense, places_once)


def cannot_wait(facts: Facts, group: ClassFacts, test: Lesson, dense: Lesson) -> bool:
    """Whether the assessment can no longer come after a practice of the dense lesson, wherever all of them lie."""

    def can(where: Callable[[Facts, ClassFacts, Lesson], list[int]]) -> bool:
        return any(_can_be_practised(facts, group, dense, where, at) for at in where(facts, group, test))

    return not can(places) and (test.done is not None or dense.done is not None or can(places_once))


def _can_be_practised(
    facts: Facts,
    group: ClassFacts,
    dense: Lesson,
    where: Callable[[Facts, ClassFacts, Lesson], list[int]],
    before: int | None = None,
) -> bool:
    numbers = dense.practice
    assert numbers is not None
    for start in where(facts, group, dense):
        last = start + dense.length - 1
        if len(group.slots) - 1 - last < numbers["within"]:
            return True
        for practice in group.lessons:
            if dense.key not in practice.practises:
                continue
            for number in where(facts, group, practice):
                if before is not None and number + practice.length > before:
                    continue
                days = (group.slots[number].day - group.slots[start].day).days
                new = numbers.get("no_new_content") and _new_between(group, last + 1, number)
                if 1 <= number - last <= numbers["within"] and days <= numbers.get("days", days) and not new:
                    return True
    return False


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
