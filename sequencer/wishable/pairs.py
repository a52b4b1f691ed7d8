"""Rules about how far two lessons lie apart: windows of prerequisites, feedback, in step."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from sequencer.facts import Follows, LessonFacts
from sequencer.naming import limits_text, named
from sequencer.sequence import Laid
from sequencer.wishable.violation import Violation, of_lessons, outside
from sequencer.wished import most_apart, wished_apart


def prerequisite_windows(laid: Laid) -> Iterator[Violation]:
    """Rule 1, windows on top of prerequisites. Unit: a day, period or school week outside; each of the three by itself."""
    here = {lesson.index for lesson in laid.all_placed()}
    for follows in laid.instance.follows:
        before, after = laid.instance.lessons[follows.before], laid.instance.lessons[follows.after]
        if follows.window is None or before.index not in here or after.index not in here:
            continue
        for distance, unit, least, most in _windows(laid, follows):
            if units := outside(distance, least, most):
                message = (
                    f"{laid.instance.class_of(after).id}: {named((after,))} comes {distance} {unit} after {named((before,))}: "
                    f"{limits_text(least, most)} asked"
                )
                yield of_lessons(laid, 1, (before, after), message, units, follows.window.wish or 0)


def _windows(laid: Laid, follows: Follows) -> Iterator[tuple[int, str, int | None, int | None]]:
    window = follows.window
    assert window is not None
    before, after = follows.before, follows.after
    weeks = laid.first_slot(after).week.number - laid.first_slot(before).week.number
    yield laid.days(before, after), "days", window.least_days, window.most_days
    yield laid.pos(after) - laid.end(before), "periods", window.least_slots, window.most_slots
    yield weeks, "school weeks", window.least_weeks, window.most_weeks


def feedback(laid: Laid) -> Iterator[Violation]:
    """Rule 6: feedback comes when what it answers is marked, and not too long after. Unit: a school day outside."""
    for lesson in laid.all_placed():
        for answered_index in lesson.answers:
            answered = laid.instance.lessons[answered_index]
            numbers = answered.marking
            if numbers is None or not laid.placed(answered_index):
                continue
            later = laid.instance.school_days_later(laid.date(answered_index), laid.date(lesson.index))
            if units := outside(later, numbers.least, numbers.most):
                message = (
                    f"{laid.instance.class_of(lesson).id}: {named((lesson,))} comes {later} school days after "
                    f"{named((answered,))}: {limits_text(numbers.least, numbers.most)} asked"
                )
                yield of_lessons(laid, 6, (answered, lesson), message, units, numbers.wish)


def in_step(laid: Laid) -> Iterator[Violation]:
    """Rule 11: the same lesson of one unit in parallel classes lies within so many days. Unit: a day beyond, for each pair.

    Where the rule is hard only the two classes that lie furthest apart are named.
    """
    here = {lesson.index: lesson for lesson in laid.all_placed()}
    for group in laid.instance.parallels:
        placed = [here[index] for index in group if index in here]
        hard: list[Violation] = []
        for one, other in combinations(placed, 2):
            most, wished = most_apart(one, other), wished_apart(one, other)
            if most is not None and abs(laid.days(one.index, other.index)) > most:
                hard.append(_apart(laid, one, other, most, 0))
            if wished is not None and abs(laid.days(one.index, other.index)) > wished[0]:
                yield _apart(laid, one, other, *wished)
        if hard:
            yield max(hard, key=lambda violation: abs(laid.days(violation.lessons[0], violation.lessons[1])))


def _apart(laid: Laid, one: LessonFacts, other: LessonFacts, most: int, weight: int) -> Violation:
    classes = " and ".join(laid.instance.class_of(lesson).id for lesson in (one, other))
    days = abs(laid.days(one.index, other.index))
    message = f"{classes}: {named((one,))} lies {days} days apart, at most {most} asked"
    return of_lessons(laid, 11, (one, other), message, days - most, weight)
