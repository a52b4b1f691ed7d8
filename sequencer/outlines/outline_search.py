"""The best outline of a lesson, or of several joined by carrying over, with proof: aims settled in order, each with its bound."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from ortools.sat.python import cp_model

from sequencer.errors import RefereeDisagrees
from sequencer.outlines.inside import Inside, PartFacts
from sequencer.outlines.laid_outline import LaidOutline, LessonOutline, laid_outlines
from sequencer.outlines.made_checks import without_unwanted
from sequencer.outlines.outline_aims import AIMS, APPLY
from sequencer.outlines.outline_model import LessonModel
from sequencer.outlines.part_places import FIRM, Loosened
from sequencer.outlines.part_rules import breaches
from sequencer.outlines.wanted_checks import only_wanted_checks

EFFORT = 4.0
"""The solver's deterministic time for each stage of a lesson; a lesson needs a hundredth of it."""

LARGEST = 1 << 40
"""Aims are settled together, weighed so that none gains by another's loss, while the weighed sum stays below this."""


@dataclass(frozen=True)
class OutlinesFound:
    """Outlines of lessons joined by carrying over; none where there are none, or none was found.

    Parameters
    ----------
    values, bounds
        What each aim comes to over all of the lessons, and what it comes to at least.
    proven
        Whether the outlines are proven best, or that there are none.
    cost
        What cutting the lessons costs, where they may be cut; 0 otherwise.
    """

    outlines: tuple[LessonOutline, ...]
    values: tuple[int, ...] = ()
    bounds: tuple[int, ...] = ()
    proven: bool = True
    cost: int = 0


