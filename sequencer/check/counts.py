"""The referee on rules that count a class's slots and weeks: runs and threads, live quotas, weekly shape."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.calendar import Slot
from sequencer.check.verdict import Breach, named, when
from sequencer.facts import ClassFacts
from sequencer.sequence import Laid
from sequencer.spans import high_load_runs_of, stretches, windows
from sequencer.words import LIVE


def high_load_runs(laid: Laid) -> Iterator[Breach]:
    """Rule 2: no run of high-load lessons is longer than the cap of any lesson in it, wished caps aside."""
    for facts in laid.instance.classes:
        for run in high_load_runs_of(laid, facts):
            hard = [lesson.run_cap for lesson in run if lesson.run_cap is not None and not lesson.run_wish]
            cap = min(hard, default=len(run))
            if len(run) > cap:
                yield Breach(
                    2, (facts.id,), tuple(lesson.index for lesson in run),
                    tuple(slot for lesson in run for slot in laid.slots(lesson.index)),
                    f"{facts.id}: {len(run)} high-load lessons follow one another, at most {cap} may: {named(run)}",
                )  # fmt: skip


def tag_windows(laid: Laid) -> Iterator[Breach]:
    """Rule 2 in general: at most p of any q slots hold a tag, and threads: at least p hold it or are spare."""
    lessons = laid.instance.lessons
    for facts in laid.instance.classes:
        held = laid.holders[facts.index]
        for cap in (cap for cap in facts.caps if not cap.wish):
            tagged = {slot for slot, lesson in held.items() if cap.tag in lessons[lesson].tags}
            for stretch in stretches(facts.slots, cap.break_days):
                size = min(cap.of, len(stretch))
                for window in windows(stretch, size):
                    found = [slot for slot in window if slot.number in tagged]
                    if len(found) > cap.most:
                        yield _window_breach(
                            laid, facts, window,
                            f"at most {cap.most} of {cap.of} periods in a row may hold {cap.tag}, {len(found)} do",
                        )  # fmt: skip
        for thread in (thread for thread in facts.threads if not thread.wish):
            serving = {slot for slot, lesson in held.items() if thread.tag in lessons[lesson].tags}
            for stretch in stretches(facts.slots, thread.break_days):
                for window in windows(stretch, thread.of):
                    found = [slot for slot in window if slot.number in serving or slot.number not in held]
                    if len(found) < thread.least:
                        yield _window_breach(
                            laid, facts, window,
                            f"at least {thread.least} of {thread.of} periods in a row hold {thread.tag} or are spare, "
                            f"{len(found)} do",
                        )  # fmt: skip


def _window_breach(laid: Laid, facts: ClassFacts, window: tuple[Slot, ...], message: str) -> Breach:
    held = laid.holders[facts.index]
    lessons = tuple(dict.fromkeys(held[slot.number] for slot in window if slot.number in held))
    return Breach(2, (facts.id,), lessons, window, f"{facts.id}: from {when(window[0])} to {when(window[-1])} {message}")


def live_quotas(laid: Laid) -> Iterator[Breach]:
    """Rule 5: least and most lessons live per week, cycle or span."""
    instance = laid.instance
    for count in (count for count in instance.live_counts if not count.wish):
        counted = set(count.slots)
        live = [
            lesson
            for lesson in laid.all_placed()
            if laid.taught(lesson.index) == LIVE and (lesson.class_index, laid.pos(lesson.index)) in counted
        ]
        few = count.least is not None and len(live) < count.least
        many = count.most is not None and len(live) > count.most
        if few or many:
            asked = f"at least {count.least}" if few else f"at most {count.most}"
            owners = tuple(dict.fromkeys(instance.classes[class_index].id for class_index, _ in count.slots))
            yield Breach(
                5, owners, tuple(lesson.index for lesson in live),
                tuple(laid.first_slot(lesson.index) for lesson in live),
                f"{count.owner}: {len(live)} lessons live in {count.span}, {asked} asked",
            )  # fmt: skip


def weekly_shape(laid: Laid) -> Iterator[Breach]:
    """Rule 9: least and most lessons and load per class and school week."""
    for facts in laid.instance.classes:
        for week in (week for week in facts.weeks if not week.wish):
            lessons = [lesson for lesson in laid.in_order(facts.index) if laid.pos(lesson.index) in week.slots]
            load = sum(lesson.load for lesson in lessons)
            for value, least, most, what in (
                (len(lessons), week.least_lessons, week.most_lessons, "lessons"),
                (load, week.least_load, week.most_load, "load"),
            ):
                few, many = least is not None and value < least, most is not None and value > most
                if few or many:
                    asked = f"at least {least}" if few else f"at most {most}"
                    yield Breach(
                        9, (facts.id,), tuple(lesson.index for lesson in lessons),
                        tuple(laid.first_slot(lesson.index) for lesson in lessons),
                        f"{facts.id}: week {week.week.number} has {value} {what}, {asked} asked",
                    )  # fmt: skip
