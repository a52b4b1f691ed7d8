"""Cutting a unit's content into lessons: a CP-SAT model of which block of parts goes to which lesson.

Whether the parts of one lesson keep the rules of its inside in some order is not in it: that is asked of the lesson's own model,
and a set of parts that has no outline is ruled out. What is needed in any case (minutes, checks, breaks of stretches) is in it.
A first cut made by filling lessons is there before any model, so that there is one when the effort is spent.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from ortools.sat.python import cp_model

from sequencer.outlines.cut_question import (
    CutBlocks,
    CutQuestion,
    bits,
    checked_in,
    least_load_minutes,
    left_to_next,
    told_in,
)
from sequencer.outlines.first_cut import Lessons, as_many_as_stated, first_cut, parts_of
from sequencer.outlines.inside import BREAKING
from sequencer.outlines.inside_search import lessons_in
from sequencer.outlines.line_search import line_in
from sequencer.outlines.outline_search import small_solver
from sequencer.outlines.part_places import post

EFFORT = 4.5
"""The solver's deterministic time for the fewest lessons; each of the other two aims may take a third of it."""

EFFORT_INSIDE = 0.1
"""The same where rules of the inside of a lesson count, as they do in what people teach: reading waits for it."""

EFFORT_THEN = 0.13
"""What each of the other two aims may take there."""

STEPS = 150_000
"""Steps of the search for a line of so many lessons, where only minutes and order count."""

STEPS_INSIDE = 40_000
"""The same where rules look inside lessons, for each question that is asked."""

LEAST_EFFORT = 0.05
"""What a number of lessons is given when that is spent."""

ROUND = 0.005
"""What asking for the outlines of a cut's lessons counts for beside it."""


class NoCutFound(Exception):
    """No cut was found in the effort allowed, and whether there is one is open."""


@dataclass
class CutFound:
    """Positions of parts lesson by lesson, and what each aim comes to and comes to at least: lessons, splits, load minutes."""

    lessons: tuple[tuple[int, ...], ...]
    values: tuple[int, int, int]
    bounds: tuple[int, int, int]


@dataclass
class CutAnswer:
    """What a model of a cut says: the lessons, or none; a bound of what was made small; whether the question is settled."""

    lessons: Lessons | None
    bound: float
    settled: bool


