"""What the distances of each unit come to at least, the unit by itself: bounds for a class with many units.

A unit's own model keeps its lessons apart and holds the links, practices and retrievals that lie wholly within it; every other
rule, and every other lesson, is left out. So whatever the whole model allows its units allow, and their bounds add up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from ortools.sat.python import cp_model

from sequencer.aims.distance import DistanceAim
from sequencer.rules import RULES
from sequencer.rules.distances import FollowingRule
from sequencer.solver.costs import cost
from sequencer.solver.domains import Domains
from sequencer.solver.model import Prepared
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Posting
from sequencer.solver.servings import Serving
from sequencer.solver.solver_calls import Budget, Calls
from sequencer.solver.variables import Variables

FEWEST_LESSONS = 88
"""Lessons of a class from which on its units are looked at one by one: fewer are proven sooner together."""


def worth_looking(parts: Parts) -> bool:
    """Whether the model is of one class with that many lessons in several units, and no retrieval is by choice."""
    members = parts.variables.lessons
    if len(parts.variables.class_indices) > 1 or len(members) < FEWEST_LESSONS or parts.meetings:
        return False
    return len({each.lesson.unit for each in members.values()}) > 1


def distance_by_units(prepared: Prepared, class_index: int, calls: Calls, budget: Budget) -> Iterator[tuple[frozenset[int], int]]:
    """For each unit of a class the lessons whose retrieval it holds, and what their distances come to at least."""
    units: dict[str, list[int]] = {}
    for index in prepared.instance.classes[class_index].lessons:
        units.setdefault(prepared.instance.lessons[index].unit, []).append(index)
    for left, members in zip(range(len(units), 0, -1), units.values(), strict=True):
        parts = _by_itself(prepared, class_index, frozenset(members))
        aim = DistanceAim().cost(parts)
        bound = aim.floor

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal bound
            if math.isfinite(solver.best_objective_bound):
                bound = max(bound, math.ceil(solver.best_objective_bound - 1e-6))
            return status == cp_model.OPTIMAL

        if aim.terms:
            model = parts.posting.model
            model.minimize(cost(aim))
            budget.effort -= calls.attempt(model, budget.part(1 / left), take)
            yield frozenset(serving.lesson for serving in parts.retrieval), bound


def _by_itself(prepared: Prepared, class_index: int, members: frozenset[int]) -> Parts:
    """The model of some lessons of a class, with the rules that hold of them whatever lies around."""
    instance = prepared.instance
    facts = instance.classes[class_index]
    alone = replace(facts, lessons=tuple(index for index in facts.lessons if index in members), earlier=())
    classes = tuple(alone if each.index == class_index else each for each in instance.classes)
    instance = replace(instance, classes=classes)
    starts = tuple(own if index in members else () for index, own in enumerate(prepared.domains.starts))
    posting = Posting()
    parts = Parts(
        instance=instance,
        days=prepared.days,
        posting=posting,
        variables=Variables(posting, instance, Domains(starts, prepared.domains.sure), (class_index,)),
        links=tuple(link for link in prepared.links if link.before in members and link.after in members),
        twins=(),
        steps=(),
        practice=_within(prepared.practice, members),
        retrieval=_within(prepared.retrieval, members),
        meetings=(),
        order=prepared.order,
    )
    for rule in RULES:
        if isinstance(rule, FollowingRule):
            rule.post_pairs(parts)
    return parts


def _within(servings: tuple[Serving, ...], members: frozenset[int]) -> tuple[Serving, ...]:
    """Servings of these lessons by these lessons alone."""
    return tuple(
        serving for serving in servings if serving.lesson in members and all(link.after in members for link in serving.links)
    )
