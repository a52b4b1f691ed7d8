"""The choice of exercises from pools, over all lessons of a class: the best that its outlines can have, with proof.

Exercises are shared out by what is known of each choice so far, and where nothing is known by what it comes to at least; the
outlines of what is chosen are worked out, and so on until all that is chosen is known.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product
from typing import Any

from ortools.sat.python import cp_model

from sequencer.outlines.inside import Inside, PartFacts
from sequencer.outlines.outline_aims import AIMS, APPLY
from sequencer.outlines.outline_search import OutlinesFound, aims_by_length, in_stages, small_solver, weighed
from sequencer.outlines.settled_parts import exercise_part
from sequencer.scenario.parts_schema import ExercisePool
from sequencer.scenario.schema import Scenario

MOST_CHOICES = 400
"""Choices of a lesson's exercises that are looked at."""

Choice = tuple[PartFacts, ...]
Worth = tuple[int, ...]
"""What each aim comes to."""
Solve = Callable[[Sequence[Inside]], OutlinesFound]
Before = dict[tuple[str, str], frozenset[str]]
"""The parts of lessons in outlines made before, by class and lesson (unit/lesson): exercises among them are to stay."""


@dataclass
class _Lesson:
    """A lesson for which exercises are to be chosen: what may be chosen, and what is known of each choice.

    ``known`` holds the aims of the best outline with exercises of just so many minutes: more minutes never make one better where
    no share of them is asked for, and an exercise of several lengths is as good as its best one.
    """

    place: int
    inside: Inside
    choices: list[Choice]
    kept: frozenset[str] | None
    known: dict[Choice, Worth | None]

    def worth(self, choice: int) -> tuple[Worth, Choice | None] | None:
        """What a choice is worth at least, how many exercises change first, and what is to be known for it to be sure.

        None where it has no outline.
        """
        parts = self.choices[choice]
        changed = len({part.id for part in parts} - self.kept) if self.kept is not None else 0
        best: tuple[Worth, Choice | None] | None = None
        for minutes in product(*(range(part.most, part.least - 1, -1) for part in parts)):
            lengths = tuple(_of_length(part, length) for part, length in zip(parts, minutes, strict=True))
            least, sure = self._least(lengths)
            if least is None:
                continue
            short = [(part.most - length, part) for part, length in zip(parts, minutes, strict=True)]
            apply_short = sum(by for by, part in short if part.kind == "apply")
            others_short = sum(by * part.load for by, part in short if part.kind != "apply")
            cost = (changed, *least[:APPLY], least[APPLY] + apply_short, least[APPLY + 1] + others_short, *least[APPLY + 2 :])
            if best is None or cost < best[0] or (cost == best[0] and sure and best[1] is not None):
                best = cost, None if sure else lengths
        return best

    def _least(self, lengths: Choice) -> tuple[Worth | None, bool]:
        """The aims with exercises of these lengths, at least, and whether that is what they come to."""
        if lengths in self.known:
            return self.known[lengths], True
        least: Worth = (0,) * len(AIMS)
        if self.inside.shared:
            return least, False
        most: Worth | None = None
        for other, aims in self.known.items():
            if any(_of_length(one, 1) != _of_length(two, 1) for one, two in zip(lengths, other, strict=True)):
                continue
            if all(one.least >= two.least for one, two in zip(lengths, other, strict=True)):
                if aims is None:
                    return None, True
                least = max(least, aims)
            if all(one.least <= two.least for one, two in zip(lengths, other, strict=True)) and aims is not None:
                most = aims if most is None else min(most, aims)
        return least, least == most

    def learn(self) -> None:
        """Work out what every length of a single exercise comes to, where just one is wanted."""
        if sum(number for _, number in self.inside.wanted) > 1:
            return
        sorts: dict[PartFacts, list[PartFacts]] = {}
        for (part,) in self.choices:
            sorts.setdefault(_of_length(part, 1), []).append(part)
        for sort, parts in sorts.items():
            lengths = tuple(sorted({length for part in parts for length in range(part.least, part.most + 1)}))
            exercise = replace(sort, id="exercise", least=lengths[0], most=lengths[-1])
            found = aims_by_length(self.inside.alike.with_exercises((exercise,)), exercise, lengths)
            self.known.update(((_of_length(sort, length),), aims) for length, aims in found.items())


def _of_length(part: PartFacts, minutes: int) -> PartFacts:
    """An exercise of just so many minutes, without what makes no difference to the outline."""
    return replace(part, id="", title="", exercise=None, least=minutes, most=minutes, load=0)


