"""The referee on rules about lessons: shape, prerequisites, practice, retrieval, live wishes, feedback, dates, place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from sequencer.calendar import taught_together
from sequencer.check.verdict import Breach, day_text, named, when
from sequencer.facts import Follows, LessonFacts
from sequencer.sequence import Laid, Outcome, practices, retrievals
from sequencer.words import IN_CLASS, LIVE, OPEN, SET_WORK


def _breach(laid: Laid, rule: int, lessons: tuple[LessonFacts, ...], message: str) -> Breach:
    owner = laid.instance.class_of(lessons[0])
    slots = tuple(slot for lesson in lessons if laid.placed(lesson.index) for slot in laid.slots(lesson.index))
    return Breach(rule, (owner.id,), tuple(lesson.index for lesson in lessons), slots, f"{owner.id}: {message}")


def _asked(least: int | None, most: int | None) -> str:
    limits = (("at least", least), ("at most", most))
    return " and ".join(f"{words} {number}" for words, number in limits if number is not None)


def shape(laid: Laid) -> Iterator[Breach]:
    """Rule 0: each lesson once, in slots that exist, in the shape of its length; a slot holds at most one lesson."""
    instance = laid.instance
    for stray in laid.sequence.strays:
        lesson = instance.lessons[stray.lesson]
        yield _breach(
            laid, 0, (lesson,), f"does not meet on {day_text(stray.date)}, period {stray.period}, given for {named((lesson,))}"
        )
    times = Counter(placement.lesson for placement in laid.sequence.placements)
    strays = {stray.lesson for stray in laid.sequence.strays}
    for lesson in instance.lessons:
        if times[lesson.index] > 1:
            yield _breach(laid, 0, (lesson,), f"{named((lesson,))} is placed {times[lesson.index]} times")
        if times[lesson.index] == 0 and not lesson.optional and lesson.index not in strays:
            yield _breach(laid, 0, (lesson,), f"{named((lesson,))} is not placed")
    held: dict[tuple[int, int], LessonFacts] = {}
    for placement in laid.sequence.placements:
        lesson = instance.lessons[placement.lesson]
        slots = instance.slots_for(lesson)[placement.slot : placement.slot + lesson.length]
        if len(slots) < lesson.length or not _follow_on(laid, lesson, placement.slot):
            yield _breach(
                laid, 0, (lesson,), f"{named((lesson,))} needs {lesson.length} adjacent periods of one date from {when(slots[0])}"
            )
        together = taught_together(slots)
        allowed = {IN_CLASS: (IN_CLASS,), LIVE: (LIVE,), SET_WORK: (SET_WORK,), OPEN: (LIVE, SET_WORK), None: ()}[together]
        if placement.taught not in allowed:
            yield _breach(
                laid, 0, (lesson,), f"{named((lesson,))} on {when(slots[0])} cannot be taught as stated: {placement.taught}"
            )
        for slot in slots:
            other = held.setdefault((lesson.class_index, slot.number), lesson)
            if other.index != lesson.index:
                yield _breach(laid, 0, (other, lesson), f"{named((other, lesson))} are both on {when(slot)}")


def _follow_on(laid: Laid, lesson: LessonFacts, start: int) -> bool:
    slots = laid.instance.slots_for(lesson)[start : start + lesson.length]
    return all(
        first.date == second.date and laid.instance.adjacent(first.period, second.period) for first, second in pairwise(slots)
    )


def prerequisites(laid: Laid) -> Iterator[Breach]:
    """Rule 1, and the order in which lessons follow what they practise, revisit or answer."""
    rule_of = {"practises": 3, "revisits": 4, "answers": 6}
    for follows in laid.instance.follows:
        before, after = laid.instance.lessons[follows.before], laid.instance.lessons[follows.after]
        if not laid.placed(after.index):
            continue
        if not laid.placed(before.index):
            if follows.demands_placement:
                yield _breach(laid, 1, (before, after), f"{named((after,))} requires {named((before,))}, which is left out")
            continue
        rule = rule_of.get(follows.because, 1)
        if laid.pos(after.index) <= laid.end(before.index):
            yield _breach(
                laid, rule, (before, after),
                f"{named((after,))} on {when(laid.first_slot(after.index))} does not come after {named((before,))} "
                f"on {when(laid.first_slot(before.index))} ({follows.because})",
            )  # fmt: skip
        for distance, unit, least, most in _windows(laid, follows):
            if (least is not None and distance < least) or (most is not None and distance > most):
                asked = _asked(least, most)
                yield _breach(
                    laid, rule, (before, after),
                    f"{named((after,))} comes {distance} {unit} after {named((before,))}: {asked} asked",
                )  # fmt: skip


def _windows(laid: Laid, follows: Follows) -> Iterator[tuple[int, str, int | None, int | None]]:
    window = follows.hard_window
    if window is None:
        return
    before, after = follows.before, follows.after
    weeks = laid.first_slot(after).week.number - laid.first_slot(before).week.number
    yield laid.days(before, after), "days", window.least_days, window.most_days
    yield laid.pos(after) - laid.end(before), "periods", window.least_slots, window.most_slots
    yield weeks, "school weeks", window.least_weeks, window.most_weeks


def practice(laid: Laid) -> Iterator[Breach]:
    """Rule 3: every dense lesson is practised in its window."""
    for outcome in _broken(practices(laid)):
        lesson = laid.instance.lessons[outcome.lesson]
        assert lesson.practice is not None
        window = f"within {lesson.practice.within} {'period' if lesson.practice.within == 1 else 'periods'}"
        yield _breach(
            laid, 3, (lesson,),
            f"{named((lesson,))} on {when(laid.first_slot(lesson.index))} has no practice lesson {window}",
        )  # fmt: skip


def retrieval(laid: Laid) -> Iterator[Breach]:
    """Rule 4: every lesson to be retrieved is met again in its window."""
    for outcome in _broken(retrievals(laid)):
        lesson = laid.instance.lessons[outcome.lesson]
        numbers = lesson.retrieval
        assert numbers is not None
        yield _breach(
            laid, 4, (lesson,),
            f"{named((lesson,))} of {day_text(laid.date(lesson.index))} is not met again "
            f"{numbers.least} to {numbers.most} days later",
        )  # fmt: skip


def _broken(outcomes: tuple[Outcome, ...]) -> Iterator[Outcome]:
    return (outcome for outcome in outcomes if outcome.state == "broken")


def live_demands(laid: Laid) -> Iterator[Breach]:
    """Rule 5: a lesson that demands live is not set work, one that refuses it is not live."""
    for lesson in laid.all_placed():
        taught = laid.taught(lesson.index)
        if (lesson.live == "demand" and taught == SET_WORK) or (lesson.live == "refuse" and taught == LIVE):
            yield _breach(
                laid, 5, (lesson,),
                f"{named((lesson,))} {lesson.live}s live but is {taught} on {when(laid.first_slot(lesson.index))}",
            )  # fmt: skip


def feedback(laid: Laid) -> Iterator[Breach]:
    """Rule 6: feedback comes when what it answers is marked, and not too long after."""
    for lesson in laid.all_placed():
        for answered_index in lesson.answers:
            answered = laid.instance.lessons[answered_index]
            if answered.marking is None or answered.marking.wish or not laid.placed(answered_index):
                continue
            later = laid.instance.school_days_later(laid.date(answered_index), laid.date(lesson.index))
            least, most = answered.marking.least, answered.marking.most
            if later < least or (most is not None and later > most):
                asked = _asked(least, most)
                yield _breach(
                    laid, 6, (answered, lesson),
                    f"{named((lesson,))} comes {later} school days after {named((answered,))}: {asked} asked",
                )  # fmt: skip


def dates(laid: Laid) -> Iterator[Breach]:
    """Rule 7: not before, not after, on, pinned, and in time for reports."""
    for lesson in laid.all_placed():
        slot = laid.first_slot(lesson.index)
        wrong = []
        if lesson.not_before is not None and slot.date < lesson.not_before:
            wrong.append(f"not before {day_text(lesson.not_before)}")
        if lesson.not_after is not None and slot.date > lesson.not_after:
            wrong.append(f"not after {day_text(lesson.not_after)}")
        if lesson.on is not None and slot.date != lesson.on:
            wrong.append(f"on {day_text(lesson.on)}")
        if lesson.period is not None and slot.period != lesson.period:
            wrong.append(f"in period {lesson.period}")
        if lesson.report_deadline is not None:
            marking = lesson.marking.least if lesson.marking is not None else 0
            # A lesson after the deadline has no school days before it, whatever its marking time.
            late = slot.date > lesson.report_deadline
            if late or laid.instance.school_days_later(slot.date, lesson.report_deadline) < marking:
                wrong.append(f"at least {marking} school days before reports are due on {day_text(lesson.report_deadline)}")
        for asked in wrong:
            yield _breach(laid, 7, (lesson,), f"{named((lesson,))} is on {when(slot)}: {asked} asked")


def place(laid: Laid) -> Iterator[Breach]:
    """Rule 8: periods offer what lessons need, restricted days refuse, shared things have a capacity."""
    instance = laid.instance
    for lesson in laid.all_placed():
        for slot in laid.slots(lesson.index):
            for need in lesson.needs:
                anywhere = need in instance.portable and not slot.remote
                if need not in slot.offers and not anywhere:
                    yield _breach(laid, 8, (lesson,), f"{named((lesson,))} needs {need}, which {when(slot)} does not offer")
            for number in slot.restrictions if lesson.restricted else ():
                entry = instance.restricted_days[number]
                refuses = entry.refuses
                tagged = any(tag in refuses.tags for tag in lesson.tags)
                if lesson.kind in refuses.kinds or tagged or (refuses.high_load and lesson.high_load):
                    yield _breach(laid, 8, (lesson,), f"{entry.name} on {when(slot)} does not take {named((lesson,))}")
    for thing in instance.shared:
        using: dict[tuple[date, int], list[LessonFacts]] = {}
        for index in thing.users:
            if laid.placed(index):
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
                )  # fmt: skip
