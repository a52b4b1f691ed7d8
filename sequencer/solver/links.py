"""Links: for each slot of one lesson, the slots that another lesson of its class may then start in.

Every distance rule of the design (in slots, days, school weeks, school days) is monotone: the later the one lesson, the later
the window of the other. So a window is two lists over the class's slots, least and greatest start, and one function in
``rules`` posts them all.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial

from sequencer.instance.facts import Follows, Instance, LessonFacts
from sequencer.rules.distances import DAY, RULE_OF, SCHOOL_DAY, distances
from sequencer.rules.in_step import InStepRule
from sequencer.solver.day_numbers import ClassDays
from sequencer.solver.posting import PostedStatement
from sequencer.solver.starts import StartsAlone


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
    statement: PostedStatement
    binds: bool = False
    plain: bool = False
    orders: bool = True


def order_links(instance: Instance, days: tuple[ClassDays, ...], alone: StartsAlone) -> tuple[Link, ...]:
    """Links of rules 1 and 6, and of the order in which lessons follow what they practise or revisit."""
    known: dict[object, Ranges] = {}
    links = (_order_link(instance, days, alone, follows, known) for follows in instance.follows)
    return tuple(link for link in links if link is not None)


Window = Callable[[int], tuple[int, int]]
"""First and last slot that a rule leaves for a lesson, given the other's start."""


Ranges = tuple[tuple[int, ...], tuple[int, ...]]
"""Least and greatest start by the other's start."""


def _order_link(
    instance: Instance, days: tuple[ClassDays, ...], alone: StartsAlone, follows: Follows, known: dict[object, Ranges]
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
    rule = RULE_OF.get(follows.because, 1)
    plain = ordered in kept and len(windows) == 1 and (follows.because != "requires" or before.certain)
    return Link(
        before.index, after.index, low, high,
        PostedStatement(rule, f"{instance.class_of(before).id}: {after.ref} {follows.because} {before.ref}"),
        binds=binds, plain=plain, orders=ordered in kept,
    )  # fmt: skip


def _ranges(windows: list[Window], count: int, earlier: bool) -> Ranges:
    ranges = [[window(start) for window in windows] for start in range(count)]
    ranges.append([window(-1) for window in windows] if earlier else [(0, count - 1)])
    return tuple(max(first for first, _ in each) for each in ranges), tuple(min(final for _, final in each) for each in ranges)


@cache
def in_order(count: int, length: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The windows of a link that only orders two lessons, in a class of so many slots: shared, for there are many of them."""
    return (*range(length, count + length), 0), (count - 1,) * (count + 1)


def _windows(instance: Instance, here: ClassDays, before: LessonFacts, follows: Follows) -> list[Window]:
    """What is put on top of the order, one window for each unit in which it counts."""
    asked = [each for each in distances(instance, follows) if not each.wish]
    return [
        partial(here.window, each.unit, before, least=each.least, most=each.most)
        for each in asked
        if each.unit in (DAY, SCHOOL_DAY) or not before.earlier
    ]


def _can_hold(alone: StartsAlone, before: LessonFacts, after: LessonFacts, window: Window) -> bool:
    """Whether the window binds: some slots that the two can still have fit, or none ever did."""

    def fits(starts: StartsAlone.Of) -> bool:
        later = starts(after.index)
        return any(_any_of(later, *window(start)) for start in starts(before.index))

    if before.delivered is None and after.delivered is None and not alone.gone(before.index):
        return True
    return alone.can_hold(before.index, after.index, fits)


def _any_of(starts: tuple[int, ...], first: int, final: int) -> bool:
    place = bisect_left(starts, first)
    return place < len(starts) and starts[place] <= final


def step_links(instance: Instance, days: tuple[ClassDays, ...], alone: StartsAlone) -> tuple[Link, ...]:
    """Rule 11 between every two parallel lessons, both ways: each is taught at most so many days after the other."""
    found = []
    for group in instance.parallels:
        bound = [lesson for index in group if (lesson := instance.lessons[index]).in_step is not None]
        for one in bound:
            for other in bound:
                if one.index == other.index or other.earlier:
                    continue
                most = InStepRule().most_apart(one, other)
                if most is None or not _can_keep_in_step(days, alone, one, other, most):
                    continue
                there = days[other.class_index]
                before = there.last_by(days[one.class_index].day_of(one, -1) + most) if one.earlier else there.count - 1
                high = (*(there.last_by(day + most) for day in days[one.class_index].day), before)
                label = f"{one.ref}: {instance.class_of(one).id} and {instance.class_of(other).id} in step"
                found.append(Link(one.index, other.index, (0,) * len(high), high, PostedStatement(11, label)))
    return tuple(found)


def _can_keep_in_step(days: tuple[ClassDays, ...], alone: StartsAlone, one: LessonFacts, other: LessonFacts, most: int) -> bool:
    here, there = days[one.class_index], days[other.class_index]

    def fits(starts: StartsAlone.Of) -> bool:
        return any(
            abs(here.day_of(one, start) - there.day_of(other, slot)) <= most
            for start in starts(one.index)
            for slot in starts(other.index)
        )

    return alone.can_hold(one.index, other.index, fits)
