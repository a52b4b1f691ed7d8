"""Links: for each slot of one lesson, the slots that another lesson of its class may then start in.

Every distance rule of the design (in slots, days, school weeks, school days) is monotone: the later the one lesson, the later
the window of the other. So a window is two lists over the class's slots, least and greatest start, and one function in
``rules`` posts them all.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from dataclasses import dataclass

from sequencer.facts import Follows, Instance, LessonFacts
from sequencer.model.posting import Statement
from sequencer.wished import most_apart


@dataclass(frozen=True)
class Link:
    """When both are placed, ``after`` starts between ``low[pos(before)]`` and ``high[pos(before)]``.

    Parameters
    ----------
    before, after
        Positions in ``Instance.lessons``.
    low, high
        Indexed by the slot number of ``before``; both never fall. A window that starts beyond the last slot, or ends before it
        starts, is empty.
    binds
        Whether ``after`` may be placed only if ``before`` is.
    plain
        Whether it only orders the two, so that a chain of others can stand for it.
    """

    before: int
    after: int
    low: tuple[int, ...]
    high: tuple[int, ...]
    statement: Statement
    binds: bool = False
    plain: bool = False


class ClassDays:
    """Dates of a class's slots as day numbers, with look-ups both ways."""

    def __init__(self, instance: Instance, class_index: int) -> None:
        self.slots = instance.classes[class_index].slots
        self.count = len(self.slots)
        self.day = tuple(slot.date.toordinal() for slot in self.slots)
        self.week = tuple(slot.week.number for slot in self.slots)
        self.last_day = self.day[-1] if self.day else 0
        self._school_days = tuple(day.toordinal() for day in instance.calendar.school_days)
        self.school_day = tuple(bisect_right(self._school_days, day) for day in self.day)

    def first_from(self, day: int) -> int:
        """First slot on or after a day; the number of slots when there is none."""
        return bisect_left(self.day, day)

    def last_by(self, day: int) -> int:
        """Last slot on or before a day; -1 when there is none."""
        return bisect_right(self.day, day) - 1

    def first_in_school_days(self, slot: int, later: int) -> int:
        """First slot at least that many school days later than a slot."""
        return bisect_left(self.school_day, self.school_day[slot] + later)

    def last_in_school_days(self, slot: int, later: int) -> int:
        """Last slot at most that many school days later than a slot."""
        return bisect_right(self.school_day, self.school_day[slot] + later) - 1


def class_days(instance: Instance) -> tuple[ClassDays, ...]:
    """One look-up per class."""
    return tuple(ClassDays(instance, facts.index) for facts in instance.classes)


def order_links(instance: Instance, days: tuple[ClassDays, ...]) -> tuple[Link, ...]:
    """Links of rules 1 and 6, and of the order in which lessons follow what they practise or revisit."""
    return tuple(_order_link(instance, days, follows) for follows in instance.follows)


def _order_link(instance: Instance, days: tuple[ClassDays, ...], follows: Follows) -> Link:
    before, after = instance.lessons[follows.before], instance.lessons[follows.after]
    here = days[before.class_index]
    last = here.count - 1
    low = [slot + before.length for slot in range(here.count)]
    high = [last] * here.count

    def narrow(least: Callable[[int], int] | None, most: Callable[[int], int] | None) -> None:
        for slot in range(here.count):
            if least is not None:
                low[slot] = max(low[slot], least(slot))
            if most is not None:
                high[slot] = min(high[slot], most(slot))

    window = follows.hard_window
    if window is not None:
        if (days_ := window.least_days) is not None:
            narrow(lambda slot, n=days_: here.first_from(here.day[slot] + n), None)  # type: ignore[misc]
        if (days_ := window.most_days) is not None:
            narrow(None, lambda slot, n=days_: here.last_by(here.day[slot] + n))  # type: ignore[misc]
        if (slots_ := window.least_slots) is not None:
            narrow(lambda slot, n=slots_: slot + before.length - 1 + n, None)  # type: ignore[misc]
        if (slots_ := window.most_slots) is not None:
            narrow(None, lambda slot, n=slots_: slot + before.length - 1 + n)  # type: ignore[misc]
        if (weeks_ := window.least_weeks) is not None:
            narrow(lambda slot, n=weeks_: bisect_left(here.week, here.week[slot] + n), None)  # type: ignore[misc]
        if (weeks_ := window.most_weeks) is not None:
            narrow(None, lambda slot, n=weeks_: bisect_right(here.week, here.week[slot] + n) - 1)  # type: ignore[misc]
    rule = {"practises": 3, "revisits": 4, "answers": 6}.get(follows.because, 1)
    if follows.because == "answers" and before.marking is not None and not before.marking.wish:
        least, most = before.marking.least, before.marking.most
        narrow(lambda slot: here.first_in_school_days(slot, least), None)
        if most is not None:
            narrow(None, lambda slot: here.last_in_school_days(slot, most))
    plain = follows.because not in ("requires", "answers") or (
        follows.because == "requires" and not _has_window(follows) and not before.optional
    )
    return Link(
        before.index, after.index, tuple(low), tuple(high),
        Statement(rule, f"{instance.class_of(before).id}: {after.ref} {follows.because} {before.ref}"),
        binds=follows.demands_placement, plain=plain,
    )  # fmt: skip


def _has_window(follows: Follows) -> bool:
    window = follows.hard_window
    return window is not None and any(
        number is not None
        for number in (
            window.least_days, window.most_days, window.least_slots, window.most_slots, window.least_weeks, window.most_weeks,
        )
    )  # fmt: skip


