"""Rules that count a class's slots and weeks: runs, caps and threads, live quotas, weekly shape."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.calendar import Slot
from sequencer.facts import ClassFacts, LessonFacts
from sequencer.naming import limits_text, named, when
from sequencer.sequence import Laid
from sequencer.wishable.violation import Violation, of_lessons, outside
from sequencer.words import LIVE


def high_load_runs(laid: Laid) -> Iterator[Violation]:
    """Rule 2: no run of high-load lessons is longer than the hard cap of any lesson in it.

    As a wish of cap p, each p + 1 lessons of a run that follow one another count, where one of them has that cap as a wish: with
    the greatest weight of these, whatever the caps of the others. Unit: 1 for such lessons.
    """
    for facts in laid.classes:
        for run in _runs(laid, facts):
            hard = [lesson.run_cap for lesson in run if lesson.run_cap is not None and not lesson.run_wish]
            if hard and len(run) > min(hard):
                message = f"{facts.id}: {len(run)} high-load lessons follow one another, at most {min(hard)} may: {named(run)}"
                yield of_lessons(laid, 2, run, message, len(run) - min(hard), 0)
            for cap in sorted({lesson.run_cap for lesson in run if lesson.run_cap is not None and lesson.run_wish}):
                for first in range(len(run) - cap):
                    together = run[first : first + cap + 1]
                    weight = max((lesson.run_wish for lesson in together if lesson.run_cap == cap), default=0)
                    if weight:
                        message = f"{facts.id}: {cap + 1} high-load lessons follow one another, at most {cap} asked"
                        yield of_lessons(laid, 2, together, f"{message}: {named(together)}", 1, weight)


def _runs(laid: Laid, facts: ClassFacts) -> Iterator[list[LessonFacts]]:
    """Longest runs of capped high-load lessons that follow one another."""
    run: list[LessonFacts] = []
    for lesson in laid.in_order(facts.index):
        goes_on = bool(run) and laid.pos(lesson.index) == laid.end(run[-1].index) + 1
        if goes_on and facts.run_break_days is not None:
            goes_on = laid.days(run[-1].index, lesson.index) <= facts.run_break_days
        if run and not (goes_on and lesson.run_cap is not None):
            yield run
            run = []
        if lesson.run_cap is not None:
            run.append(lesson)
    if run:
        yield run


def tag_windows(laid: Laid) -> Iterator[Violation]:
    """Rule 2 in general: at most p of any q slots hold a tag, and threads: at least p hold it or are spare.

    Unit: a slot too many or too few, in each window.
    """
    lessons = laid.instance.lessons
    for facts in laid.classes:
        held = laid.holders[facts.index]
        for cap in facts.caps:
            tagged = {slot for slot, lesson in held.items() if cap.tag in lessons[lesson].tags}
            for stretch in stretches(facts.slots, cap.break_days):
                for window in _windows(stretch, min(cap.of, len(stretch))):
                    found = sum(slot.number in tagged for slot in window)
                    if units := outside(found, None, cap.most):
                        message = f"at most {cap.most} of {cap.of} periods in a row may hold {cap.tag}, {found} do"
                        yield _in_window(laid, facts, window, message, units, cap.wish)
        for thread in facts.threads:
            tagged = {slot for slot, lesson in held.items() if thread.tag in lessons[lesson].tags}
            for stretch in stretches(facts.slots, thread.break_days):
                for window in _windows(stretch, thread.of):
                    found = sum(slot.number in tagged or slot.number not in held for slot in window)
                    if units := outside(found, thread.least, None):
                        message = (
                            f"at least {thread.least} of {thread.of} periods in a row hold {thread.tag} or are spare, {found} do"
                        )
                        yield _in_window(laid, facts, window, message, units, thread.wish)


def _in_window(laid: Laid, facts: ClassFacts, window: tuple[Slot, ...], message: str, units: int, wish: int | None) -> Violation:
    held = laid.holders[facts.index]
    lessons = tuple(dict.fromkeys(held[slot.number] for slot in window if slot.number in held))
    message = f"{facts.id}: from {when(window[0])} to {when(window[-1])} {message}"
    return Violation(2, (facts.id,), lessons, window, message, units, wish or 0)


def stretches(slots: tuple[Slot, ...], break_days: int | None) -> Iterator[tuple[Slot, ...]]:
    """Slots whose neighbours' dates differ by at most ``break_days`` days; all of them when it is None."""
    stretch: list[Slot] = []
    for slot in slots:
        if stretch and break_days is not None and (slot.date - stretch[-1].date).days > break_days:
            yield tuple(stretch)
            stretch = []
        stretch.append(slot)
    if stretch:
        yield tuple(stretch)


def _windows(stretch: tuple[Slot, ...], size: int) -> Iterator[tuple[Slot, ...]]:
    return (stretch[start : start + size] for start in range(len(stretch) - size + 1))


def live_quotas(laid: Laid) -> Iterator[Violation]:
    """Rule 5: least and most lessons live per week, cycle or span. Unit: a lesson short or over."""
    classes = laid.instance.classes
    here = {facts.index for facts in laid.classes}
    for count in laid.instance.live_counts:
        owners = tuple(dict.fromkeys(class_index for class_index, _ in count.slots))
        if not here.intersection(owners):
            continue
        counted = set(count.slots)
        live = [
            lesson
            for lesson in laid.all_placed()
            if laid.taught(lesson.index) == LIVE and (lesson.class_index, laid.pos(lesson.index)) in counted
        ]
        if units := outside(len(live), count.least, count.most):
            yield Violation(
                5, tuple(classes[index].id for index in owners), tuple(lesson.index for lesson in live),
                tuple(laid.first_slot(lesson.index) for lesson in live),
                f"{count.owner}: {len(live)} lessons live in {count.span}, {_missed(len(live), count.least, count.most)} asked",
                units, count.wish,
            )  # fmt: skip


def weekly_shape(laid: Laid) -> Iterator[Violation]:
    """Rule 9: least and most lessons and load per class and school week. Unit: a lesson, or 1 of load, short or over."""
    for facts in laid.classes:
        for week in facts.weeks:
            lessons = [lesson for lesson in laid.in_order(facts.index) if laid.pos(lesson.index) in week.slots]
            load = sum(lesson.load for lesson in lessons)
            for value, least, most, what in (
                (len(lessons), week.least_lessons, week.most_lessons, "lessons"),
                (load, week.least_load, week.most_load, "load"),
            ):
                if units := outside(value, least, most):
                    yield Violation(
                        9, (facts.id,), tuple(lesson.index for lesson in lessons),
                        tuple(laid.first_slot(lesson.index) for lesson in lessons),
                        f"{facts.id}: week {week.week.number} has {value} {what}, {_missed(value, least, most)} asked",
                        units, week.wish,
                    )  # fmt: skip


def _missed(value: int, least: int | None, most: int | None) -> str:
    """The limit that a value misses, in words."""
    return limits_text(least, None) if least is not None and value < least else limits_text(None, most)
