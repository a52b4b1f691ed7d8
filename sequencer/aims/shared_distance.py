"""What one retrieval lesson costs at least in distance when it revisits several lessons, which cannot share a slot."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import pairwise
from typing import Any

from sequencer.instance.facts import LessonFacts


def shared_distance(model: Any, starts: tuple[int, ...], links: list[Any]) -> dict[int, int | None]:
    """For each start of the retrieval lesson: the least sum of days off, None when not all lessons fit their windows.

    Lessons that are sure to follow one another are placed in that order with room for what is sure to lie between (shortest
    path over the slots); others are only kept from sharing a slot by taking the cheapest slots, each once.
    """
    chain = _as_chain(model, [link.before for link in links])
    by_lesson = {link.before: link for link in links}
    here = model.days[model.instance.lessons[links[0].before].class_index]
    costs = [_Costs(model, by_lesson[lesson]) for lesson in chain or by_lesson]
    apart = [_apart(model, one, other) for one, other in pairwise(chain or ())]
    known: dict[object, int | None] = {}
    found = {}
    for start in starts:
        # Starts of one date mostly have the same windows, and then the same costs.
        key = here.day[start], *(each.places(start) for each in costs)
        if key not in known:
            at = [each.at(start) for each in costs]
            known[key] = _along_chain(at, apart) if chain is not None else _cheapest(at)
        found[start] = known[key]
    return found


def _as_chain(model: Any, lessons: list[int]) -> list[int] | None:
    """The lessons in the one order they are sure to have; None when there is no such order."""
    chain = sorted(lessons, key=lambda lesson: sum(model.order.comes_before(other, lesson) for other in lessons))
    for one, other in pairwise(chain):
        if not model.order.comes_before(one, other):
            return None
    return chain


Costs = list[tuple[int, int]]
"""Slots of a lesson, rising, with the days off that each means."""


class _Costs:
    """Days off for the starts of one lesson, by the start of the retrieval."""

    def __init__(self, model: Any, link: Any) -> None:
        variables = model.variables.lessons[link.before]
        (numbers,) = variables.lesson.retrievals
        self._day = model.days[variables.lesson.class_index].day
        self._preferred = numbers.preferred
        self._starts = variables.starts
        self._low = [link.low[start] for start in self._starts]
        self._high = [link.high[start] for start in self._starts]

    def places(self, start: int) -> tuple[int, int]:
        """Among the lesson's starts, the first and the one after the last from which the retrieval lies in its window."""
        return bisect_left(self._high, start), bisect_right(self._low, start)

    def at(self, start: int) -> Costs:
        """What each of these starts costs."""
        first, last = self.places(start)
        due = self._day[start] - self._preferred
        return [(taught, abs(due - self._day[taught])) for taught in self._starts[first:last]]


def _apart(model: Any, one: int, other: int) -> int:
    """How many slots at least lie between the starts of two lessons that are sure to follow one another."""
    lesson: LessonFacts = model.instance.lessons[one]
    between = model.order.between(one, other)
    return lesson.length + sum(each.length for each in _members(model, lesson.class_index, between))


def _along_chain(costs: list[Costs], apart: list[int]) -> int | None:
    reached = costs[0]
    for following, slots in zip(costs[1:], apart, strict=True):
        reached = _after(reached, following, slots)
    return min((cost for _, cost in reached), default=None)


def _after(reached: Costs, costs: Costs, apart: int) -> Costs:
    """Least sums with the next lesson in each slot, at least ``apart`` slots after the one before."""
    found: Costs = []
    place, best = 0, None
    for slot, cost in costs:
        while place < len(reached) and reached[place][0] + apart <= slot:
            best = reached[place][1] if best is None else min(best, reached[place][1])
            place += 1
        if best is not None:
            found.append((slot, best + cost))
    return found


def _members(model: Any, class_index: int, mask: int) -> list[LessonFacts]:
    return [model.instance.lessons[index] for index in model.instance.classes[class_index].lessons if mask >> index & 1]


def _cheapest(costs: list[Costs]) -> int | None:
    """Every slot at its cheapest for any of the lessons, the cheapest slots taken, each once."""
    at: dict[int, int] = {}
    for each in costs:
        if not each:
            return None
        for slot, cost in each:
            at[slot] = min(cost, at.get(slot, cost))
    cheapest = sorted(at.values())[: len(costs)]
    return sum(cheapest) if len(cheapest) == len(costs) else None
