"""Rules that count a class's slots and weeks: runs, caps and threads, live quotas, weekly shape, shared things."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts, LiveCount, WeekCount
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Literal, Statement, total
from sequencer.words import LIVE


def high_load_lessons_are_not_piled_up(parts: Parts) -> None:
    """No run of high-load lessons is longer than the cap of any lesson in it (rule 2).

    For lessons of one slot a window of p + 1 slots holds at most p of them. Where lessons are longer, a window all of whose slots
    are held by capped lessons starts at most p of them. A lesson with a smaller cap than its neighbours tightens the windows
    that it starts in. Lessons whose cap is a wish lengthen runs; what that costs is said in ``run_wishes``.
    """
    lessons = parts.instance.lessons
    for facts in parts.classes():
        capped = [index for index in facts.lessons if lessons[index].run_cap is not None]
        longest = max((lessons[index].length for index in capped), default=1)
        hard = [index for index in capped if not lessons[index].run_wish]
        for cap in sorted({cap for index in hard if (cap := lessons[index].run_cap) is not None}):
            tight = [index for index in hard if (lessons[index].run_cap or 0) <= cap]
            statement = Statement(2, f"{facts.id}: at most {cap} high-load lessons follow one another")
            for stretch in stretches(facts.slots, facts.run_break_days):
                for size in range(cap + 1, min(cap * longest + 1, len(stretch)) + 1):
                    for first in range(len(stretch) - size + 1):
                        window = [slot.number for slot in stretch[first : first + size]]
                        _cap_window(parts, facts, statement, cap, capped, tight, window, longest)


def _cap_window(
    parts: Parts,
    facts: ClassFacts,
    statement: Statement,
    cap: int,
    capped: list[int],
    tight: list[int],
    window: list[int],
    longest: int,
) -> None:
    variables, posting = parts.variables, parts.posting
    inside = [literal for index in capped for literal in variables.lessons[index].starts_between(window[0], window[-1])]
    if len(inside) <= cap:
        return
    delivered = {index for index in capped if parts.instance.lessons[index].delivered is not None}
    done = [literal for index in delivered for literal in variables.lessons[index].starts_between(window[0], window[-1])]
    gone = len(done) > cap  # what was delivered is a run already, which nothing can mend
    # Slots of one-slot lessons need no condition: a window of p + 1 starts is full.
    full = [] if longest == 1 else [parts.all_capped(facts, slot, capped) for slot in window]
    if gone and len(tight) == len(capped):
        return
    if len(tight) == len(capped):
        posting.at_most_when_all(statement, sum(inside), cap, full)
        return
    beyond = len(window) - cap
    for slot in window:
        here = [
            literal
            for index in tight
            if not (gone and index in delivered)
            for literal in variables.lessons[index].starts_between(slot, slot)
        ]
        if here:
            # Where none of them starts here the window may start one lesson per slot, which is no limit.
            posting.at_most_when_all(statement, sum(inside) + beyond * sum(here), cap + beyond, full)


def tags_keep_their_windows(parts: Parts) -> None:
    """Of any q consecutive slots at most p hold a tag; for a thread at least p hold it or are spare (rule 2)."""
    lessons = parts.instance.lessons
    for facts in parts.classes():
        spare = parts.variables.classes[facts.index].spare
        for cap in (cap for cap in facts.caps if not cap.wish):
            tagged = [index for index in facts.lessons if cap.tag in lessons[index].tags]
            statement = Statement(2, f"{facts.id}: at most {cap.most} of {cap.of} slots hold {cap.tag}")
            for stretch in stretches(facts.slots, cap.break_days):
                size = min(cap.of, len(stretch))
                for first in range(len(stretch) - size + 1):
                    window = stretch[first : first + size]
                    held = held_in(parts, facts, window, tagged)
                    if len(held) > cap.most >= _delivered_in(parts, facts, window, tagged):
                        parts.posting.linear(statement, sum(held) <= cap.most)
        for thread in (thread for thread in facts.threads if not thread.wish):
            tagged = [index for index in facts.lessons if thread.tag in lessons[index].tags]
            others = [index for index in facts.lessons if index not in tagged]
            statement = Statement(2, f"{facts.id}: at least {thread.least} of {thread.of} slots hold {thread.tag}")
            for stretch in stretches(facts.slots, thread.break_days):
                for first in range(len(stretch) - thread.of + 1):
                    window = stretch[first : first + thread.of]
                    if thread.of - _delivered_in(parts, facts, window, others) < thread.least:
                        continue  # what was delivered breaks it already
                    serving = [*held_in(parts, facts, window, tagged), *(spare[slot.number] for slot in window)]
                    parts.posting.linear(statement, sum(serving) >= thread.least)


def held_in(parts: Parts, facts: ClassFacts, window: tuple[Slot, ...], tagged: list[int]) -> list[Literal]:
    """The literals that lessons hold the slots of a window."""
    return [literal for slot in window for literal in parts.variables.held(facts.index, slot.number, tagged)]


def _delivered_in(parts: Parts, facts: ClassFacts, window: tuple[Slot, ...], lessons: list[int]) -> int:
    """How many slots of a window delivered lessons among these hold."""
    held: set[int] = set()
    for index in lessons:
        lesson = parts.instance.lessons[index]
        if lesson.delivered is not None and lesson.delivered.slot is not None:
            held.update(range(lesson.delivered.slot, lesson.delivered.slot + lesson.length))
    return sum(slot.number in held for slot in window)


def stretches(slots: tuple[Slot, ...], break_days: int | None) -> list[tuple[Slot, ...]]:
    """Slots whose neighbours' dates differ by at most ``break_days`` days; all of them when it is None."""
    breaks = [
        place
        for place in range(1, len(slots))
        if break_days is not None and (slots[place].date - slots[place - 1].date).days > break_days
    ]
    return [slots[first:last] for first, last in pairwise([0, *breaks, len(slots)]) if first < last]


