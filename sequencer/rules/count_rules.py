"""The referee on rules that count a class's slots and weeks: runs and threads, live quotas, weekly shape."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts, LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.plan.spans import high_load_runs_of, stretches, windows
from sequencer.rules.past import all_delivered
from sequencer.rules.verdict import Breach, named, when
from sequencer.words import LIVE, count_text


def high_load_runs(laid: Laid) -> Iterator[Breach]:
    """Rule 2: no run of high-load lessons is longer than the cap of any lesson in it, wished caps aside."""
    for facts in laid.instance.classes:
        for run in high_load_runs_of(laid, facts):
            too_long = list(_too_long(run))
            if too_long:
                cap = min(lesson.run_cap for lesson in run if lesson.run_cap is not None and not lesson.run_wish)
                yield Breach(
                    2, (facts.id,), tuple(lesson.index for lesson in run),
                    tuple(slot for lesson in run for slot in laid.slots(lesson.index)),
                    f"{facts.id}: {len(run)} high-load lessons follow one another, at most {cap} may: {named(run)}",
                    all(all_delivered(window) for window in too_long),
                )  # fmt: skip


def _too_long(run: list[LessonFacts]) -> Iterator[list[LessonFacts]]:
    """Every cap + 1 lessons of a run that hold a lesson under that cap, wished caps aside."""
    caps = {lesson.index: lesson.run_cap or 0 for lesson in run if not lesson.run_wish}
    for cap in set(caps.values()):
        for first in range(len(run) - cap):
            window = run[first : first + cap + 1]
            if any(lesson.index in caps and caps[lesson.index] <= cap for lesson in window):
                yield window


def tag_windows(laid: Laid) -> Iterator[Breach]:
    """Rule 2 in general: at most p of any q slots hold a tag, and threads: at least p hold it or are spare."""
    lessons = laid.instance.lessons
    for facts in laid.instance.classes:
        held = laid.holders[facts.index]
        for cap in (cap for cap in facts.caps if not cap.wish):
            tagged = {slot for slot, lesson in held.items() if cap.tag in lessons[lesson].tags}
            done = {slot for slot in tagged if lessons[held[slot]].delivered is not None}
            for stretch in stretches(facts.slots, cap.break_days):
                size = min(cap.of, len(stretch))
                for window in windows(stretch, size):
                    found = [slot for slot in window if slot.number in tagged]
                    if len(found) > cap.most:
                        yield _window_breach(
                            laid, facts, window,
                            f"at most {cap.most} of {count_text(cap.of, 'period')} in a row may hold {cap.tag}, not {len(found)}",
                            sum(slot.number in done for slot in window) > cap.most,
                        )  # fmt: skip
        for thread in (thread for thread in facts.threads if not thread.wish):
            serving = {slot for slot, lesson in held.items() if thread.tag in lessons[lesson].tags}
            lost = {slot for slot, lesson in held.items() if lessons[lesson].delivered is not None} - serving
            for stretch in stretches(facts.slots, thread.break_days):
                for window in windows(stretch, thread.of):
                    found = [slot for slot in window if slot.number in serving or slot.number not in held]
                    if len(found) < thread.least:
                        yield _window_breach(
                            laid, facts, window,
                            f"at least {thread.least} of {count_text(thread.of, 'period')} in a row hold {thread.tag} "
                            f"or are spare, not {len(found)}",
                            sum(slot.number not in lost for slot in window) < thread.least,
                        )  # fmt: skip


def _window_breach(laid: Laid, facts: ClassFacts, window: tuple[Slot, ...], message: str, past: bool) -> Breach:
    held = laid.holders[facts.index]
    lessons = tuple(dict.fromkeys(held[slot.number] for slot in window if slot.number in held))
    return Breach(2, (facts.id,), lessons, window, f"{facts.id}: from {when(window[0])} to {when(window[-1])} {message}", past)


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
            done = sum(lesson.delivered is not None for lesson in live)
            gone = not all(instance.classes[class_index].usable[slot] for class_index, slot in count.slots)
            open_ = sum(_can_turn_live(instance.classes[class_index], slot) for class_index, slot in count.slots)
            owners = tuple(dict.fromkeys(instance.classes[class_index].id for class_index, _ in count.slots))
            yield Breach(
                5, owners, tuple(lesson.index for lesson in live),
                tuple(laid.first_slot(lesson.index) for lesson in live),
                f"{count.owner}: {count_text(len(live), 'lesson')} live in {count.span}, {asked} asked",
                (gone and done + open_ < (count.least or 0)) if few else done > (count.most or 0),
            )  # fmt: skip


def _can_turn_live(facts: ClassFacts, slot: int) -> bool:
    return facts.usable[slot] and facts.slots[slot].can_be_live


def weekly_shape(laid: Laid) -> Iterator[Breach]:
    """Rule 9: least and most lessons and load per class and school week."""
    for facts in laid.instance.classes:
        for week in (week for week in facts.weeks if not week.wish):
            lessons = [lesson for lesson in laid.in_order(facts.index) if laid.pos(lesson.index) in week.slots]
            load = sum(lesson.load for lesson in lessons)
            done = [lesson.load for lesson in lessons if lesson.delivered is not None]
            waiting = sorted((lesson.load for lesson in laid.lessons_of(facts) if lesson.delivered is None), reverse=True)
            gone = not all(facts.usable[slot] for slot in week.slots)
            more = waiting[: sum(facts.usable[slot] for slot in week.slots)]
            for value, least, most, what, so_far, still in (
                (len(lessons), week.least_lessons, week.most_lessons, count_text(len(lessons), "lesson"), len(done), len(more)),
                (load, week.least_load, week.most_load, f"{load} load", sum(done), sum(more)),
            ):
                few, many = least is not None and value < least, most is not None and value > most
                if few or many:
                    asked = f"at least {least}" if few else f"at most {most}"
                    yield Breach(
                        9, (facts.id,), tuple(lesson.index for lesson in lessons),
                        tuple(laid.first_slot(lesson.index) for lesson in lessons),
                        f"{facts.id}: week {week.week.number} has {what}, {asked} asked",
                        (gone and so_far + still < (least or 0)) if few else so_far > (most or 0),
                    )  # fmt: skip