def small_solver(effort: float) -> cp_model.CpSolver:
    """A solver for a small model: one search, so that every machine answers alike; interrupts are left to the program."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.catch_sigint_signal = 1, False
    solver.parameters.max_deterministic_time = effort
    return solver


def in_stages(costs: Sequence[tuple[Any, int]]) -> list[list[tuple[Any, int]]]:
    """Costs in order, each with the most that it can be, in stages: in each as many as can be weighed together."""
    stages: list[list[tuple[Any, int]]] = []
    size = LARGEST + 1
    for cost, most in costs:
        size *= most + 1
        if size > LARGEST:
            stages.append([])
            size = most + 1
        stages[-1].append((cost, most))
    return stages


def weighed(stage: Sequence[tuple[Any, int]]) -> Any:
    """The costs of a stage as one, of which none gains by the loss of one before it."""
    weight, objective = 1, 0
    for cost, most in reversed(stage):
        objective = objective + weight * cost
        weight *= most + 1
    return objective


def best_outlines(insides: Sequence[Inside], loosened: Loosened = FIRM) -> OutlinesFound:
    """The best outlines of lessons of one unit and class, each joined to the one before it.

    Raises
    ------
    RefereeDisagrees
        When the referee rejects what was found, or counts an aim differently: a defect of ours.
    """
    question = _Question(insides, loosened)
    found, values, proven = question.settle()
    if found is None:
        return OutlinesFound((), proven=proven)
    if not proven:
        found = without_unwanted([lesson.inside for lesson in question.lessons], found)
    cost = values[0] if loosened.cut else 0
    laid = laid_outlines([lesson.inside for lesson in question.lessons], found)
    counted = tuple(sum(aim.value(each) for each in laid) for aim in AIMS)
    if loosened == FIRM:
        _require(laid, counted, tuple(values), proven)
    bounds = counted if proven else (0,) * len(AIMS)
    return OutlinesFound(found, counted, bounds, proven, cost)


@lru_cache(maxsize=1000)
def aims_by_length(inside: Inside, part: PartFacts, lengths: tuple[int, ...]) -> dict[int, tuple[int, ...] | None]:
    """What the aims of a lesson come to with a part of each of these lengths, the part itself never short; None: no outline.

    One model serves all of them where it settles all aims at once. Where minutes are left over, or there is no outline, a longer
    part changes nothing.
    """
    question = _Question([inside])
    (lesson,) = question.lessons
    element = next(each for each in lesson.elements if each.part is part)
    variable = lesson.minutes(element)
    found: dict[int, tuple[int, ...] | None] = {}
    left = -1
    for number, length in enumerate(lengths):
        if number and not inside.shared and (found[lengths[number - 1]] is None or left >= length - lengths[number - 1]):
            left -= length - lengths[number - 1]
            found[length] = found[lengths[number - 1]]
            continue
        if isinstance(variable, int) or len(question.stages) > 1:
            of_length = tuple(replace(each, least=length, most=length, load=0) if each is part else each for each in inside.parts)
            best = best_outlines([replace(inside, parts=of_length)])
            found[length], left = (best.values, -1) if best.outlines else (None, -1)
            continue
        domain = question.model.proto.variables[variable.index].domain
        domain.clear()
        domain.extend([length, length])
        outlines, values, _ = question.settle()
        if outlines is None:
            found[length], left = None, -1
            continue
        aims = list(values)
        aims[APPLY if part.kind == "apply" else APPLY + 1] -= (part.most - length) * (1 if part.kind == "apply" else part.load)
        found[length] = tuple(aims)
        left = inside.minutes - sum(each.minutes for each in outlines[0])
    return found


class _Question:
    """The model of some lessons, and its aims in stages: in each as many as can be weighed and none gain by another's loss."""

    def __init__(self, insides: Sequence[Inside], loosened: Loosened = FIRM) -> None:
        self.model = cp_model.CpModel()
        self.lessons: list[LessonModel] = []
        for place, inside in reversed(list(enumerate(insides))):
            joined = replace(inside, joined=place > 0)
            after = self.lessons[0] if self.lessons else None
            self.lessons.insert(0, LessonModel(self.model, joined, after, loosened))
        for before, lesson in zip([None, *self.lessons], self.lessons, strict=False):
            only_wanted_checks(lesson, before)
        costs = [tuple(each) for each in zip(*(lesson.costs() for lesson in self.lessons), strict=True)]
        self.stages = in_stages([(sum(cost for cost, _ in each), sum(most for _, most in each)) for each in costs])
        self.solver = small_solver(EFFORT)
        parameters = self.solver.parameters
        # What these find in so small a model takes longer than the search.
        parameters.cp_model_presolve, parameters.cp_model_probing_level, parameters.linearization_level = False, 0, 0

    def settle(self) -> tuple[tuple[LessonOutline, ...] | None, list[int], bool]:
        """The best outlines, what each aim comes to, and whether that is proven; no outlines where there are none."""
        found: tuple[LessonOutline, ...] | None = None
        values: list[int] = []
        proven = True
        for number, stage in enumerate(self.stages):
            objective = weighed(stage)
            if not isinstance(objective, int):
                self.model.minimize(objective)
            status = self.solver.solve(self.model)
            if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                return found, values, status == cp_model.INFEASIBLE and found is None
            found = tuple(lesson.outline(self.solver) for lesson in self.lessons)
            proven = proven and status == cp_model.OPTIMAL
            for cost, _ in stage:
                values.append(cost if isinstance(cost, int) else int(self.solver.value(cost)))
                if number + 1 < len(self.stages) and not isinstance(cost, int):
                    self.model.add(cost <= values[-1])
        return found, values, proven


def _require(laid: Sequence[LaidOutline], counted: tuple[int, ...], values: tuple[int, ...], proven: bool) -> None:
    """The referee has to accept what was found, and to count what the model counts."""
    wrong = [f"{each.inside.ref}: {broken.name}: {broken.message}" for each in laid for broken in breaches(each)]
    if proven and counted != values:
        wrong.append(f"{laid[0].inside.ref}: aims {counted}, by the model {values}")
    if wrong:
        raise RefereeDisagrees("; ".join(wrong))
