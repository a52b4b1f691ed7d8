"""Random sequences for small scenarios, most of them a best one spoiled a little: moved, swapped, dropped, met elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from random import Random

from tests.crosscheck.again import Stated, best_choice, taught
from tests.crosscheck.alone import ways_of_teaching
from tests.crosscheck.exhaustive import Best
from tests.crosscheck.facts import ClassFacts, Facts, Key
from tests.crosscheck.placing import Assignment, date_of, occupied, placed_lessons
from tests.crosscheck.slots import Raw


def sequences(rng: Random, facts: Facts, best: Best | None, count: int) -> Iterator[tuple[Assignment, Stated]]:
    """The best sequence with its choice, and others; what was delivered stays where it was."""
    done = {key: place for group in facts.classes for key, place in group.done.items()}
    for number in range(count):
        placed = dict(best.assignment) if best is not None and rng.random() < 0.9 else _anywhere(rng, facts)
        stated = _choice(rng, facts, placed)
        for _ in range(rng.choice([0, 1, 1, 1, 2, 3]) if number else 0):
            if rng.random() < 0.5:
                placed = {**_moved(rng, facts, placed), **done}
                stated = _choice(rng, facts, placed) if rng.random() < 0.7 else stated
            else:
                stated = _met_elsewhere(rng, facts, placed, stated)
        if _twins_in_order(facts, placed):
            yield placed, frozenset((x, y) for x, y in stated if y in placed)


def _twins_in_order(facts: Facts, placed: Assignment) -> bool:
    """Made retrieval lessons that are just alike keep their order in what the product makes; no rule asks it of others."""
    lessons = {lesson.key: lesson for group in facts.classes for lesson in group.lessons}
    later = [(y, lessons[y.twin]) for y in lessons.values() if y.twin in lessons and y.key in placed]
    return all(x.done is not None or (x.key in placed and placed[x.key] < placed[y.key]) for y, x in later)


def rows(rng: Random, facts: Facts, placed: Assignment, stated: Stated) -> list[Raw]:
    """The sequence as somebody hands it in."""
    found = []
    for group in facts.classes:
        for lesson in placed_lessons(group, placed):
            start, way = placed[lesson.key]
            by_choice = sorted(x for x, y in stated if y == lesson.key)
            if lesson.done is not None and not by_choice and rng.random() < 0.5:
                continue
            slot, (class_id, unit, name) = group.slots[start], lesson.key
            row = {"class": class_id, "unit": unit, "lesson": name, "date": slot.day.isoformat(), "period": slot.period}
            found.append({**row, "taught": way, "revisits": [f"{x[1]}/{x[2]}" for x in by_choice]})
    return found


def _anywhere(rng: Random, facts: Facts) -> Assignment:
    placed: Assignment = {}
    for group in facts.classes:
        for lesson in group.lessons:
            if lesson.sure or rng.random() < 0.5:
                placed[lesson.key] = _place(rng, group, range(len(group.slots)))
        placed |= group.done
    return placed


def _place(rng: Random, group: ClassFacts, numbers: Sequence[int]) -> tuple[int, str]:
    start = rng.choice(numbers)
    ways = ways_of_teaching(group.slots[start : start + 1])
    return start, rng.choice(ways) if rng.random() < 0.95 else "live"


def _moved(rng: Random, facts: Facts, placed: Assignment) -> Assignment:
    group = rng.choice(facts.classes)
    keys = [lesson.key for lesson in group.lessons]
    if not keys:
        return placed
    key, other, changed = rng.choice(keys), rng.choice(keys), dict(placed)
    draw = rng.random()
    if draw < 0.2:
        changed.pop(key, None)
    elif draw < 0.4 and key in placed and other in placed:
        changed[key], changed[other] = placed[other], placed[key]
    else:
        changed.pop(key, None)
        held = occupied(group, changed)
        free = [number for number, slot in enumerate(group.slots) if number not in held and slot.usable]
        changed[key] = _place(rng, group, free if free and rng.random() < 0.85 else range(len(group.slots)))
    return changed


def _choice(rng: Random, facts: Facts, placed: Assignment) -> Stated:
    """The best choice, each lesson met in any of its date that has room left."""
    found: set[tuple[Key, Key]] = set()
    for group in facts.classes:
        best = best_choice(facts, group, placed)
        for x, day in best.met if best is not None else ():
            hosts = [y for y in placed_lessons(group, placed) if y.choices and date_of(group, y, placed) == day]
            hosts = [y for y in hosts if sum(by == y.key for _, by in found) < y.choices]
            # Retrieval lessons that patterns made come first: each must meet something.
            hosts.sort(key=lambda y: (y.made != "retrieval", sum(by == y.key for _, by in found)))
            if hosts:
                found.add((x, hosts[0].key))
    return frozenset(found)


def _met_elsewhere(rng: Random, facts: Facts, placed: Assignment, stated: Stated) -> Stated:
    """One lesson no longer met by choice, or met in another; where the scenario lists it anyway nothing is stated."""
    group = rng.choice(facts.classes)
    kept = sorted(stated)
    if kept and rng.random() < 0.6:
        kept.remove(rng.choice(kept))
    hosts = placed_lessons(group, placed)
    # Whether a sequence may name what was taught of a lesson in two parts is open: it serves nothing, and takes up room.
    parts = {
        (*y.key[:2], y.key[2].removesuffix(end)) for y in group.lessons for end in ("-rest", "-again") if y.key[2].endswith(end)
    }
    lessons = [x for x in taught(group, placed) if x.key not in parts]
    able = [x for x in lessons if x.chosen] if rng.random() < 0.9 else lessons
    roomy = [y for y in hosts if y.choices] if rng.random() < 0.9 else hosts
    if able and roomy and rng.random() < 0.7:
        x, y = rng.choice(able), rng.choice(roomy)
        if x.key not in y.revisits and x.key != y.key:
            kept.append((x.key, y.key))
    return frozenset(kept)
