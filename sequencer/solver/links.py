"""Links: for each slot of one lesson, the slots that another lesson of its class may then start in.

Every distance rule of the design (in slots, days, school weeks, school days) is monotone: the later the one lesson, the later
the window of the other. So a window is two lists over the class's slots, least and greatest start, and one function in
``rules`` posts them all.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache

from sequencer.instance.facts import Follows, Instance, LessonFacts, RetrievalNumbers
from sequencer.instance.wished import most_apart
from sequencer.solver.day_numbers import ClassDays
from sequencer.solver.posting import Statement
from sequencer.solver.starts import Starts


@dataclass(frozen=True)
class Link:
    """When both are placed, ``after`` starts between ``low[pos(before)]`` and ``high[pos(before)]``.

    Parameters
    ----------
    before, after
        Positions in ``Instance.lessons``.
    low, high
        Indexed by the slot number of ``before``; both never fall. A window that starts beyond the last slot, or ends before it
        starts, is empty. The last entry, with index -1, is that of a lesson taught before the class's first slot.
    binds
        Whether ``after`` may be placed only if ``before`` is.
    plain
        Whether it only orders the two, so that a chain of others can stand for it.
    orders
        Whether ``after`` comes after ``before``: not where that can no longer be kept, and only a window round it can.
    """

    before: int
    after: int
    low: tuple[int, ...]
    high: tuple[int, ...]
    statement: Statement
    binds: bool = False
    plain: bool = False
    orders: bool = True


def order_links(instance: Instance, days: tuple[ClassDays, ...], alone: Starts) -> tuple[Link, ...]:
    """Links of rules 1 and 6, and of the order in which lessons follow what they practise or revisit."""
    known: dict[object, _Ranges] = {}
    links = (_order_link(instance, days, alone, follows, known) for follows in instance.follows)
    return tuple(link for link in links if link is not None)


Window = Callable[[int], tuple[int, int]]
"""First and last slot that a rule leaves for a lesson, given the other's start."""


_Ranges = tuple[tuple[int, ...], tuple[int, ...]]
"""Least and greatest start by the other's start."""


def _order_link(
    instance: Instance, days: tuple[ClassDays, ...], alone: Starts, follows: Follows, known: dict[object, _Ranges]
) -> Link | None:
    """The instances of rules between two lessons as one link; without those that what was delivered breaks already."""
    before, after = instance.lessons[follows.before], instance.lessons[follows.after]
    here = days[before.class_index]
    last = here.count - 1
    if after.earlier or (before.delivered is not None and after.delivered is not None):
        return None
    ordered: Window = lambda start: (start + before.length if start >= 0 else 0, last)  # noqa: E731
    windows = [ordered, *_windows(instance, here, before, follows)]
    kept = [window for window in windows if _can_hold(alone, before, after, window)]
    binds = follows.demands_placement and ordered in kept
    if not kept:
        return None
    if kept == [ordered]:
        low, high = in_order(here.count, before.length)
    elif len(kept) < len(windows) or before.earlier:
        low, high = _ranges(kept, here.count, before.earlier)
    else:
        stated = tuple(follows.hard_window.model_dump(exclude={"lesson"}).values()) if follows.hard_window is not None else None
        key = before.class_index, before.length, stated, before.marking if follows.because == "answers" else None
        if key not in known:
            known[key] = _ranges(kept, here.count, before.earlier)
        low, high = known[key]
    rule = {"practises": 3, "revisits": 4, "answers": 6}.get(follows.because, 1)
    plain = ordered in kept and len(windows) == 1 and (follows.because != "requires" or before.certain)
    return Link(
        before.index, after.index, low, high,
        Statement(rule, f"{instance.class_of(before).id}: {after.ref} {follows.because} {before.ref}"),
        binds=binds, plain=plain, orders=ordered in kept,
    )  # fmt: skip


def _ranges(windows: list[Window], count: int, earlier: bool) -> _Ranges:
    ranges = [[window(start) for window in windows] for start in range(count)]
    ranges.append([window(-1) for window in windows] if earlier else [(0, count - 1)])
    return tuple(max(first for first, _ in each) for each in ranges), tuple(min(final for _, final in each) for each in ranges)