@dataclass(frozen=True)
class Serving:
    """How a lesson x may be practised (rule 3) or retrieved (rule 4).

    Parameters
    ----------
    lesson
        The lesson x.
    rule
        3 or 4.
    links
        One per lesson that lists x: the window in which it serves.
    carry_from
        The first slot of x from which it may be carried over to the next plan; the number of slots when never.
    late
        Slots of x whose retrieval would be late.
    """

    lesson: int
    rule: int
    links: tuple[Link, ...]
    carry_from: int
    late: tuple[int, ...]

    @property
    def what(self) -> str:
        """``practised`` or ``retrieved``."""
        return "practised" if self.rule == 3 else "retrieved"


def practice_servings(instance: Instance, days: tuple[ClassDays, ...]) -> tuple[Serving, ...]:
    """Rule 3 for every dense lesson."""
    return tuple(_practice(instance, days, lesson) for lesson in instance.lessons if lesson.practice is not None)


def _practice(instance: Instance, days: tuple[ClassDays, ...], lesson: LessonFacts) -> Serving:
    numbers = lesson.practice
    assert numbers is not None
    here = days[lesson.class_index]
    low = tuple(slot + lesson.length for slot in range(here.count))
    high = [min(slot + lesson.length - 1 + numbers.within, here.count - 1) for slot in range(here.count)]
    if numbers.days is not None:
        high = [min(slot, here.last_by(here.day[at] + numbers.days)) for at, slot in enumerate(high)]
    # Fewer than `within` slots follow x when its last slot's number is greater than count - 1 - within.
    carry_from = max(0, here.count - numbers.within - lesson.length + 1)
    return _serving(instance, lesson, lesson.practised_by, low, tuple(high), 3, carry_from, ())


def retrieval_servings(instance: Instance, days: tuple[ClassDays, ...]) -> tuple[Serving, ...]:
    """Rule 4 for every lesson to be retrieved."""
    return tuple(_retrieval(instance, days, lesson) for lesson in instance.lessons if lesson.retrieval is not None)


def _retrieval(instance: Instance, days: tuple[ClassDays, ...], lesson: LessonFacts) -> Serving:
    numbers = lesson.retrieval
    assert numbers is not None
    here = days[lesson.class_index]
    low, high, late = [], [], []
    for slot, day in enumerate(here.day):
        first = here.first_from(day + numbers.least)
        low.append(max(first, slot + lesson.length))
        if first < here.count and here.day[first] > day + numbers.most:
            late.append(slot)  # no slot in the window: the date of the first later one is the window
            high.append(here.last_by(here.day[first]))
        else:
            high.append(here.last_by(day + numbers.most))
    carry_from = here.first_from(here.last_day - numbers.most + 1)
    return _serving(instance, lesson, lesson.revisited_by, tuple(low), tuple(high), 4, carry_from, tuple(late))


def _serving(
    instance: Instance,
    lesson: LessonFacts,
    listed_by: tuple[int, ...],
    low: tuple[int, ...],
    high: tuple[int, ...],
    rule: int,
    carry_from: int,
    late: tuple[int, ...],
) -> Serving:
    owner = instance.class_of(lesson).id
    word = "practised" if rule == 3 else "retrieved"
    links = tuple(
        Link(lesson.index, other, low, high, Statement(rule, f"{owner}: {lesson.ref} {word} in {instance.lessons[other].ref}"))
        for other in listed_by
    )
    return Serving(lesson.index, rule, links, carry_from, late)


def block_links(
    instance: Instance, days: tuple[ClassDays, ...], links: tuple[Link, ...], servings: tuple[Serving, ...], sure: frozenset[int]
) -> tuple[Link, ...]:
    """Order that follows where a dense lesson and its only practice lesson stand side by side.

    With a window of one slot the two are one block: what comes after the dense lesson comes after the practice, and what
    comes before the practice comes before the dense lesson. Where some other lesson is sure to follow, the dense lesson cannot
    hold the last slot, so the practice is not carried over.
    """
    found = []
    for serving in servings:
        dense = instance.lessons[serving.lesson]
        if serving.rule != 3 or len(serving.links) != 1 or dense.practice is None or dense.practice.within != 1:
            continue
        practice = instance.lessons[serving.links[0].after]
        following = [link for link in links if link.before == dense.index and link.after != practice.index]
        if dense.index not in sure or not any(link.after in sure for link in following):
            continue
        last = days[dense.class_index].count - 1
        for link in following:
            found.append(_plain(instance, practice, instance.lessons[link.after], last))
        for link in links:
            if link.after == practice.index and link.before != dense.index:
                found.append(_plain(instance, instance.lessons[link.before], dense, last))
    return tuple(found)


def _plain(instance: Instance, before: LessonFacts, after: LessonFacts, last: int) -> Link:
    low = tuple(slot + before.length for slot in range(last + 1))
    statement = Statement(
        3, f"{instance.class_of(before).id}: {after.ref} after {before.ref}, side by side with its dense lesson"
    )
    return Link(before.index, after.index, low, (last,) * (last + 1), statement, plain=True)


def step_links(instance: Instance, days: tuple[ClassDays, ...]) -> tuple[Link, ...]:
    """Rule 11 between every two parallel lessons, both ways: each is taught at most so many days after the other."""
    found = []
    for group in instance.parallels:
        bound = [lesson for index in group if (lesson := instance.lessons[index]).in_step is not None]
        for one in bound:
            for other in bound:
                if one.index != other.index and (most := most_apart(one, other)) is not None:
                    there = days[other.class_index]
                    high = tuple(there.last_by(day + most) for day in days[one.class_index].day)
                    label = f"{one.ref}: {instance.class_of(one).id} and {instance.class_of(other).id} in step"
                    found.append(Link(one.index, other.index, (0,) * len(high), high, Statement(11, label)))
    return tuple(found)