@dataclass
class CutModel:
    """The model for one number of lessons; ``left`` is the solver's deterministic time that it may still take."""

    asked: CutQuestion
    count: int
    left: float
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)

    def __post_init__(self) -> None:
        asked, model, blocks = self.asked, self.model, self.asked.blocks
        self.every = range(self.count)
        where = [blocks.lessons_of(each, self.count) for each in range(len(blocks.held))]
        self.lies = [{s: model.new_bool_var("") for s in there} for there in where]
        for here in self.lies:
            model.add_exactly_one(here.values())
        for one, other in blocks.order:
            for s in where[other]:
                model.add(self._by(other, s) <= self._by(one, s))
        self.made = [model.new_int_var(0, len(asked.parts), "") if asked.made else 0 for _ in self.every]
        for s in self.every:
            self._lesson(s)
        self._enough_by_then()
        self.splits = [split for objective in asked.objectives if (split := self._objective(objective)) is not None]

    def _by(self, block: int, s: int) -> Any:
        return sum(here for lesson, here in self.lies[block].items() if lesson <= s)

    def here(self, place: int, s: int) -> Any:
        """Whether a part lies in a lesson; 0 where it cannot."""
        return self.lies[self.asked.blocks.of[place]].get(s, 0)

    def _sum(self, s: int, weights: Sequence[int]) -> Any:
        """The weights of the parts that lie in a lesson."""
        return sum(weight * self.here(place, s) for place, weight in enumerate(weights) if weight)

    def _lesson(self, s: int) -> None:
        asked, model, blocks, parts = self.asked, self.model, self.asked.blocks, self.asked.parts
        model.add_bool_or([here[s] for here in self.lies if s in here])
        model.add(self._sum(s, [part.most for part in parts]) + (asked.made or 0) * self.made[s] <= asked.minutes)
        for share in range(2, 7):
            longer = [each for each, lasts in enumerate(blocks.minutes) if share * lasts > asked.minutes]
            long = [self.lies[each][s] for each in longer if s in self.lies[each]]
            if len(long) >= share:
                model.add(sum(long) < share)
        if asked.stretch is not None:
            told = self._sum(s, [part.most if part.content else 0 for part in parts])
            breaks = self._sum(s, [int(part.kind in BREAKING) for part in parts])
            post(self.model, told <= asked.stretch * (breaks + self.made[s] + asked.stretches_around))
            alone = self._sum(s, [int(place in asked.alone) for place in range(len(parts))])
            post(self.model, alone <= breaks + self.made[s] + asked.stretches_around)
        needed: Any = 0
        for strand in asked.strands:
            wants = model.new_bool_var("")
            answered = sum(self.here(place, s) for place in strand.answers)
            for heavy in strand.heavy:
                post(self.model, wants >= self.here(heavy, s) - answered)
            needed = needed + wants
        post(self.model, needed <= self.made[s])

    def _enough_by_then(self) -> None:
        """What the lessons after one cannot hold lies in those up to it: minutes, and blocks of which few share a lesson."""
        blocks = self.asked.blocks
        measures = [(blocks.minutes, blocks.room)]
        measures += [([int(share * lasts > blocks.room) for lasts in blocks.minutes], share - 1) for share in (2, 3)]
        for weights, most in measures:
            for s in self.every:
                lacking = sum(weights) - most * (self.count - s - 1)
                if lacking > 0:
                    post(self.model, sum(weight * self._by(each, s) for each, weight in enumerate(weights) if weight) >= lacking)

    def _objective(self, objective: str) -> Any:
        """Its checks, and whether it is split; None where it cannot be."""
        asked, parts, those = self.asked, self.asked.parts, self.asked.parts_on(objective)
        explained = [place for place in those if parts[place].content]
        checks = [place for place in those if parts[place].kind == "check"]
        for s in self.every if asked.checked and explained else ():
            checked = sum(self.here(place, t) for place in checks for t in (s, s + 1) if t < self.count)
            for block in {asked.blocks.of[place] for place in explained}:
                if s in self.lies[block]:
                    post(self.model, self.lies[block][s] <= checked + self.made[s])
        blocks = list(dict.fromkeys(asked.blocks.of[place] for place in those))
        if len(blocks) < 2:
            return None
        split = self.model.new_bool_var("")
        for block in blocks[1:]:
            for s, here in self.lies[block].items():
                post(self.model, here <= self.lies[blocks[0]].get(s, 0) + split)
        return split

    def solve(self, objective: Any, hint: Lessons | None = None) -> CutAnswer:
        """The lessons with the least of an objective; what has no outline is ruled out until all has."""
        solver = small_solver(self.left)
        if objective is not None and self.asked.looks_inside:
            solver.parameters.linearization_level = 0  # rules of the inside leave a linear relaxation little to say
        if objective is not None:
            self.model.minimize(objective)
        if hint is not None:
            self.model.clear_hints()  # type: ignore[no-untyped-call]
            at = {self.asked.blocks.of[place]: s for s, held in enumerate(hint) for place in held}
            for block, here in enumerate(self.lies):
                for s, variable in here.items():
                    self.model.add_hint(variable, s == at[block])
        while True:
            solver.parameters.max_deterministic_time = max(0.01, self.left)
            status = solver.solve(self.model)
            self.left -= solver.response_proto.deterministic_time + ROUND
            if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                none = status == cp_model.INFEASIBLE
                return CutAnswer(None, math.inf if none else -math.inf, none)
            lies = [next(s for s, variable in here.items() if solver.value(variable)) for here in self.lies]
            of = self.asked.blocks.of
            lessons = [tuple(place for place, block in enumerate(of) if lies[block] == s) for s in self.every]
            without = [held for s, held in enumerate(lessons) if not self._has_outline(lessons, s)]
            if not without:
                bound = solver.best_objective_bound if objective is not None else 0
                return CutAnswer(lessons, bound, status == cp_model.OPTIMAL)
            if self.left <= 0:
                return CutAnswer(None, solver.best_objective_bound if objective is not None else 0, False)

    def _has_outline(self, lessons: Lessons, s: int) -> bool:
        """Whether a lesson has an outline; its set of parts is ruled out where it has none."""
        later = left_to_next(self.asked.parts, lessons, s)
        if self.asked.outline_of(lessons[s], later):
            return True
        self._rule_out(lessons[s], later)
        return False

    def _rule_out(self, held: tuple[int, ...], later: frozenset[str]) -> None:
        """No lesson holds just these parts, unless more of them is checked in the next."""
        parts, of = self.asked.parts, self.asked.blocks.of
        inside = {of[place] for place in held}
        told = told_in(parts, held) - checked_in(parts, held) - later
        helps = {of[place] for place, part in enumerate(parts) if part.kind == "check" and told & set(part.objectives)}
        for s in self.every:
            if all(s in self.lies[block] for block in inside):
                others = [here[s] for block, here in enumerate(self.lies) if block not in inside and s in here]
                after = [self.lies[block][s + 1] for block in helps if s + 1 in self.lies[block]]
                self.model.add_bool_or([*(self.lies[block][s].Not() for block in inside), *others, *after])

    def load_minutes(self) -> Any:
        """The greatest load minutes of a lesson."""
        weights = self.asked.load_minutes
        greatest = self.model.new_int_var(least_load_minutes(self.asked, self.count), sum(weights), "")
        for s in self.every:
            self.model.add(greatest >= self._sum(s, weights))
        return greatest


