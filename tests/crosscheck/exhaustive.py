"""The best values by trying every assignment.

Each class is searched by itself, lesson by lesson, over first slots and ways of teaching; whole assignments are judged
by `rules`. The rules and the aim that join classes see a class's assignment only through its uses of shared things, its
live slots and its `Part`, and every other aim is a sum over classes, so for each such footprint the best assignment of the
class is enough.

Pruning only drops what breaks a rule already: options of one lesson alone, taken slots, and pairs of lessons that are
both placed. `prune=False` tries every start of every lesson and judges whole assignments of all classes at once.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from tests.crosscheck import rules
from tests.crosscheck.aims import class_values, joint_values, values_of
from tests.crosscheck.alone import can_lie, lies_well
from tests.crosscheck.facts import ClassFacts, Facts, Lesson
from tests.crosscheck.parallel import Part, in_step, part_of, pupils_weeks, teacher_weeks
from tests.crosscheck.placing import Assignment, Place, in_time

Values = tuple[int, ...]
Footprint = tuple[tuple[tuple[str, date, int], ...], tuple[int, ...], Part]
"""Uses of shared things, numbers of the slots taught live of teachers with a quota, and what rules 10 and 11 see."""


@dataclass(frozen=True)
class Best:
    """The best values of the aims, in the scenario's order, and an assignment that reaches them."""

    values: Values
    assignment: Assignment


def _options(facts: Facts, group: ClassFacts, lesson: Lesson) -> list[Place | None]:
    ways = ("in class", "live", "set work")
    starts = range(len(group.slots)) if lesson.done is not None else can_lie(facts, group, lesson)
    places: list[Place | None] = [
        (start, taught) for start in starts for taught in ways if lies_well(facts, group, lesson, start, taught)
    ]
    return places if lesson.sure or lesson.done is not None else [*places, None]


def _class_assignments(facts: Facts, group: ClassFacts) -> Iterator[Assignment]:
    """Every assignment of the class that breaks no rule of one lesson or of two placed lessons."""
    options = {lesson.key: _options(facts, group, lesson) for lesson in group.lessons}
    lessons = sorted(group.lessons, key=lambda lesson: (len(options[lesson.key]), lesson.made == "retrieval"))
    pairs = {
        lesson.key: [
            pair
            for other in group.lessons
            for pair in ((lesson, other), (other, lesson))
            if other is not lesson and pair[1].key in pair[0].named
        ]
        for lesson in lessons
    }
    twins = {lesson.key: next((other for other in lessons if other.key == lesson.twin), None) for lesson in lessons}
    placed: Assignment = {}
    taken: set[int] = set()

    def pairs_hold(lesson: Lesson) -> bool:
        return all(
            in_time(facts, group, later, other, placed)
            for later, other in pairs[lesson.key]
            if later.key in placed and other.key in placed
        )

    def twin_comes_before(lesson: Lesson, option: Place) -> bool:
        """Of made retrieval lessons that are just alike only one order is tried."""
        twin = twins[lesson.key]
        return twin is None or twin.done is not None or (twin.key in placed and placed[twin.key][0] < option[0])

    def place(depth: int) -> Iterator[Assignment]:
        if depth == len(lessons):
            yield dict(placed)
            return
        lesson = lessons[depth]
        for option in options[lesson.key]:
            if option is None:
                yield from place(depth + 1)
                continue
            slots = range(option[0], option[0] + lesson.length)
            if taken.intersection(slots) or not twin_comes_before(lesson, option):
                continue
            placed[lesson.key] = option
            taken.update(slots)
            if pairs_hold(lesson):
                yield from place(depth + 1)
            taken.difference_update(slots)
            del placed[lesson.key]

    yield from place(0)


def few_assignments(facts: Facts, most: int) -> bool:
    """Whether there are at most so many assignments to look through, over all classes."""
    each = itertools.chain.from_iterable(_class_assignments(facts, group) for group in facts.classes)
    return sum(1 for _ in itertools.islice(each, most + 1)) <= most


def few_combinations(facts: Facts, most: int) -> bool:
    """Whether there are at most so many combinations of the classes' assignments, where rules 10 and 11 may need them all."""
    alone = len(facts.classes) == 1
    if alone or not (
        facts.teachers or facts.cohorts or "even week" in facts.aims or any(x.in_step is not None for x in _lessons(facts))
    ):
        return True
    counts = [sum(1 for _ in itertools.islice(_class_assignments(facts, group), most)) for group in facts.classes]
    return math.prod(counts) <= most


