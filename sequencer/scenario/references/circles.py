"""Circles: units, lessons or what-ifs that wait for one another, found in a time that grows only with what waits."""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Iterable, Iterator, Mapping
from itertools import pairwise
from typing import TypeVar

from sequencer.scenario.places import cut, shown
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.outline import REFERRING, Outline, TaughtLesson, kind_of, referred
from sequencer.scenario.references.titles import LessonKey
from sequencer.words import BASE

_MOST_PRINTED = 8

Node = TypeVar("Node", bound=Hashable)

Step = tuple[str, str | None]
"""A lesson, or with None the moment at which all teach lessons of a unit are done."""

Named = dict[LessonKey, list[tuple[str, LessonKey, Entry]]]
"""The other lessons that each lesson names, by which of its keys, and where."""

Orders = dict[Step, dict[Step, tuple[str, Entry]]]
"""Which lessons of one class come before which, why, and where that is stated."""

NAMED, MADE, IN_ORDER, AFTER = "named", "made", "in order", "after"


def circles(before: Mapping[Node, Iterable[Node]]) -> Iterator[list[Node]]:
    """A circle from each knot of the graph: the shortest through the knot's first node, which stands at its beginning and end.

    ``before`` says of every node which nodes it comes before.
    """
    knots: dict[int, list[Node]] = {}
    for node, knot in knot_of(before).items():
        knots.setdefault(knot, []).append(node)
    order = {node: place for place, node in enumerate(before)}
    found = [sorted(nodes, key=order.__getitem__) for nodes in knots.values() if len(nodes) > 1]
    for nodes in sorted(found, key=lambda nodes: order[nodes[0]]):
        yield _shortest_circle(nodes[0], set(nodes), before)


def knot_of(before: Mapping[Node, Iterable[Node]]) -> dict[Node, int]:
    """Number the knots of a graph: two nodes are in one knot when each can be reached from the other.

    Tarjan's algorithm for strongly connected components, without recursion.
    """
    met: dict[Node, int] = {}
    lowest: dict[Node, int] = {}
    knot: dict[Node, int] = {}
    waiting: list[Node] = []
    for start in before:
        if start in met:
            continue
        path = [(start, iter(before[start]))]
        met[start] = lowest[start] = len(met)
        waiting.append(start)
        while path:
            node, later = path[-1]
            for following in later:
                if following not in met:
                    met[following] = lowest[following] = len(met)
                    waiting.append(following)
                    path.append((following, iter(before[following])))
                    break
                if following not in knot:
                    lowest[node] = min(lowest[node], met[following])
            else:
                path.pop()
                if path:
                    above = path[-1][0]
                    lowest[above] = min(lowest[above], lowest[node])
                if lowest[node] == met[node]:
                    while node not in knot:
                        knot[waiting.pop()] = met[node]
    return knot


def _shortest_circle(start: Node, knot: set[Node], before: Mapping[Node, Iterable[Node]]) -> list[Node]:
    came_from: dict[Node, Node] = {}
    queue = deque([start])
    while start not in came_from:
        node = queue.popleft()
        for following in before[node]:
            if following in knot and following not in came_from:
                came_from[following] = node
                queue.append(following)
    circle = [start]
    while len(circle) == 1 or circle[-1] != start:
        circle.append(came_from[circle[-1]])
    return circle[::-1]


def _order(orders: Orders, earlier: Step, later: Step, why: str, place: Entry) -> None:
    orders.setdefault(later, {})
    orders.setdefault(earlier, {}).setdefault(later, (why, place))


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
            possible[keys] = any(True for _ in circles(_orders(dict.fromkeys(keys, True), named, outline)))
        if not possible[keys]:
            continue
        # Where rule 1 is off for some lessons there are fewer orders, and perhaps no circle.
        held = {taught.key: not outline.rule("prerequisites", taught).off for taught in lessons}
        if tuple(held.items()) in done:
            continue
        done.add(tuple(held.items()))
        orders = _orders(held, named, outline)
        for circle in circles(orders):
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


def _orders(held: dict[LessonKey, bool], named: Named, outline: Outline) -> Orders:
    """The orders among some lessons; for those of which rule 1 is not held, only what they serve."""
    orders: Orders = {key: {} for key in held}
    for key, on in held.items():
        for referring, other, place in named[key]:
            if other in held and (on or referring != "requires"):
                _order(orders, other, key, MADE if key in outline.made else NAMED, place)
    units = tuple(dict.fromkeys(unit_id for unit_id, _ in held))
    knots = knot_of(_units_before(units, outline))
    for unit_id in units:
        unit = outline.units[unit_id]
        teach = [key for key in held if key in outline.lessons and key[0] == unit_id and kind_of(outline.lessons[key]) == "teach"]
        for key in teach:
            _order(orders, key, (unit_id, None), AFTER, unit)
        if unit["in_order"].value is True:
            _put_in_order(teach, unit["in_order"], held, orders)
        for word, place in unit["after"].words():
            # Units that wait for one another are reported as such; their lessons need not be as well.
            if word in knots and knots[word] != knots[unit_id]:
                for key in teach:
                    if held[key]:
                        _order(orders, (word, None), key, AFTER, place)
    return orders


def _put_in_order(teach: list[LessonKey], place: Entry, held: dict[LessonKey, bool], orders: Orders) -> None:
    """Each held lesson comes after all before it; those before the last held one, through that one."""
    waiting: list[LessonKey] = []
    for key in teach:
        if held[key]:
            for earlier in waiting:
                _order(orders, earlier, key, IN_ORDER, place)
            waiting = []
        waiting.append(key)


def _report(circle: list[Step], orders: Orders, findings: Findings) -> None:
    """Report a circle where a listed lesson of it names another: units in order and patterns make none by themselves."""
    steps = [(earlier, *orders[earlier][later]) for earlier, later in pairwise(circle)]
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


def what_ifs_build_on_one_another(outline: Outline, findings: Findings) -> None:
    """Every what-if has a name of its own, and what it builds on is another one that does not build on it."""
    entries = outline.root.all("what_ifs")
    for entry in entries:
        if entry["name"].text == BASE:
            findings.add(entry["name"], f"is what the scenario as it stands is called; a what-if needs another name ({BASE})")
    named = findings.repeated((entry for entry in entries if entry["name"].text != BASE), "name")
    before: dict[str, list[str]] = {name: [] for name in named}
    for entry in entries:
        other = entry["builds_on"].text
        if other is None:
            continue
        if other not in named:
            others = [name for name in named if name != entry["name"].text]
            findings.unknown(entry["builds_on"], other, f"names no what-if of the scenario: {cut(other)}", others)
        elif other == entry["name"].text:
            findings.add(entry["builds_on"], f"names the what-if itself: {cut(other)}")
        elif entry["name"].text in named:
            before[other].append(str(entry["name"].text))
    for circle in circles(before):
        told = " builds on ".join(shown(name) for name in reversed(circle))
        findings.add(named[circle[0]]["builds_on"], f"makes a circle: {told}")
