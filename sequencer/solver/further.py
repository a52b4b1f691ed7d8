"""Further sequences within limits on the aims, each as different as can be from all those before it."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from sequencer.errors import RefereeDisagrees
from sequencer.plan.differences import least_difference
from sequencer.plan.sequence import Sequence, joined
from sequencer.plan.tidy import without_idle_live
from sequencer.solver.model import Prepared, build_model
from sequencer.solver.posting import Posting, total
from sequencer.solver.progress import Progress
from sequencer.solver.solution import hint_solution, sequence_found
from sequencer.solver.solver_calls import Budget, Calls, Watcher
from sequencer.words import LIVE


@dataclass(frozen=True)
class Limit:
    """The most that an aim may come to over some groups of classes together; aim and groups are positions."""

    aim: int
    groups: tuple[int, ...]
    most: int


@dataclass(frozen=True)
class Step:
    """What the search for one further sequence has come to.

    Parameters
    ----------
    sequence
        The one found; None when none was found that differs from all before.
    difference
        The least number of lessons in which it differs from one of those before; 0 without a sequence.
    bound
        No sequence within the limits differs from each of those before in more lessons; 0 proves that there is no further one.
    """

    sequence: Sequence | None
    difference: int
    bound: int


class FurtherSearch:
    """Looks for one further sequence after the other, each to differ from the best one and from those before it.

    The groups stand side by side in one model although they share no rule: what a joined sequence differs in, and what it
    loses on an aim, is a sum over them, and the least of several such sums is not made great group by group. The best sequence
    keeps the limits.
    """

    def __init__(
        self,
        prepared: Prepared,
        groups: tuple[tuple[int, ...], ...],
        limits: tuple[Limit, ...],
        best: Sequence,
        calls: Calls,
        report: Callable[[Progress], None] | None,
    ) -> None:
        self._instance = prepared.instance
        self._posting = Posting()
        self._models = tuple(build_model(prepared, group, self._posting) for group in groups)
        self._calls = calls
        self._report = report
        self._started = time.monotonic()
        for limit in limits:
            self._hold(limit)
        self._most = sum(len(facts.lessons) for model in self._models for facts in model.parts.classes())
        self._least = self._posting.integer(0, self._most, "least number of lessons that differ from a sequence before")
        self._posting.model.maximize(self._least)
        self._before: list[Sequence] = []
        self._differ_from(best)
        self._hint(best)

    def next(self, budget: Budget) -> Step:
        """Look for the next sequence within the budget."""
        step = Step(None, 0, self._most)

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            nonlocal step
            if status == cp_model.INFEASIBLE:
                raise RefereeDisagrees("the model proves that no sequence is as good as the one that is held")
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                step = self._better(step, solver, status == cp_model.OPTIMAL)
            return status == cp_model.OPTIMAL

        watcher = _Watcher(self) if self._report is not None else None
        budget.effort -= self._calls.run(self._posting.model, budget, take, watcher=watcher)
        if step.sequence is not None:
            self._differ_from(step.sequence)
            # The next search starts from the sequence found, from which it does not differ.
            self._posting.model.proto.solution_hint.values[self._least.index] = 0
        return step

    def tell(self, difference: int, bound: int) -> None:
        """Report what the search has reached, where anybody listens."""
        if self._report is not None:
            classes = tuple(facts.id for facts in self._instance.classes)
            seconds = time.monotonic() - self._started
            self._report(Progress(f"alternative {len(self._before)}", classes, difference, bound, seconds))

    def _hold(self, limit: Limit) -> None:
        aims = [self._models[group].aims[limit.aim] for group in limit.groups]
        terms = [(term.variable, term.weight) for aim in aims for term in aim.terms]
        if terms:
            self._posting.model.add(total(terms) <= limit.most - sum(aim.constant for aim in aims))

    def _differ_from(self, sequence: Sequence) -> None:
        """The number of lessons that lie elsewhere than in this sequence is at least the least difference."""
        self._before.append(sequence)
        slots = {placement.lesson: placement.slot for placement in sequence.placements}
        terms, constant = [], 0
        for model in self._models:
            for index in (index for facts in model.parts.classes() for index in facts.lessons):
                variables = model.parts.variables.lessons[index]
                if index in slots:
                    terms.append((variables.at(slots[index]), -1))
                    constant += 1
                else:
                    terms.append((variables.placed, 1))
        self._posting.model.add(self._least <= total(terms) + constant)

    def _hint(self, sequence: Sequence) -> None:
        """Where the lessons lie and how they are taught: a search that starts from the best sequence keeps the limits."""
        placed = {placement.lesson: placement for placement in sequence.placements}
        hints: dict[int, int] = {}
        for model in self._models:
            for index, variables in model.parts.variables.lessons.items():
                here = placed.get(index)
                if variables.lesson.earlier:
                    continue
                hints |= {variables.at(start).index: here is not None and here.slot == start for start in variables.starts}
                if here is not None:
                    live = model.parts.variables.classes[variables.lesson.class_index].starts_live(here.slot)
                    hints |= {live.index: here.taught == LIVE} if live is not None else {}
        proto = self._posting.model.proto
        for variable, value in hints.items():
            proto.solution_hint.vars.append(variable)
            proto.solution_hint.values.append(int(value))

    def _better(self, step: Step, solver: cp_model.CpSolver, proven: bool) -> Step:
        """The step with what the solver found and proved in addition."""
        bound = min(step.bound, math.floor(solver.best_objective_bound + 1e-6))
        placed = joined(sequence_found(model.parts, solver) for model in self._models)
        sequence = without_idle_live(self._instance, placed)
        difference = least_difference(self._instance, self._before, sequence)
        if difference > bound or (proven and difference < bound):
            raise RefereeDisagrees(f"the model proves a difference of {bound} lessons, counted by hand it is {difference}")
        if difference <= step.difference:
            return Step(step.sequence, step.difference, bound)
        hint_solution(self._posting.model, solver)
        return Step(sequence, difference, bound)


class _Watcher(Watcher):
    def __init__(self, search: FurtherSearch) -> None:
        super().__init__()
        self._search = search

    def on_solution_callback(self) -> None:
        self._search.tell(round(self.objective_value), math.floor(self.best_objective_bound + 1e-6))
