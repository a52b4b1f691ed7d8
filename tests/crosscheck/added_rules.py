"""Rules that are learnt in one file each: judged, weighed where wished, as rows, and drawn; of classes and of cohorts."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from random import Random
from typing import Any

from tests.crosscheck.added import MODULES, Window, pupils_week
from tests.crosscheck.facts import ClassFacts, Facts
from tests.crosscheck.placing import Assignment, placed_lessons, pos
from tests.crosscheck.rows import Expression, plus
from tests.crosscheck.slots import Raw, listed
from tests.crosscheck.writing import lesson_of, lessons_of, rules_somewhere

OVER_COHORTS = [module for module in MODULES if hasattr(module, "fixed")]

Seen = Mapping[tuple[str, Any], int]
"""What a class comes to in each window, by its name."""


def _stated(group: ClassFacts) -> Iterator[tuple[Raw, Window]]:
    for module in MODULES:
        for numbers in group.added[module.KEY]:
            yield from ((numbers, window) for window in module.windows(numbers, group))


def _value(group: ClassFacts, window: Window, placed: Assignment) -> int:
    here = [y for y in placed_lessons(group, placed) if pos(y, placed) in window.slots]
    return sum(window.counts(y, pos(y, placed)) for y in here)


def added(facts: Facts, group: ClassFacts, placed: Assignment) -> bool:
    """Whether what is hard is kept; what was delivered already asks for nothing more."""
    for numbers, window in _stated(group):
        value, done = _value(group, window, placed), _value(group, window, group.done)
        usable = [number for number in window.slots if group.slots[number].usable]
        heaviest = (max((window.counts(y, slot) for slot in usable), default=0) for y in group.lessons if y.done is None)
        waiting = sorted(heaviest, reverse=True)[: len(usable)]
        least, most = window.least, window.most
        few = least is not None and value < least and (len(usable) == len(window.slots) or done + sum(waiting) >= least)
        if not numbers.get("wish") and (few or (most is not None and value > most >= done)):
            return False
    return True


def added_wishes(facts: Facts, group: ClassFacts, placed: Assignment) -> Iterator[int]:
    """What is wished, weighed by how far it is missed."""
    for numbers, window in _stated(group):
        value = _value(group, window, placed)
        short, over = (window.least or 0) - value, 0 if window.most is None else value - window.most
        yield numbers.get("wish", 0) * math.ceil(max(short, over, 0) / window.unit)


def added_rows(rows: Any) -> Expression:
    """Each window as a row; what wishes cost."""
    wished: Expression = {}
    for numbers, window in _stated(rows.group):
        summed = _summed(rows, window)
        wished |= rows.rows.keep(summed, window.least, window.most, numbers.get("wish", 0), window.unit)
    return wished


def _summed(rows: Any, window: Window) -> Expression:
    summed: Expression = {}
    for lesson in rows.group.lessons:
        for variable, start, _ in rows.starts[lesson.key]:
            if start in window.slots and window.counts(lesson, start):
                summed[variable] = window.counts(lesson, start)
    return summed


# -- cohorts -----------------------------------------------------------------------------------------------------------


def seen_of_cohorts(facts: Facts, group: ClassFacts, placed: Assignment) -> tuple[tuple[tuple[str, Any], int], ...]:
    """All that cohorts look at of a class."""
    named = (each for each in facts.cohorts if any(group.id in listed(one.get("classes")) for one in each[1]))
    windows = [
        one for cohort in named for module in OVER_COHORTS for one in module.windows(cohort[0].get(module.KEY) or {}, group)
    ]
    return tuple(sorted({one.name: value for one in windows if (value := _value(group, one, placed))}.items(), key=str))


def _of_cohorts(facts: Facts, seen: Sequence[Seen]) -> Iterator[tuple[Raw, Window, int]]:
    """The numbers, what is counted, and what it comes to, for each cohort."""
    of_class = dict(zip((group.id for group in facts.classes), seen, strict=True))
    for module, numbers, subjects, windows in _windows_of_cohorts(facts):
        for window in windows:
            value = module.fixed(subjects, window.name, facts.weeks)
            for subject in subjects:
                classes = [of_class[name] for name in listed(subject.get("classes")) if name in of_class]
                value += max((each.get(window.name, 0) for each in classes), default=0)
            yield numbers, window, value


def _windows_of_cohorts(facts: Facts) -> Iterator[tuple[Any, Raw, list[Raw], list[Window]]]:
    """Where what is fixed is more than asked by itself, that much is asked."""
    for stated, subjects in facts.cohorts:
        for module in OVER_COHORTS:
            numbers = stated.get(module.KEY)
            classes = {name for subject in subjects for name in listed(subject.get("classes"))}
            groups = [group for group in facts.classes if group.id in classes]
            by_name = {one.name: one for group in groups for one in module.windows(numbers or {}, group)}
            raised = [
                one._replace(most=max(one.most, module.fixed(subjects, one.name, facts.weeks)))
                for one in by_name.values()
                if one.most is not None
            ]
            yield module, numbers or {}, subjects, raised


def cohorts_keep(facts: Facts, seen: Sequence[Seen], done: Sequence[Seen]) -> bool:
    """Whether cohorts have no more than is asked, but for what delivered lessons exceed by themselves."""
    both = zip(_of_cohorts(facts, seen), _of_cohorts(facts, done), strict=True)
    return not any(value > (one.most or 0) >= so_far and not numbers.get("wish") for (numbers, one, value), (*_, so_far) in both)


def cohort_wishes(facts: Facts, seen: Sequence[Seen]) -> int:
    """What is wished of cohorts, weighed by how far it is missed."""
    found = _of_cohorts(facts, seen)
    return sum(numbers.get("wish", 0) * math.ceil(max(0, value - (one.most or 0)) / one.unit) for numbers, one, value in found)


def cohort_rows(rows: Any, facts: Facts, classes: Sequence[Any]) -> Expression:
    """A variable for each subject that is at least what each of its classes comes to; what wishes cost."""
    wished: Expression = {}
    of_class = {each.group.id: each for each in classes}
    for module, numbers, subjects, windows in _windows_of_cohorts(facts):
        for window in windows:
            summed: Expression = defaultdict(float)
            summed[-1] = module.fixed(subjects, window.name, facts.weeks)
            for subject in subjects:
                own = [of_class[name] for name in listed(subject.get("classes")) if name in of_class]
                sums = [
                    _summed(each, one) for each in own for one in module.windows(numbers, each.group) if one.name == window.name
                ]
                if any(sums):
                    most = rows.variable(max(sum(each.values()) for each in sums))
                    summed[most] = 1
                    for each in sums:
                        rows.at_least(plus((1, {most: 1}), (-1, each)), 0)
            wished |= rows.keep(summed, None, window.most, numbers.get("wish", 0), window.unit)
    return wished


# -- drawn -------------------------------------------------------------------------------------------------------------


def proposals() -> list[Callable[[Random, Raw, Facts, Assignment], bool | None]]:
    """One random addition for each rule, for the scenario or a class, now and then as a wish; and cohorts."""
    # What a scenario lists is drawn in `test_coupled`.
    return [*(_proposal(module) for module in MODULES if not getattr(module, "LISTED", False)), cohorts]


def cohorts(rng: Random, data: Raw, facts: Facts, near: Assignment) -> bool | None:
    """A cohort of the classes, with numbers of its own or those of the scenario."""
    return pupils_week.cohorts(rng, data, [lesson_of(data, *each.key[1:]) for each in lessons_of(facts) if not each.made])


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
