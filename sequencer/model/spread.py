"""What one retrieval lesson costs at least in distance when it revisits several lessons, which cannot share a slot."""

from __future__ import annotations

from itertools import pairwise

from sequencer.facts import LessonFacts
from sequencer.model.links import Link
from sequencer.model.parts import Parts


def shared_distance(parts: Parts, starts: tuple[int, ...], links: list[Link]) -> dict[int, int | None]:
    """For each start of the retrieval lesson: the least sum of days off, None when not all lessons fit their windows.

    Lessons that are sure to follow one another are placed in that order with room for what is sure to lie between (shortest
    path over the slots); others are only kept from sharing a slot by taking the cheapest slots, each once.
    """
    chain = _as_chain(parts, [link.before for link in links])
    by_lesson = {link.before: link for link in links}
    return {
        start: _along_chain(parts, start, [by_lesson[lesson] for lesson in chain])
        if chain is not None
        else _cheapest(parts, start, links)
        for start in starts
    }


def _as_chain(parts: Parts, lessons: list[int]) -> list[int] | None:
    """The lessons in the one order they are sure to have; None when there is no such order."""
    chain = sorted(lessons, key=lambda lesson: sum(parts.order.comes_before(other, lesson) for other in lessons))
    for one, other in pairwise(chain):
        if not parts.order.comes_before(one, other):
            return None
    return chain


def _costs(parts: Parts, start: int, link: Link) -> dict[int, int]:
    """Days off for every start of the lesson from which the retrieval at ``start`` lies in its window."""
    variables = parts.variables.lessons[link.before]
    (numbers,) = variables.lesson.retrievals
    day = parts.days[variables.lesson.class_index].day
    return {
        taught: abs(day[start] - day[taught] - numbers.preferred)
        for taught in variables.starts
        if link.low[taught] <= start <= link.high[taught]
    }


def _along_chain(parts: Parts, start: int, links: list[Link]) -> int | None:
    lessons = parts.instance.lessons
    reached: dict[int, int] = {}
    previous: int | None = None
    for link in links:
        costs = _costs(parts, start, link)
        if previous is not None:
            between = parts.order.between(previous, link.before)
            apart = lessons[previous].length + sum(
                lesson.length for lesson in _members(parts, lessons[previous].class_index, between)
            )
            costs = _after(reached, costs, apart)
        if not costs:
            return None
        reached, previous = costs, link.before
    return min(reached.values())


def _after(reached: dict[int, int], costs: dict[int, int], apart: int) -> dict[int, int]:
    """Least sums with the next lesson in each slot, at least ``apart`` slots after the one before."""
    found: dict[int, int] = {}
    waiting = sorted(reached.items())
    place, best = 0, None
    for slot in sorted(costs):
        while place < len(waiting) and waiting[place][0] + apart <= slot:
            best = waiting[place][1] if best is None else min(best, waiting[place][1])
            place += 1
        if best is not None:
            found[slot] = best + costs[slot]
    return found


def _members(parts: Parts, class_index: int, mask: int) -> list[LessonFacts]:
    return [parts.instance.lessons[index] for index in parts.instance.classes[class_index].lessons if mask >> index & 1]


def _cheapest(parts: Parts, start: int, links: list[Link]) -> int | None:
    """Every slot at its cheapest for any of the lessons, the cheapest slots taken, each once."""
    at: dict[int, int] = {}
    for link in links:
        costs = _costs(parts, start, link)
        if not costs:
            return None
        for slot, cost in costs.items():
            at[slot] = min(cost, at.get(slot, cost))
    cheapest = sorted(at.values())[: len(links)]
    return sum(cheapest) if len(cheapest) == len(links) else None