def with_exercises(
    scenario: Scenario, lessons: Sequence[Inside], alone: Sequence[bool], solve: Solve, before: Before
) -> tuple[list[Inside], bool]:
    """The lessons of a class in order of time with the exercises chosen, and whether no other choice is better.

    Where the pool has too few, lessons are left without. ``alone`` says which lessons are joined to no other.
    """
    pools = {pool.tag: pool for pool in scenario.pools}
    asked = [
        _Lesson(place, inside, _choices(scenario, inside, pools), before.get((inside.class_id, inside.ref)), {})
        for place, inside in enumerate(lessons)
        if inside.wanted
    ]
    for each in asked:
        each.learn()
    chosen: dict[int, int] = {}
    while True:
        worths = {each.place: [each.worth(number) for number in range(len(each.choices))] for each in asked}
        chosen = _shared_out(pools, asked, worths)
        unsure = False
        for each in asked:
            worth = worths[each.place][chosen[each.place]] if each.place in chosen else None
            if worth is not None and worth[1] is not None:
                numbered = tuple(replace(part, id=f"exercise-{n}") for n, part in enumerate(worth[1]))
                found = solve([each.inside.with_exercises(numbered)])
                each.known[worth[1]] = found.values if found.outlines else None
                unsure = True
        if not unsure:
            break
    result = list(lessons)
    for each in asked:
        shortest = min(each.choices, key=lambda choice: sum(part.least for part in choice), default=None)
        if each.place in chosen:
            result[each.place] = each.inside.with_exercises(each.choices[chosen[each.place]])
        elif shortest is not None and not any(worths[each.place]):
            result[each.place] = each.inside.with_exercises(shortest)  # it has no outline whatever is chosen: not for lack of one
    return result, all(each.place in chosen and alone[each.place] for each in asked)


def _choices(scenario: Scenario, inside: Inside, pools: dict[str, ExercisePool]) -> list[Choice]:
    """The exercises that a lesson may have together: so many of each pool, no two of one sort."""
    of_pools = []
    for tag, number in inside.wanted:
        suited = [
            part
            for exercise in pools[tag].exercises
            if (part := exercise_part(scenario, inside, pools[tag], exercise)) is not None
        ]
        sorts = {f"{tag}/{exercise.id}": exercise.sort for exercise in pools[tag].exercises}
        of_pools.append(
            [
                chosen
                for chosen in combinations(suited, number)
                if len(named := [sorts[part.id] for part in chosen if sorts[part.id] is not None]) == len(set(named))
            ]
        )
    return [tuple(part for chosen in several for part in chosen) for several in product(*of_pools)][:MOST_CHOICES]


def _shared_out(
    pools: dict[str, ExercisePool], asked: list[_Lesson], worths: dict[int, list[tuple[Worth, Choice | None] | None]]
) -> dict[int, int]:
    """A choice for each lesson, the best by what is known; where there are too few exercises some lessons go without."""
    model = cp_model.CpModel()
    takes: dict[tuple[int, int], cp_model.IntVar] = {}
    users: dict[str, list[cp_model.IntVar]] = {}
    near: dict[tuple[str, str], dict[int, list[cp_model.IntVar]]] = {}
    sorts = {(tag, exercise.id): exercise.sort for tag, pool in pools.items() for exercise in pool.exercises}
    for each in asked:
        for number, worth in enumerate(worths[each.place]):
            if worth is None:
                continue
            takes[each.place, number] = taken = model.new_bool_var("")
            for part in each.choices[number]:
                assert part.exercise is not None
                users.setdefault(part.id, []).append(taken)
                if (sort := sorts[part.exercise]) is not None:
                    near.setdefault((part.exercise[0], sort), {}).setdefault(each.place, []).append(taken)
        model.add_at_most_one([taken for (place, _), taken in takes.items() if place == each.place])
    if not takes:
        return {}
    for those in users.values():
        model.add_at_most_one(those)
    for (tag, _), at in near.items():
        for first in at:
            last = first + pools[tag].apart
            model.add_at_most_one([taken for place, there in at.items() if first <= place < last for taken in there])
    solver = small_solver(10)
    # All that can be is placed; then aim after aim, as many at once as can be weighed.
    costs: list[tuple[Any, int]] = []
    for aim in range(1 + len(AIMS)):
        cost: Any = 0
        most = 0
        for each in asked:
            of_choice = {number: worth[0][aim] for number, worth in enumerate(worths[each.place]) if worth is not None}
            least = min(of_choice.values(), default=0)
            most += max(of_choice.values(), default=0) - least
            dearer = {number: value - least for number, value in of_choice.items() if value > least}
            cost += sum(value * takes[each.place, number] for number, value in dearer.items())
        costs.append((cost, most))
    for stage in [[(-sum(takes.values()), len(asked))], *in_stages([each for each in costs if each[1]])]:
        cost = weighed(stage)
        model.minimize(cost)
        if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            break
        model.add(cost <= round(solver.objective_value))
    return {place: number for (place, number), taken in takes.items() if solver.value(taken)}
