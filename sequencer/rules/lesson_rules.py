"""The referee on rules about lessons: shape, prerequisites, retrieval, live wishes, feedback, dates, place."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date
from functools import partial

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Follows, LessonFacts
from sequencer.instance.naming import limits_text
from sequencer.plan.outcomes import BROKEN, practises_in_time, retrievals, unavoidably_broken
from sequencer.plan.sequence import Laid
from sequencer.rules.alone import asked_dates, follow_on, is_past, refusals, refuses_to_be, ways_of_teaching
from sequencer.rules.past import dates_left, none_fits, none_pairs, slots_once
from sequencer.rules.verdict import Breach, breach_in, day_text, named, when
from sequencer.words import count_text


def shape(laid: Laid) -> Iterator[Breach]:
    """Rule 0: each lesson once, in slots that exist, in the shape of its length; a slot holds at most one lesson."""
    instance = laid.instance
    for stray in laid.sequence.strays:
        lesson = instance.lessons[stray.lesson]
        yield breach_in(
            laid, 0, (lesson,), f"does not meet on {day_text(stray.date)}, period {stray.period}, given for {named((lesson,))}"
        )
    times = Counter(placement.lesson for placement in laid.sequence.placements)
    strays = {stray.lesson for stray in laid.sequence.strays}
    for lesson in instance.lessons:
        if times[lesson.index] > 1:
            yield breach_in(laid, 0, (lesson,), f"{named((lesson,))} is placed {count_text(times[lesson.index], 'time')}")
        missing = times[lesson.index] == 0 and lesson.certain and lesson.delivered is None
        if missing and lesson.index not in strays:
            yield breach_in(laid, 0, (lesson,), f"{named((lesson,))} is not placed")
    held: dict[tuple[int, int], LessonFacts] = {}
    for lesson in instance.lessons:
        if lesson.delivered is not None and lesson.delivered.slot is not None:
            for number in range(lesson.delivered.slot, lesson.delivered.slot + lesson.length):
                held[lesson.class_index, number] = lesson
    for placement in laid.sequence.placements:
        lesson = instance.lessons[placement.lesson]
        if lesson.delivered is not None:
            if placement.slot != lesson.delivered.slot:
                yield breach_in(laid, 0, (lesson,), f"{named((lesson,))} was delivered on {day_text(lesson.delivered.date)}")
            continue
        slots = instance.slots_for(lesson)[placement.slot : placement.slot + lesson.length]
        if len(slots) < lesson.length or not follow_on(laid.instance, slots):
            yield breach_in(
                laid, 0, (lesson,), f"{named((lesson,))} needs {lesson.length} adjacent periods of one date from {when(slots[0])}"
            )
        if placement.taught not in ways_of_teaching(slots):
            yield breach_in(
                laid, 0, (lesson,), f"{named((lesson,))} on {when(slots[0])} cannot be taught as stated: {placement.taught}"
            )
        for slot in slots:
            other = held.setdefault((lesson.class_index, slot.number), lesson)
            if other.index != lesson.index:
                yield breach_in(laid, 0, (other, lesson), f"{named((other, lesson))} are both on {when(slot)}")


def not_before_today(laid: Laid) -> Iterator[Breach]:
    """Lessons that are not yet delivered lie on or after today."""
    today = laid.instance.scenario.today
    for lesson in laid.all_placed():
        if today is not None and lesson.delivered is None and laid.date(lesson.index) < today:
            yield breach_in(
                laid, 7, (lesson,),
                f"{named((lesson,))} is on {when(laid.first_slot(lesson.index))}, before today, {day_text(today)}",
            )  # fmt: skip


def made_lessons(laid: Laid) -> Iterator[Breach]:
    """What a pattern made is there as long as it is needed: for one of the lessons it was made for, and no longer."""
    served_on: dict[date, list[int]] = defaultdict(list)
    for outcome in retrievals(laid):
        if outcome.by is not None:
            served_on[laid.date(outcome.by)].append(outcome.lesson)
    for lesson in laid.lessons():
        if lesson.made is None or lesson.delivered is not None:
            continue
        wanted = [laid.instance.lessons[index] for index in lesson.made_for if laid.placed(index)]
        if not laid.placed(lesson.index):
            if lesson.made in ("feedback", "writing") and wanted:
                yield breach_in(laid, 12, (lesson,), f"{named((lesson,))} is made for {named(wanted)}, and is not placed")
        elif lesson.made == "retrieval":
            if not any(lesson.index in laid.met_in.get(index, ()) for index in served_on[laid.date(lesson.index)]):
                yield breach_in(laid, 4, (lesson,), f"{named((lesson,))} is made, and meets nothing again in time")
        elif not wanted:
            yield breach_in(laid, 12, (lesson,), f"{named((lesson,))} is made for lessons that are all left out")
        elif lesson.made == "practice":
            yield from _made_practice(laid, lesson, wanted[0])


def _made_practice(laid: Laid, practice: LessonFacts, dense: LessonFacts) -> Iterator[Breach]:
    """Rule 3: without it the dense lesson that it was made for would have no practice."""
    placed = [other for other in dense.practised_by if laid.placed(other)]
    serving = [other for other in placed if dense.practice is not None and practises_in_time(laid, dense, other)]
    if serving != [practice.index]:
        why = "does not lie in its window" if practice.index not in serving else "could be taken away"
        yield breach_in(laid, 3, (dense, practice), f"{named((practice,))} is made for {named((dense,))}, and {why}")


def chosen_revisits(laid: Laid) -> Iterator[Breach]:
    """Rule 4: what is met again by choice comes after it is taught, in lessons with room for it."""
    instance = laid.instance
    held: dict[int, list[LessonFacts]] = {}
    for revisit in laid.sequence.revisits:
        lesson, by = instance.lessons[revisit.lesson], instance.lessons[revisit.by]
        if not laid.placed(by.index) or not laid.placed(lesson.index):
            yield breach_in(laid, 4, (lesson, by), f"{named((lesson,))} is met again in {named((by,))}: both must be placed")
        elif lesson.class_index != by.class_index or not lesson.chosen or lesson.kind != "teach":
            yield breach_in(laid, 4, (lesson, by), f"{named((lesson,))} is not one of those that are met again by choice")
        elif laid.pos(by.index) <= laid.end(lesson.index):
            yield breach_in(laid, 4, (lesson, by), f"{named((by,))} does not come after {named((lesson,))}, met again in it")
        held.setdefault(by.index, []).append(lesson)
    for index, group in held.items():
        by = instance.lessons[index]
        if len(group) > by.chooses:
            yield breach_in(
                laid,
                4,
                (by, *group),
                f"{named((by,))} meets {count_text(len(group), 'lesson')} again by choice, and has room for {by.chooses}",
            )


def prerequisites(laid: Laid) -> Iterator[Breach]:
    """Rule 1, and the order in which lessons follow what they practise, revisit or answer."""
    rule_of = {"practises": 3, "revisits": 4, "answers": 6}
    for follows in laid.instance.follows:
        before, after = laid.instance.lessons[follows.before], laid.instance.lessons[follows.after]
        if after.earlier or not laid.placed(after.index):
            continue
        rule = rule_of.get(follows.because, 1)
        if not before.earlier:
            too_late = partial(none_pairs, laid, before, after, partial(_in_order, before))
            if not laid.placed(before.index):
                if follows.demands_placement:
                    message = f"{named((after,))} requires {named((before,))}, which is left out"
                    yield breach_in(laid, 1, (before, after), message, too_late())
                continue
            if laid.pos(after.index) <= laid.end(before.index):
                yield breach_in(
                    laid, rule, (before, after),
                    f"{named((after,))} on {when(laid.first_slot(after.index))} does not come after {named((before,))} "
                    f"on {when(laid.first_slot(before.index))} ({follows.because})",
                    too_late(),
                )  # fmt: skip
        for unit, least, most in _windows(follows):
            distance = _distance(laid, unit, before, laid.first_slot(after.index))
            if distance is not None and not _within(distance, least, most):
                yield breach_in(
                    laid, rule, (before, after),
                    f"{named((after,))} comes {distance} {unit} after {named((before,))}: {limits_text(least, most)} asked",
                    _window_is_past(laid, unit, before, after, least, most),
                )  # fmt: skip


def _in_order(before: LessonFacts, one: Slot, other: Slot) -> bool:
    """Whether a lesson that starts in a slot comes after one that starts in another."""
    return other.number > one.number + before.length - 1


def _windows(follows: Follows) -> Iterator[tuple[str, int | None, int | None]]:
    window = follows.hard_window
    if window is not None:
        yield "days", window.least_days, window.most_days
        yield "periods", window.least_slots, window.most_slots
        yield "school weeks", window.least_weeks, window.most_weeks


def _within(distance: int, least: int | None, most: int | None) -> bool:
    return (least is None or distance >= least) and (most is None or distance <= most)


def _distance(laid: Laid, unit: str, before: LessonFacts, slot: Slot, first: Slot | None = None) -> int | None:
    """How far a slot lies from a lesson, which is where it is placed or in ``first``; None where the rule says nothing.

    Of a lesson taught before the class's first slot only days can be counted.
    """
    if unit == "days":
        return (slot.date - (first.date if first is not None else laid.date(before.index))).days
    if before.earlier:
        return None
    here = first if first is not None else laid.first_slot(before.index)
    if unit == "periods":
        return slot.number - (here.number + before.length - 1)
    return slot.week.number - here.week.number


def _window_is_past(laid: Laid, unit: str, before: LessonFacts, after: LessonFacts, least: int | None, most: int | None) -> bool:
    """Whether no slots that the two lessons can still have lie in the window."""

    def fits(one: Slot | None, other: Slot) -> bool:
        distance = _distance(laid, unit, before, other, one)
        return distance is not None and _within(distance, least, most)

    if before.earlier:
        return none_fits(laid, after, lambda slot: fits(None, slot))
    return none_pairs(laid, before, after, fits)


def retrieval(laid: Laid) -> Iterator[Breach]:
    """Rule 4: every lesson to be retrieved is met again in its window."""
    broken = [outcome for outcome in retrievals(laid) if outcome.state == BROKEN]
    of_each = Counter(outcome.lesson for outcome in broken)
    for outcome in broken:
        lesson = laid.instance.lessons[outcome.lesson]
        least, always = _given_up(laid, lesson)
        numbers = lesson.retrievals[outcome.number - 1]
        since = "after it was last met" if numbers.chained else "later"
        yield breach_in(
            laid, 4, (lesson,),
            f"{named((lesson,))} of {day_text(laid.date(lesson.index))} is not met again "
            f"{numbers.least} to {count_text(numbers.most, 'day')} {since}",
            of_each[lesson.index] <= least or outcome.number in always,
        )  # fmt: skip


def _given_up(laid: Laid, lesson: LessonFacts) -> tuple[int, frozenset[int]]:
    """How many retrievals of a lesson cannot take place any more, and which of them in any case."""
    facts = laid.instance.class_of(lesson)
    meeting = [other for index in facts.lessons if _may_meet(lesson, other := laid.instance.lessons[index])]
    left = [day for other in meeting for day in dates_left(laid, other)]
    found = unavoidably_broken(lesson, facts, dates_left(laid, lesson), left)
    if lesson.delivered is not None or not found[0]:
        return found
    days = [slot.date for slot in slots_once(laid, lesson)]
    once = unavoidably_broken(lesson, facts, days, [slot.date for other in meeting for slot in slots_once(laid, other)], True)
    return found if once[0] < found[0] else (0, frozenset())


def _may_meet(lesson: LessonFacts, other: LessonFacts) -> bool:
    return other.index in lesson.revisited_by or bool(lesson.chosen and other.chooses and other.delivered is None)


def live_demands(laid: Laid) -> Iterator[Breach]:
    """Rule 5: a lesson that demands live is not set work, one that refuses it is not live."""
    for lesson in laid.all_placed():
        taught = laid.taught(lesson.index)
        if refuses_to_be(lesson, taught):
            yield breach_in(
                laid, 5, (lesson,),
                f"{named((lesson,))} {lesson.live}s live but is {taught} on {when(laid.first_slot(lesson.index))}",
                is_past(laid.instance, lesson, 5, "live"),
            )  # fmt: skip


def feedback(laid: Laid) -> Iterator[Breach]:
    """Rule 6: feedback comes when what it answers is marked, and not too long after."""
    for lesson in laid.all_placed():
        for answered_index in lesson.answers:
            answered = laid.instance.lessons[answered_index]
            if answered.marking is None or answered.marking.wish or not laid.placed(answered_index):
                continue
            least, most = answered.marking.least, answered.marking.most

            def later(day: date, slot: Slot) -> int:
                return laid.instance.school_days_later(day, slot.date)

            school_days = later(laid.date(answered_index), laid.first_slot(lesson.index))
            if not _within(school_days, least, most):
                if answered.earlier:
                    past = none_fits(
                        laid,
                        lesson,
                        lambda slot, x=answered, n=(least, most): _within(later(laid.date(x.index), slot), *n),  # type: ignore[misc]
                    )
                else:
                    past = none_pairs(
                        laid,
                        answered,
                        lesson,
                        lambda one, other, n=(least, most): _within(later(one.date, other), *n),  # type: ignore[misc]
                    )
                yield breach_in(
                    laid, 6, (answered, lesson),
                    f"{named((lesson,))} comes {count_text(school_days, 'school day')} after {named((answered,))}: "
                    f"{limits_text(least, most)} asked",
                    past,
                )  # fmt: skip


def dates(laid: Laid) -> Iterator[Breach]:
    """Rule 7: not before, not after, on, pinned, and in time for reports."""
    for lesson in laid.all_placed():
        slot = laid.first_slot(lesson.index)
        for asked, fits in asked_dates(laid.instance, lesson):
            if not fits(slot):
                message = f"{named((lesson,))} is on {when(slot)}: {asked} asked"
                yield breach_in(laid, 7, (lesson,), message, is_past(laid.instance, lesson, 7, asked))


def place(laid: Laid) -> Iterator[Breach]:
    """Rule 8: periods offer what lessons need, restricted days refuse, shared things have a capacity."""
    instance = laid.instance
    for lesson in laid.all_placed():
        for slot in laid.slots(lesson.index):
            for what, refusal in refusals(instance, lesson, slot):
                yield breach_in(laid, 8, (lesson,), refusal, is_past(instance, lesson, 8, what))
    for thing in instance.shared:
        using: dict[tuple[date, int], list[LessonFacts]] = {}
        for index in thing.users:
            if laid.placed(index) and not instance.lessons[index].earlier:
                for slot in laid.slots(index):
                    using.setdefault((slot.date, slot.period), []).append(instance.lessons[index])
        for (day, period), lessons in using.items():
            if len(lessons) > thing.capacity:
                owners = tuple(dict.fromkeys(instance.class_of(lesson).id for lesson in lessons))
                slots = tuple(
                    slot for lesson in lessons for slot in laid.slots(lesson.index) if (slot.date, slot.period) == (day, period)
                )
                yield Breach(
                    8, owners, tuple(lesson.index for lesson in lessons), slots,
                    f"{', '.join(owners)}: {thing.name} serves {thing.capacity} a period, but on {day_text(day)}, "
                    f"period {period} {named(lessons)} use it",
                    sum(lesson.delivered is not None for lesson in lessons) > thing.capacity,
                )  # fmt: skip
