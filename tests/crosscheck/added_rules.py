"""Rules that are learnt in one file each: judged, weighed where they are a wish, as rows, and drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from random import Random
from typing import Any

from tests.crosscheck.added import MODULES
from tests.crosscheck.facts import ClassFacts, Facts, Lesson
from tests.crosscheck.placing import Assignment, placed_lessons, pos
from tests.crosscheck.rows import Expression
from tests.crosscheck.slots import Raw
from tests.crosscheck.writing import rules_somewhere

Window = tuple[set[int], Callable[[Lesson], int], int | None, int | None]
"""Slots, what a lesson counts that starts in one of them, least, most."""


def _stated(group: ClassFacts) -> Iterator[tuple[Raw, Window]]:
    for module in MODULES:
        for numbers in group.added[module.KEY]:
            yield from ((numbers, window) for window in module.windows(numbers, group))


def added(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Whether what is hard is kept; what was delivered already asks for nothing more."""
    for numbers, (slots, counts, least, most) in _stated(group):
        here = [y for y in placed_lessons(group, placed) if pos(y, placed) in slots]
        value, done = sum(map(counts, here)), sum(counts(y) for y in here if y.done is not None)
        left = sum(group.slots[number].usable for number in slots)
        waiting = sorted((counts(y) for y in group.lessons if y.done is None), reverse=True)[:left]
        few = least is not None and value < least and (left == len(slots) or done + sum(waiting) >= least)
        if not numbers.get("wish") and (few or (most is not None and value > most >= done)):
            return False
    return True


def added_wishes(facts: Facts, group: ClassFacts, placed: Assignment) -> Iterator[int]:
    """What is wished, weighed by how far it is missed."""
    for numbers, (slots, counts, least, most) in _stated(group):
        value = sum(counts(y) for y in placed_lessons(group, placed) if pos(y, placed) in slots)
        short, over = (least or 0) - value, 0 if most is None else value - most
        yield numbers.get("wish", 0) * max(short, over, 0)


def added_rows(rows: Any) -> Expression:
    """Each window as a row; what wishes cost."""
    wished: Expression = {}
    for numbers, (slots, counts, least, most) in _stated(rows.group):
        summed: Expression = {}
        for lesson in rows.group.lessons:
            for variable in rows.placed(lesson, lambda at, slots=slots: at in slots):
                summed[variable] = counts(lesson)
        wished |= rows.rows.keep(summed, least, most, numbers.get("wish", 0))
    return wished


def proposals() -> list[Callable[[Random, Raw, Facts, Assignment], bool | None]]:
    """One random addition for each rule, for the scenario or a class, now and then as a wish."""
    return [_proposal(module) for module in MODULES]


def _proposal(module: Any) -> Callable[[Random, Raw, Facts, Assignment], bool | None]:
    def proposal(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
        where = rules_somewhere(rng, data, facts, ("scenario", "class"), [])
        if where is None:
            return False
        stated = module.drawn(rng) | ({"wish": rng.choice([1, 1, 2])} if rng.random() < 0.3 else {})
        where[module.KEY] = [stated] if getattr(module, "LISTED", False) else stated
        return None

    proposal.__name__ = module.KEY
    return proposal
