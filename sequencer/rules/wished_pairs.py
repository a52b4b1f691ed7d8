"""Wishes about how far two lessons lie apart: windows of prerequisites, feedback, in step."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from sequencer.instance.facts import Follows
from sequencer.instance.naming import limits_text, named
from sequencer.instance.wished import wished_apart
from sequencer.plan.sequence import Laid
from sequencer.rules.wish import Ungranted, by_lessons, outside
from sequencer.words import count_text


def prerequisite_windows(laid: Laid) -> Iterator[Ungranted]:
    """Rule 1, windows on top of prerequisites. Unit: a day, period or school week outside; each of the three by itself."""
    here = {lesson.index for lesson in laid.taught_so_far()}
    for follows in laid.instance.follows:
        if follows.window is None or not follows.window.wish or not {follows.before, follows.after} <= here:
            continue
        before, after = laid.instance.lessons[follows.before], laid.instance.lessons[follows.after]
        if after.earlier:
            continue
        owner = laid.instance.class_of(after).id
        for distance, unit, least, most in _windows(laid, follows):
            if units := outside(distance, least, most):
                message = f"{named((after,))} comes {distance} {unit} after {named((before,))}: {limits_text(least, most)} wished"
                yield by_lessons(laid, 1, (before, after), units, follows.window.wish, f"{owner}: {message}")


def _windows(laid: Laid, follows: Follows) -> Iterator[tuple[int, str, int | None, int | None]]:
    window = follows.window
    assert window is not None
    before, after = follows.before, follows.after
    yield laid.days(before, after), "days", window.least_days, window.most_days
    if laid.instance.lessons[before].earlier:
        return  # only days count from what was taught before the first slot
    weeks = laid.first_slot(after).week.number - laid.first_slot(before).week.number
    yield laid.pos(after) - laid.end(before), "periods", window.least_slots, window.most_slots
    yield weeks, "school weeks", window.least_weeks, window.most_weeks


def feedback(laid: Laid) -> Iterator[Ungranted]:
    """Rule 6, the time from a lesson to its feedback. Unit: a school day outside."""
    here = {lesson.index: lesson for lesson in laid.all_placed()}
    for follows in laid.instance.follows:
        if follows.because != "answers" or follows.after not in here or not laid.placed(follows.before):
            continue
        answered, lesson = laid.instance.lessons[follows.before], here[follows.after]
        numbers = answered.marking
        if numbers is None or not numbers.wish:
            continue
        later = laid.instance.school_days_later(laid.date(answered.index), laid.date(lesson.index))
        if units := outside(later, numbers.least, numbers.most):
            asked = limits_text(numbers.least, numbers.most)
            message = f"{named((lesson,))} comes {count_text(later, 'school day')} after {named((answered,))}: {asked} wished"
            owner = laid.instance.class_of(lesson).id
            yield by_lessons(laid, 6, (answered, lesson), units, numbers.wish, f"{owner}: {message}")


def in_step(laid: Laid) -> Iterator[Ungranted]:
    """Rule 11: the same lesson of one unit in each two parallel classes. Unit: a day beyond."""
    here = {lesson.index: lesson for lesson in laid.taught_so_far()}
    for group in laid.instance.parallels:
        for one, other in combinations([here[index] for index in group if index in here], 2):
            days, wished = abs(laid.days(one.index, other.index)), wished_apart(one, other)
            if wished is not None and days > wished[0]:
                classes = " and ".join(laid.instance.class_of(lesson).id for lesson in (one, other))
                message = f"{classes}: {named((one,))} lies {count_text(days, 'day')} apart, at most {wished[0]} wished"
                yield by_lessons(laid, 11, (one, other), days - wished[0], wished[1], message)