def _lessons(facts: Facts) -> Iterator[Lesson]:
    return (lesson for group in facts.classes for lesson in group.lessons)


def _footprint(facts: Facts, group: ClassFacts, placed: Assignment) -> Footprint:
    teachers = {quota["teacher"] for quota in facts.teacher_quotas}
    live = rules.live_slots(group, placed)
    numbers = tuple(number for number, slot in enumerate(group.slots) if slot.teacher in teachers and slot in live)
    return tuple(sorted(rules.uses(group, placed, facts.shared))), numbers, part_of(facts, group, placed)


def _class_best(facts: Facts, group: ClassFacts) -> dict[Footprint, Best]:
    best: dict[Footprint, Best] = {}
    for placed in _class_assignments(facts, group):
        if all(rule(facts, group, placed) for rule in rules.CLASS_RULES):
            found = class_values(facts, group, placed)
            footprint = _footprint(facts, group, placed)
            if footprint not in best or found < best[footprint].values:
                best[footprint] = Best(found, placed)
    return best


def _joint(facts: Facts, chosen: list[tuple[Footprint, Best]]) -> Best | None:
    """The choices of all classes together, when the rules that join classes allow them."""
    parts = [footprint[2] for footprint, _ in chosen]
    if not in_step(parts) or not teacher_weeks(facts, parts) or not pupils_weeks(facts, parts):
        return None
    all_uses = [use for footprint, _ in chosen for use in footprint[0]]
    live = [group.slots[n] for group, (footprint, _) in zip(facts.classes, chosen, strict=True) for n in footprint[1]]
    if not rules.capacities(facts, all_uses) or not rules.teacher_quotas(facts, live):
        return None
    found = joint_values(facts, [best.values for _, best in chosen], parts, live)
    return Best(found, {key: place for _, best in chosen for key, place in best.assignment.items()})


def _combinations(facts: Facts, found: list[dict[Footprint, Best]]) -> Iterator[Best]:
    found = [dict(sorted(each.items(), key=lambda entry: entry[1].values)) for each in found]
    least: Values | None = None

    def choose(chosen: list[tuple[Footprint, Best]]) -> Iterator[Best]:
        nonlocal least
        if len(chosen) < len(found):
            for entry in found[len(chosen)].items():
                yield from choose([*chosen, entry])
            return
        # What the classes contribute is a bound: no aim is less than their sum.
        bound = tuple(map(sum, zip(*(best.values for _, best in chosen), strict=True)))
        if least is not None and bound >= least:
            return
        joint = _joint(facts, chosen)
        if joint is not None:
            least = joint.values if least is None else min(least, joint.values)
            yield joint

    return choose([])


def _everything(facts: Facts) -> Iterator[Best]:
    """Every assignment of all classes without any pruning, judged as a whole."""
    lessons = [(group, lesson) for group in facts.classes for lesson in group.lessons]

    def place(depth: int, placed: Assignment) -> Iterator[Best]:
        if depth == len(lessons):
            if rules.obeys(facts, placed):
                yield Best(values_of(facts, placed), placed)
            return
        group, lesson = lessons[depth]
        yield from place(depth + 1, placed)
        for start in range(len(group.slots)):
            for taught in ("in class", "live", "set work"):
                yield from place(depth + 1, {**placed, lesson.key: (start, taught)})

    return place(0, {})


def all_that_obey(facts: Facts, most: int) -> list[Best] | None:
    """Every assignment of all classes that obeys every rule; None when more than so many combinations must be looked at."""
    each: list[list[tuple[Footprint, Best]]] = []
    for group in facts.classes:
        each.append([])
        for placed in _class_assignments(facts, group):
            if all(rule(facts, group, placed) for rule in rules.CLASS_RULES):
                each[-1].append((_footprint(facts, group, placed), Best(class_values(facts, group, placed), placed)))
        if math.prod(map(len, each)) > most:
            return None
    joint = (_joint(facts, list(chosen)) for chosen in itertools.product(*each))
    return [found for found in joint if found is not None]


def best(facts: Facts, prune: bool = True) -> Best | None:
    """The lexicographically best values over all assignments that obey every rule; None when there is none."""
    pruned = prune and [_class_best(facts, group) for group in facts.classes]
    candidates = _combinations(facts, pruned) if pruned else _everything(facts)
    winner = min(candidates, key=lambda candidate: candidate.values, default=None)
    if winner is None:
        return None
    assert rules.first_broken(facts, winner.assignment) is None
    assert values_of(facts, winner.assignment) == winner.values
    return winner