def cut(asked: CutQuestion) -> CutFound | None:
    """The best cut: fewest lessons, fewest objectives split, the least greatest load minutes; None where there is none.

    Raises
    ------
    NoCutFound
        When the effort is spent without one, and there may be one.
    """
    blocks = asked.blocks
    if max(blocks.minutes) > asked.minutes:
        return None
    least = max(asked.fewest, blocks.fewest)
    most = min(asked.most_lessons, len(blocks.held))
    best = first_cut(asked, least)
    if best is not None and not asked.fewest <= len(best) <= most:
        best = None
    if not asked.looks_inside:
        best, least = _line(asked, best, least, most)
    count, left, sure = least, min(EFFORT, EFFORT_INSIDE) if asked.looks_inside else EFFORT, True
    while count <= most and (best is None or count < len(best)):
        lessons, settled = lessons_in(asked, count, STEPS_INSIDE) if asked.looks_inside else (None, False)
        if lessons is not None:
            best = lessons
            break
        if settled:
            count += 1
            least = count if sure else least
            continue
        last = best is not None and count + 1 == len(best)
        effort = max(left if last else left / 2, LEAST_EFFORT)
        model = CutModel(asked, count, effort)
        answer = model.solve(None)
        left -= effort - model.left
        if answer.lessons is not None:
            best = answer.lessons
            break
        count += 1
        sure = sure and answer.settled
        least = count if sure else least
    if best is None and not sure:
        raise NoCutFound
    return None if best is None else _settle(asked, best, least)


def _line(asked: CutQuestion, best: Lessons | None, least: int, most: int) -> tuple[Lessons | None, int]:
    """The best cut where only minutes and order count, and how many lessons there are at least: more hold what fewer do."""
    if best is None or len(best) > least:
        least = _by_pairs(asked.blocks, least)
    for count in range(least, len(best) if best is not None else most + 1):
        found, settled = line_in(asked.blocks, count, STEPS)
        if found is not None:
            return as_many_as_stated(asked, [parts_of(asked.blocks, taken) for taken in found]), least
        least = count + 1 if settled else least
    return best, least


def _by_pairs(blocks: CutBlocks, least: int) -> int:
    """At least so many lessons hold the blocks longer than a third of one: as many as are left once most lie two by two."""
    long = [each for each, lasts in enumerate(blocks.minutes) if 3 * lasts > blocks.room]
    if len(long) <= least:
        return least
    model = cp_model.CpModel()
    pairs: dict[tuple[int, int], Any] = {}
    for place, one in enumerate(long):
        for other in long[:place]:
            between = (blocks.after[one] & blocks.before[other]) | (blocks.after[other] & blocks.before[one])
            if blocks.minutes[one] + blocks.minutes[other] + sum(blocks.minutes[each] for each in bits(between)) <= blocks.room:
                pairs[one, other] = model.new_bool_var("")
    for each in long:
        model.add_at_most_one(here for pair, here in pairs.items() if each in pair)
    model.maximize(sum(pairs.values()))
    solver = small_solver(min(EFFORT, 1.0))
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return least
    return max(least, len(long) - int(solver.best_objective_bound + 1e-6))


def _settle(asked: CutQuestion, lessons: Lessons, fewest: int) -> CutFound:
    """The number of lessons is settled: now splits, by the model and then the search where that leaves them open; then load."""
    effort = min(EFFORT, EFFORT_THEN) if asked.looks_inside else EFFORT / 3
    count = len(lessons)
    model = CutModel(asked, count, effort)
    splits, least_splits = sum(model.splits), 0
    if model.splits:
        answer = model.solve(splits, lessons)
        lessons = answer.lessons or lessons
        least_splits, settled = _whole(answer.bound), asked.looks_inside
        while settled and least_splits < asked.splits(lessons):
            found, settled = lessons_in(asked, count, STEPS_INSIDE, least_splits)
            lessons = found or lessons
            least_splits += found is None and settled
        model.model.add(splits <= asked.splits(lessons))
    model.left = effort
    answer = model.solve(model.load_minutes(), lessons)
    lessons = answer.lessons or lessons
    least_load = max(_whole(answer.bound), least_load_minutes(asked, count))
    values = (count, asked.splits(lessons), asked.load(lessons))
    return CutFound(tuple(lessons), values, (fewest, least_splits, least_load))


def _whole(bound: float) -> int:
    return max(0, math.ceil(bound - 1e-6)) if math.isfinite(bound) else 0
