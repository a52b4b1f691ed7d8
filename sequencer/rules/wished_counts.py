"""Wishes about counts of a class's slots and weeks: runs, caps and threads, live quotas, weekly shape."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts
from sequencer.instance.naming import limits_text, named, when
from sequencer.plan.sequence import Laid
from sequencer.plan.spans import high_load_runs_of, stretches, windows
from sequencer.rules.wish import Ungranted, by_lessons, outside
from sequencer.words import LIVE, count_text


def high_load_runs(laid: Laid) -> Iterator[Ungranted]:
    """Rule 2: each p + 1 high-load lessons that follow one another, where one of them has the cap p as a wish.

    It counts with the greatest weight of those, whatever the others allow. Unit: 1 for such lessons.
    """
    for facts in laid.classes:
        for run in high_load_runs_of(laid, facts):
            for cap in sorted({cap for lesson in run for cap, _ in lesson.wished_caps}):
                for first in range(len(run) - cap):
                    together = run[first : first + cap + 1]
                    weight = max(
                        (weight for lesson in together for wished, weight in lesson.wished_caps if wished == cap), default=0
                    )
                    if weight:
                        message = f"{facts.id}: {cap + 1} high-load lessons follow one another, at most {cap} wished"
                        yield by_lessons(laid, 2, together, 1, weight, f"{message}: {named(together)}")


def tag_windows(laid: Laid) -> Iterator[Ungranted]:
    """Rule 2: caps and threads. Unit: a slot too many or too few, in each window."""
    lessons = laid.instance.lessons
    for facts in laid.classes:
        held = laid.holders[facts.index]
        for cap in facts.caps:
            tagged = {slot for slot, lesson in held.items() if cap.tag in lessons[lesson].tags}
            for stretch in stretches(facts.slots, cap.break_days) if cap.wish else ():
                for window in windows(stretch, min(cap.of, len(stretch))):
                    found = sum(slot.number in tagged for slot in window)
                    message = f"{cap.tag} in {count_text(found, 'period')}, at most {cap.most} of {cap.of} in a row wished"
                    yield from _in_window(laid, facts, window, outside(found, None, cap.most), cap.wish or 0, message)
        for thread in facts.threads:
            tagged = {slot for slot, lesson in held.items() if thread.tag in lessons[lesson].tags}
            for stretch in stretches(facts.slots, thread.break_days) if thread.wish else ():
                for window in windows(stretch, thread.of):
                    found = sum(slot.number in tagged or slot.number not in held for slot in window)
                    asked = f"at least {thread.least} of {thread.of} in a row wished"
                    message = f"{thread.tag} or spare: {count_text(found, 'period')}, {asked}"
                    yield from _in_window(laid, facts, window, outside(found, thread.least, None), thread.wish or 0, message)


def _in_window(
    laid: Laid, facts: ClassFacts, window: tuple[Slot, ...], units: int, weight: int, message: str
) -> Iterator[Ungranted]:
    if units:
        held = laid.holders[facts.index]
        lessons = tuple(dict.fromkeys(held[slot.number] for slot in window if slot.number in held))
        place = f"from {when(window[0])} to {when(window[-1])}"
        yield Ungranted(2, (facts.id,), lessons, units, weight, f"{facts.id}: {place} {message}")


def live_quotas(laid: Laid) -> Iterator[Ungranted]:
    """Rule 5: least and most lessons live per week, cycle or span. Unit: a lesson short or over."""
    classes = laid.instance.classes
    here = {facts.index for facts in laid.classes}
    for count in laid.instance.live_counts:
        owners = tuple(dict.fromkeys(class_index for class_index, _ in count.slots))
        if not count.wish or not here.issuperset(owners):
            continue
        counted = set(count.slots)
        live = [
            lesson
            for lesson in laid.all_placed()
            if laid.taught(lesson.index) == LIVE and (lesson.class_index, laid.pos(lesson.index)) in counted
        ]
        if units := outside(len(live), count.least, count.most):
            asked = _missed(len(live), count.least, count.most)
            message = f"{count.owner}: {count_text(len(live), 'lesson')} live in {count.span}, {asked} wished"
            ids = tuple(classes[index].id for index in owners)
            yield Ungranted(5, ids, tuple(lesson.index for lesson in live), units, count.wish, message)


def weekly_shape(laid: Laid) -> Iterator[Ungranted]:
    """Rule 9: least and most lessons and load per class and school week. Unit: a lesson, or 1 of load, short or over."""
    for facts in laid.classes:
        for week in (week for week in facts.weeks if week.wish):
            lessons = [lesson for lesson in laid.in_order(facts.index) if laid.pos(lesson.index) in week.slots]
            load = sum(lesson.load for lesson in lessons)
            for value, least, most, what in (
                (len(lessons), week.least_lessons, week.most_lessons, count_text(len(lessons), "lesson")),
                (load, week.least_load, week.most_load, f"{load} load"),
            ):
                if units := outside(value, least, most):
                    asked = _missed(value, least, most)
                    message = f"{facts.id}: week {week.week.number} has {what}, {asked} wished"
                    indices = tuple(lesson.index for lesson in lessons)
                    yield Ungranted(9, (facts.id,), indices, units, week.wish, message)


def _missed(value: int, least: int | None, most: int | None) -> str:
    """The limit that a value misses, in words."""
    return limits_text(least, None) if least is not None and value < least else limits_text(None, most)