def live_quotas_hold(parts: Parts) -> None:
    """At least and at most so many lessons live per week, cycle or span, of a class or a teacher (rule 5).

    A model of some of a teacher's classes can only say that they are not too many.
    """
    for count in (count for count in parts.instance.live_counts if not count.wish):
        here = [(class_index, slot) for class_index, slot in count.slots if class_index in parts.variables.classes]
        if not (count.least or count.most is not None) or not here:
            continue
        starts = (parts.variables.classes[class_index].starts_live(slot) for class_index, slot in here)
        live = [literal for literal in starts if literal is not None]
        statement = Statement(5, f"{count.owner}: lessons live in {count.span}")
        done = _delivered_live(parts, count)
        gone = not all(parts.instance.classes[class_index].usable[slot] for class_index, slot in count.slots)
        left = sum(_can_turn_live(parts.instance.classes[class_index], slot) for class_index, slot in count.slots)
        if count.least and len(here) == len(count.slots) and not (gone and done + left < count.least):
            parts.posting.linear(statement, sum(live) >= count.least)
        if count.most is not None and len(live) > count.most >= done:
            parts.posting.linear(statement, sum(live) <= count.most)


def _delivered_live(parts: Parts, count: LiveCount) -> int:
    counted = set(count.slots)
    return sum(
        lesson.delivered is not None
        and lesson.delivered.taught == LIVE
        and (lesson.class_index, lesson.delivered.slot) in counted
        for lesson in parts.instance.lessons
    )


def _can_turn_live(facts: ClassFacts, slot: int) -> bool:
    return facts.usable[slot] and facts.slots[slot].can_be_live


def weeks_keep_their_shape(parts: Parts) -> None:
    """Least and most lessons, and least and most load, per class and school week (rule 9)."""
    for facts in parts.classes():
        for week in (week for week in facts.weeks if not week.wish):
            terms = parts.in_week(facts, week.week)
            statement = Statement(9, f"{facts.id}: shape of week {week.week.number}")
            for by_load, least, most in (
                (False, week.least_lessons, week.most_lessons),
                (True, week.least_load, week.most_load),
            ):
                counted = total((literal, lesson.load if by_load else 1) for lesson, literal in terms)
                done, more, gone = _still_possible(parts, facts, week, by_load)
                if least and not (gone and done + more < least):
                    parts.posting.linear(statement, counted >= least)
                if most is not None and done <= most:
                    parts.posting.linear(statement, counted <= most)


def _still_possible(parts: Parts, facts: ClassFacts, week: WeekCount, by_load: bool) -> tuple[int, int, bool]:
    """What was delivered in a week, how much more its usable slots can hold at most, and whether any have gone by."""
    lessons = [parts.instance.lessons[index] for index in facts.lessons]
    weight = {lesson.index: lesson.load if by_load else 1 for lesson in lessons}
    done = sum(weight[each.index] for each in lessons if each.delivered is not None and each.delivered.slot in week.slots)
    waiting = sorted((weight[lesson.index] for lesson in lessons if lesson.delivered is None), reverse=True)
    usable = sum(facts.usable[slot] for slot in week.slots)
    return done, sum(waiting[:usable]), usable < len(week.slots)


def shared_things_suffice(parts: Parts) -> None:
    """Over all classes, no more lessons use a shared thing in one period than it has capacity for (rule 8)."""
    for thing in parts.instance.shared:
        using: dict[tuple[date, int], list[Literal]] = {}
        taken: dict[tuple[date, int], int] = {}
        for index in thing.users:
            if index not in parts.variables.lessons:
                continue
            variables = parts.variables.lessons[index]
            slots = parts.instance.slots_for(variables.lesson)
            for start in variables.starts if not variables.lesson.earlier else ():
                for slot in slots[start : start + variables.lesson.length]:
                    using.setdefault((slot.date, slot.period), []).append(variables.at(start))
                    if variables.lesson.delivered is not None:
                        taken[slot.date, slot.period] = taken.get((slot.date, slot.period), 0) + 1
        for (day, period), literals in using.items():
            # What was delivered may have taken more than there is: that cannot be mended.
            if len(literals) > thing.capacity >= taken.get((day, period), 0):
                statement = Statement(8, f"{thing.name} on {day}, period {period}")
                parts.posting.linear(statement, sum(literals) <= thing.capacity)
