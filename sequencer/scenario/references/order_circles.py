"""Circles: units or lessons that wait for one another."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from sequencer.scenario.references.circles import circles, knot_of
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.outline import REFERRING, LessonKey, Outline, TaughtLesson, kind_of, referred

_MOST_PRINTED = 8

Node = tuple[str, str | None]
"""A lesson, or with None the moment at which all teach lessons of a unit are done."""

Named = dict[LessonKey, list[tuple[str, LessonKey, Entry]]]
"""The other lessons that each lesson names, by which of its keys, and where."""

NAMED, MADE, IN_ORDER, AFTER = "named", "made", "in order", "after"


@dataclass
class _Orders:
    """Which lessons of one class come before which, why, and where that is stated."""

    before: dict[Node, dict[Node, tuple[str, Entry]]] = field(default_factory=dict)

    def add(self, earlier: Node, later: Node, why: str, place: Entry) -> None:
        self.before.setdefault(later, {})
        self.before.setdefault(earlier, {}).setdefault(later, (why, place))


def units_do_not_wait_in_a_circle(outline: Outline, findings: Findings) -> None:
    """No unit comes after itself, whether directly or through others that one class takes with it."""
    for unit_id, unit in outline.units.items():
        for word, place in unit["after"].words():
            if word == unit_id:
                findings.add(place, "names the unit itself")
    for taken in dict.fromkeys(tuple(taken) for taken in outline.units_of.values()):
        before = _units_before(taken, outline)
        for circle in circles(before):
            place = before[circle[0]][circle[1]]
            findings.add(place, f"makes units wait for one another in a circle: {' -> '.join(circle)}")


def _units_before(taken: tuple[str, ...], outline: Outline) -> dict[str, dict[str, Entry]]:
    before: dict[str, dict[str, Entry]] = {unit_id: {} for unit_id in taken}
    for unit_id in taken:
        for word, place in outline.units[unit_id]["after"].words():
            if word in before and word != unit_id:
                before[word].setdefault(unit_id, place)
    return before


def lessons_do_not_wait_in_a_circle(outline: Outline, findings: Findings) -> None:
    """No lesson waits for itself through prerequisites, the order of units, what it practises, revisits, answers, or patterns."""
    named = _named(outline)
    possible: dict[tuple[LessonKey, ...], bool] = {}
    done: set[tuple[tuple[LessonKey, bool], ...]] = set()
    for lessons in _groups(outline):
        keys = tuple(taught.key for taught in lessons)
        if keys not in possible:
            possible[keys] = any(True for _ in circles(_orders(dict.fromkeys(keys, True), named, outline).before))
        if not possible[keys]:
            continue
        # Where rule 1 is off for some lessons there are fewer orders, and perhaps no circle.
        held = {taught.key: not outline.rule("prerequisites", taught).off for taught in lessons}
        if tuple(held.items()) in done:
            continue
        done.add(tuple(held.items()))
        orders = _orders(held, named, outline)
        for circle in circles(orders.before):
            _report(circle, orders, findings)


def _named(outline: Outline) -> Named:
    named: Named = {}
    for key, lesson in (*outline.lessons.items(), *outline.made.items()):
        places: dict[tuple[str, LessonKey], Entry] = {}
        for referring in (*REFERRING, "follows") if key in outline.made else REFERRING:
            for word, place in referred(lesson[referring]):
                places.setdefault((referring, outline.lesson_key(word, key[0])), place)
        named[key] = [(referring, other, place) for (referring, other), place in places.items() if other != key]
    return named


def _groups(outline: Outline) -> list[list[TaughtLesson]]:
    """The lessons of each class, and of each unit that no class takes."""
    groups: dict[tuple[str | None, str], list[TaughtLesson]] = {}
    for taught in outline.taught():
        group = (taught.class_id, "" if taught.class_id is not None else taught.key[0])
        groups.setdefault(group, []).append(taught)
    return list(groups.values())


def _orders(held: dict[LessonKey, bool], named: Named, outline: Outline) -> _Orders:
    """The orders among some lessons; for those of which rule 1 is not held, only what they serve."""
    orders = _Orders({key: {} for key in held})
    for key, on in held.items():
        for referring, other, place in named[key]:
            if other in held and (on or referring != "requires"):
                orders.add(other, key, MADE if key in outline.made else NAMED, place)
    units = tuple(dict.fromkeys(unit_id for unit_id, _ in held))
    knots = knot_of(_units_before(units, outline))
    for unit_id in units:
        unit = outline.units[unit_id]
        teach = [key for key in held if key in outline.lessons and key[0] == unit_id and kind_of(outline.lessons[key]) == "teach"]
        for key in teach:
            orders.add(key, (unit_id, None), AFTER, unit)
        if unit["in_order"].value is True:
            _put_in_order(teach, unit["in_order"], held, orders)
        for word, place in unit["after"].words():
            # Units that wait for one another are reported as such; their lessons need not be as well.
            if word in knots and knots[word] != knots[unit_id]:
                for key in teach:
                    if held[key]:
                        orders.add((word, None), key, AFTER, place)
    return orders


def _put_in_order(teach: list[LessonKey], place: Entry, held: dict[LessonKey, bool], orders: _Orders) -> None:
    """Each held lesson comes after all before it; those before the last held one, through that one."""
    waiting: list[LessonKey] = []
    for key in teach:
        if held[key]:
            for earlier in waiting:
                orders.add(earlier, key, IN_ORDER, place)
            waiting = []
        waiting.append(key)


def _report(circle: list[Node], orders: _Orders, findings: Findings) -> None:
    """Report a circle where a listed lesson of it names another: units in order and patterns make none by themselves."""
    steps = [(earlier, *orders.before[earlier][later]) for earlier, later in pairwise(circle)]
    start = next(place for place, (_, why, _) in enumerate(steps) if why == NAMED)
    steps = steps[start:] + steps[:start]
    names = []
    into = steps[-1][1]
    for (unit_id, lesson_id), why, _ in steps:
        # Lessons of a unit in order follow from the first and the last of them.
        if lesson_id is not None and not into == why == IN_ORDER:
            names.append(f"{unit_id}/{lesson_id}")
        into = why
    names.append(names[0])
    if len(names) > _MOST_PRINTED:
        left = len(names) - _MOST_PRINTED + 1
        names = [*names[: _MOST_PRINTED - 2], f"({left} more)", names[-1]]
    findings.add(steps[0][2], f"makes lessons wait for one another in a circle: {' -> '.join(names)}")


ORDER_CHECKS = (units_do_not_wait_in_a_circle, lessons_do_not_wait_in_a_circle)