@cache
def in_order(count: int, length: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The windows of a link that only orders two lessons, in a class of so many slots: shared, for there are many of them."""
    return (*range(length, count + length), 0), (count - 1,) * (count + 1)


def _windows(instance: Instance, here: ClassDays, before: LessonFacts, follows: Follows) -> list[Window]:
    """What is put on top of the order, one window for each unit in which it counts."""
    last = here.count - 1
    found: list[Window] = []
    stated = follows.hard_window
    if stated is not None and (stated.least_days, stated.most_days) != (None, None):
        least, most = stated.least_days, stated.most_days
        found.append(lambda start, least=least, most=most: here.in_days(here.day_of(before, start), least, most))  # type: ignore[misc]
    if stated is not None and not before.earlier and (stated.least_slots, stated.most_slots) != (None, None):
        least, most = stated.least_slots, stated.most_slots
        end = before.length - 1
        found.append(
            lambda start, least=least, most=most: (  # type: ignore[misc]
                start + end + least if least is not None else 0,
                min(last, start + end + most) if most is not None else last,
            )
        )
    if stated is not None and not before.earlier and (stated.least_weeks, stated.most_weeks) != (None, None):
        least, most = stated.least_weeks, stated.most_weeks
        found.append(
            lambda start, least=least, most=most: (  # type: ignore[misc]
                bisect_left(here.week, here.week[start] + least) if least is not None else 0,
                bisect_right(here.week, here.week[start] + most) - 1 if most is not None else last,
            )
        )
    if follows.because == "answers" and before.marking is not None and not before.marking.wish:
        marking = before.marking
        found.append(lambda start: here.in_school_days(here.day_of(before, start), marking.least, marking.most))
    return found


def _can_hold(alone: Starts, before: LessonFacts, after: LessonFacts, window: Window) -> bool:
    """Whether the window binds: some slots that the two can still have fit, or none ever did."""

    def fits(starts: Starts.Of) -> bool:
        later = starts(after.index)
        return any(_any_of(later, *window(start)) for start in starts(before.index))

    if before.delivered is None and after.delivered is None and not alone.gone(before.index):
        return True
    return alone.can_hold(before.index, after.index, fits)


def _any_of(starts: tuple[int, ...], first: int, final: int) -> bool:
    place = bisect_left(starts, first)
    return place < len(starts) and starts[place] <= final


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
    assessed_by
        Assessments that come after what practises x.
    """

    lesson: int
    rule: int
    links: tuple[Link, ...]
    carry_from: int
    late: tuple[int, ...]
    assessed_by: tuple[int, ...] = ()

    @property
    def ranges(self) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
        """Least and greatest start of what serves, by the start of x: the same for all links; None where there is none."""
        return (self.links[0].low, self.links[0].high) if self.links else None

    @property
    def what(self) -> str:
        """``practised`` or ``retrieved``."""
        return "practised" if self.rule == 3 else "retrieved"


def practice_servings(instance: Instance, days: tuple[ClassDays, ...], alone: Starts) -> tuple[Serving, ...]:
    """Rule 3 for every dense lesson, but for those whose practice can no longer be placed."""
    known: dict[object, _Ranges] = {}
    assessed: dict[int, list[int]] = {}
    for assessment, dense in instance.assessed:
        assessed.setdefault(dense, []).append(assessment)
    servings = (_practice(instance, days, lesson, known) for lesson in instance.lessons if lesson.practice is not None)
    return tuple(
        replace(serving, assessed_by=tuple(_still_after(instance, alone, serving, assessed.get(serving.lesson, ()))))
        for serving in servings
        if not _gone_by(instance, alone, serving)
    )


def _gone_by(instance: Instance, alone: Starts, serving: Serving) -> bool:
    """Whether no start that is left can be served or left to the next plan, though it was delivered or one once could."""
    lesson = instance.lessons[serving.lesson]
    if lesson.earlier or not alone.gone(lesson.index) or _can_be_served(instance, serving, alone.__getitem__):
        return False
    return lesson.delivered is not None or _can_be_served(instance, serving, alone.once)


def _can_be_served(instance: Instance, serving: Serving, starts: Starts.Of, before: int | None = None) -> bool:
    """Whether a practice that ends before a slot, where one is given, can serve, or the lesson be left to the next plan."""
    lesson = instance.lessons[serving.lesson]
    only_old = lesson.practice is not None and lesson.practice.no_new_content
    return any(
        start >= serving.carry_from
        or any(
            link.low[start] <= other <= link.high[start]
            and (before is None or other + instance.lessons[link.after].length <= before)
            and not (only_old and instance.new_content_between(start + lesson.length, other, lesson.class_index))
            for link in serving.links
            for other in starts(link.after)
        )
        for start in starts(lesson.index)
    )


def _still_after(instance: Instance, alone: Starts, serving: Serving, assessed_by: Iterable[int]) -> Iterator[int]:
    """The assessments that can still come after what practises the lesson, or never could."""
    lesson = instance.lessons[serving.lesson]
    for index in assessed_by:
        assessment = instance.lessons[index]
        untouched = not alone.gone(index)
        # While nothing has gone by a practice straight after the lesson comes before whatever the lesson comes before.
        if assessment.earlier or (untouched and lesson.practice is not None and lesson.practice.within == 1):
            continue

        def can(starts: Starts.Of, index: int = index) -> bool:
            return bool(starts(index)) and _can_be_served(instance, serving, starts, before=starts(index)[-1])

        told = assessment.delivered is not None or lesson.delivered is not None
        if untouched or can(alone.__getitem__) or not (told or can(alone.once)):
            yield index


def _practice(instance: Instance, days: tuple[ClassDays, ...], lesson: LessonFacts, known: dict[object, _Ranges]) -> Serving:
    numbers = lesson.practice
    assert numbers is not None
    here = days[lesson.class_index]
    key = lesson.class_index, lesson.length, numbers.within, numbers.days
    if key not in known:
        high = [min(slot + lesson.length - 1 + numbers.within, here.count - 1) for slot in range(here.count)]
        if numbers.days is not None:
            high = [min(slot, here.last_by(here.day[at] + numbers.days)) for at, slot in enumerate(high)]
        known[key] = tuple(slot + lesson.length for slot in range(here.count)), tuple(high)
    # Fewer than `within` slots follow x when its last slot's number is greater than count - 1 - within.
    carry_from = max(0, here.count - numbers.within - lesson.length + 1)
    serving = [other for other in lesson.practised_by if _may_serve(instance, lesson, instance.lessons[other])]
    return _serving(instance, lesson, tuple(serving), known[key], 3, carry_from, ())


def _may_serve(instance: Instance, lesson: LessonFacts, other: LessonFacts) -> bool:
    """A practice lesson made for another lesson comes straight after that one where both windows are one slot."""
    if other.made is None or lesson.index in other.made_for or lesson.practice is None:
        return True
    windows = [lesson.practice.within]
    windows += [facts.practice.within for index in other.made_for if (facts := instance.lessons[index]).practice is not None]
    return max(windows) > 1


def retrieval_servings(instance: Instance, days: tuple[ClassDays, ...]) -> tuple[Serving, ...]:
    """Rule 4 for lessons to be retrieved once, in lessons that list them, while all slots can be used.

    The others are served by meetings, whose dates are decided apart from any lesson (``meetings.py``).
    """
    known: dict[object, tuple[_Ranges, tuple[int, ...]]] = {}
    listed = (lesson for lesson in instance.lessons if listed_once(instance, lesson))
    return tuple(_retrieval(instance, days, lesson, known) for lesson in listed)


def listed_once(instance: Instance, lesson: LessonFacts) -> bool:
    """Whether a lesson is met again once, only where it is listed, and nothing was delivered yet in its class."""
    return len(lesson.retrievals) == 1 and not lesson.chosen and not lesson.earlier and all(instance.class_of(lesson).usable)


def _retrieval(
    instance: Instance,
    days: tuple[ClassDays, ...],
    lesson: LessonFacts,
    known: dict[object, tuple[_Ranges, tuple[int, ...]]],
) -> Serving:
    (numbers,) = lesson.retrievals
    here = days[lesson.class_index]
    key = lesson.class_index, lesson.length, numbers.least, numbers.most
    if key not in known:
        known[key] = _retrieval_ranges(here, lesson.length, numbers)
    ranges, late = known[key]
    carry_from = here.first_from(here.last_day - numbers.most + 1)
    return _serving(instance, lesson, lesson.revisited_by, ranges, 4, carry_from, late)


def _retrieval_ranges(here: ClassDays, length: int, numbers: RetrievalNumbers) -> tuple[_Ranges, tuple[int, ...]]:
    """The windows from each slot, and the slots from which the retrieval would be late."""
    low, high, late = [], [], []
    for slot, day in enumerate(here.day):
        first = here.first_from(day + numbers.least)
        low.append(max(first, slot + length))
        if first < here.count and here.day[first] > day + numbers.most:
            late.append(slot)  # no slot in the window: the date of the first later one is the window
            high.append(here.last_by(here.day[first]))
        else:
            high.append(here.last_by(day + numbers.most))
    return (tuple(low), tuple(high)), tuple(late)


def _serving(
    instance: Instance,
    lesson: LessonFacts,
    listed_by: tuple[int, ...],
    ranges: _Ranges,
    rule: int,
    carry_from: int,
    late: tuple[int, ...],
) -> Serving:
    owner = instance.class_of(lesson).id
    word = "practised" if rule == 3 else "retrieved"
    links = tuple(
        Link(lesson.index, other, *ranges, Statement(rule, f"{owner}: {lesson.ref} {word} in {instance.lessons[other].ref}"))
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
        following = [link for link in links if link.orders and link.before == dense.index and link.after != practice.index]
        if dense.index not in sure or not any(link.after in sure for link in following):
            continue
        last = days[dense.class_index].count - 1
        for link in following:
            found.append(_plain(instance, practice, instance.lessons[link.after], last))
        for link in links:
            if link.orders and link.after == practice.index and link.before != dense.index:
                found.append(_plain(instance, instance.lessons[link.before], dense, last))
    return tuple(found)


def _plain(instance: Instance, before: LessonFacts, after: LessonFacts, last: int) -> Link:
    low, high = in_order(last + 1, before.length)
    statement = Statement(
        3, f"{instance.class_of(before).id}: {after.ref} after {before.ref}, side by side with its dense lesson"
    )
    return Link(before.index, after.index, low, high, statement, plain=True)


def step_links(instance: Instance, days: tuple[ClassDays, ...], alone: Starts) -> tuple[Link, ...]:
    """Rule 11 between every two parallel lessons, both ways: each is taught at most so many days after the other."""
    found = []
    for group in instance.parallels:
        bound = [lesson for index in group if (lesson := instance.lessons[index]).in_step is not None]
        for one in bound:
            for other in bound:
                if one.index == other.index or other.earlier:
                    continue
                most = most_apart(one, other)
                if most is None or not _can_keep_in_step(days, alone, one, other, most):
                    continue
                there = days[other.class_index]
                before = there.last_by(days[one.class_index].day_of(one, -1) + most) if one.earlier else there.count - 1
                high = (*(there.last_by(day + most) for day in days[one.class_index].day), before)
                label = f"{one.ref}: {instance.class_of(one).id} and {instance.class_of(other).id} in step"
                found.append(Link(one.index, other.index, (0,) * len(high), high, Statement(11, label)))
    return tuple(found)


def _can_keep_in_step(days: tuple[ClassDays, ...], alone: Starts, one: LessonFacts, other: LessonFacts, most: int) -> bool:
    here, there = days[one.class_index], days[other.class_index]

    def fits(starts: Starts.Of) -> bool:
        return any(
            abs(here.day_of(one, start) - there.day_of(other, slot)) <= most
            for start in starts(one.index)
            for slot in starts(other.index)
        )

    return alone.can_hold(one.index, other.index, fits)
