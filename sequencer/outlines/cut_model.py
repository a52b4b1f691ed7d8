"""Cutting a unit's content into lessons: a CP-SAT model of which part goes to which lesson.

Whether the parts of one lesson keep the rules of its inside in some order is not in it: that is asked of the lesson's own model,
and a set of parts that has no outline is ruled out. What is needed in any case (minutes, checks, breaks of stretches) is in it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

from ortools.sat.python import cp_model

from sequencer.outlines.inside import BREAKING, PartFacts
from sequencer.outlines.outline_search import small_solver

EFFORT = 1.0
"""The solver's deterministic time for each question: whether a number of lessons will do, splits, greatest load minutes."""


@dataclass(frozen=True)
class CutQuestion:
    """What is to be cut.

    Parameters
    ----------
    parts
        The content in the order listed, ``most`` being the minutes that count.
    minutes
        What a lesson's own parts may take, opening and closing parts taken off.
    order
        Pairs of parts of which the second lies in no earlier lesson than the first.
    splittable
        Objectives that may be split.
    fewest, most_lessons
        How many lessons are tried, from the least.
    stretch, content_around
        Rule 3's most minutes, None where it does not hold; minutes explained in opening and closing parts.
    made
        Minutes of a made check; None where none are made.
    checked
        Whether rule 5 holds: what is explained is checked in the lesson or the next.
    outline_of
        Whether the parts of a lesson, by their positions, have an outline: ``later`` are objectives checked in the next lesson.
    """

    parts: tuple[PartFacts, ...]
    minutes: int
    order: tuple[tuple[int, int], ...]
    splittable: frozenset[str]
    fewest: int
    most_lessons: int
    stretch: int | None
    content_around: int
    made: int | None
    checked: bool
    outline_of: Callable[[tuple[int, ...], frozenset[str]], bool]


@dataclass
class CutFound:
    """Positions of parts lesson by lesson, and what each aim comes to and comes to at least: lessons, splits, load minutes."""

    lessons: tuple[tuple[int, ...], ...]
    values: tuple[int, int, int]
    bounds: tuple[int, int, int]


@dataclass
class _Cut:
    """The model for one number of lessons."""

    asked: CutQuestion
    count: int
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    known: dict[tuple[tuple[int, ...], frozenset[str]], bool] = field(default_factory=dict)

    def __post_init__(self) -> None:
        asked, model, lessons = self.asked, self.model, range(self.count)
        parts = asked.parts
        self.lies = [[model.new_bool_var("") for _ in lessons] for _ in parts]
        for here in self.lies:
            model.add_exactly_one(here)
        self.by = [[sum(here[: s + 1]) for s in lessons] for here in self.lies]
        for one, other in asked.order:
            for s in lessons[:-1]:
                model.add(self.by[other][s] <= self.by[one][s])
        made = [model.new_int_var(0, len(parts), "") if asked.made else 0 for _ in lessons]
        for s in lessons:
            held = [here[s] for here in self.lies]
            model.add_bool_or(held)
            taken = sum(part.most * here for part, here in zip(parts, held, strict=True))
            model.add(taken + (asked.made or 0) * made[s] <= asked.minutes)
            if asked.stretch is not None:
                told = sum(part.most * here for part, here in zip(parts, held, strict=True) if part.content)
                breaks = sum(here for part, here in zip(parts, held, strict=True) if part.kind in BREAKING)
                around = math.ceil((asked.content_around or 1) / asked.stretch) + 2 if asked.content_around else 1
                model.add(told <= asked.stretch * (breaks + made[s] + around))
        self.splits: list[Any] = []
        for objective in dict.fromkeys(word for part in parts for word in part.objectives):
            those = [place for place, part in enumerate(parts) if objective in part.objectives and _counts(part)]
            self._objective(objective, those, made)

    def _objective(self, objective: str, those: list[int], made: Sequence[Any]) -> None:
        asked, model, lessons = self.asked, self.model, range(self.count)
        split: Any = 0
        if len(those) > 1 and objective in asked.splittable:
            split = model.new_bool_var("")
            self.splits.append(split)
        for place in those[1:]:
            for s in lessons:
                model.add(self.lies[place][s] <= self.lies[those[0]][s] + split)
        explained = [place for place in those if asked.parts[place].content]
        checks = [place for place in those if asked.parts[place].kind == "check"]
        for s in lessons if asked.checked and explained else ():
            here = sum(self.lies[place][s] for place in checks)
            later = sum(self.lies[place][s + 1] for place in checks) if s + 1 < self.count else 0
            for place in explained:
                model.add(self.lies[place][s] <= here + later + made[s])

    def solve(self, objective: Any, limit: Any = None) -> tuple[list[tuple[int, ...]] | None, float, bool]:
        """The lessons with the least of an objective, its bound, and whether the question was settled."""
        left = EFFORT
        solver = small_solver(left)
        if objective is not None:
            self.model.minimize(objective)
        while True:
            solver.parameters.max_deterministic_time = max(0.01, left)
            status = solver.solve(self.model)
            left -= solver.response_proto.deterministic_time
            if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                return None, math.inf if status == cp_model.INFEASIBLE else -math.inf, status == cp_model.INFEASIBLE
            lessons = [tuple(place for place, here in enumerate(self.lies) if solver.value(here[s])) for s in range(self.count)]
            ruled_out = False
            for s, held in enumerate(lessons):
                after = lessons[s + 1] if s + 1 < self.count else ()
                later = checked_in(self.asked.parts, after)
                if (held, later) not in self.known:
                    self.known[held, later] = self.asked.outline_of(held, later)
                if not self.known[held, later]:
                    ruled_out = True
                    self._rule_out(held, later)
            if not ruled_out:
                return lessons, solver.best_objective_bound if objective is not None else 0, status == cp_model.OPTIMAL
            if left <= 0:
                return None, -math.inf, False

    def _rule_out(self, held: tuple[int, ...], later: frozenset[str]) -> None:
        """No lesson holds just these parts, unless more of them is checked in the next."""
        parts = self.asked.parts
        told = {word for place in held if parts[place].content for word in parts[place].objectives} - later
        helps = [place for place, part in enumerate(parts) if part.kind == "check" and told & set(part.objectives)]
        for s in range(self.count):
            others = [self.lies[place][s] for place in range(len(parts)) if place not in held]
            here = [self.lies[place][s].Not() for place in held]
            after = [self.lies[place][s + 1] for place in helps] if s + 1 < self.count else []
            self.model.add_bool_or([*here, *others, *after])

    def load_minutes(self) -> Any:
        """The greatest load minutes of a lesson."""
        parts = self.asked.parts
        weights = [part.most * part.load for part in parts]
        greatest = self.model.new_int_var(0, sum(weights), "")
        for s in range(self.count):
            self.model.add(greatest >= sum(weight * here[s] for weight, here in zip(weights, self.lies, strict=True)))
        self.model.add(greatest >= max(max(weights), math.ceil(sum(weights) / self.count)))
        return greatest


def checked_in(parts: Sequence[PartFacts], held: Sequence[int]) -> frozenset[str]:
    """The objectives that listed check parts among those held are on."""
    return frozenset(word for place in held if parts[place].kind == "check" for word in parts[place].objectives)


def _counts(part: PartFacts) -> bool:
    """Whether an objective is split where a part on it lies in another lesson."""
    return part.content or part.answering


def cut(asked: CutQuestion) -> CutFound | None:
    """The best cut: fewest lessons, fewest objectives split, the least greatest load minutes; None where there is none."""
    least = max(asked.fewest, fewest_by_arithmetic([part.most for part in asked.parts], asked.minutes))
    sure = True
    for count in range(least, min(asked.most_lessons, len(asked.parts)) + 1):
        model = _Cut(asked, count)
        lessons, _, settled = model.solve(None)
        if lessons is not None:
            return _settle(model, lessons, count if sure else least)
        sure = sure and settled
        least = count + 1 if sure else least
    return None


def fewest_by_arithmetic(minutes: Sequence[int], room: int) -> int:
    """At least so many lessons hold parts of these minutes, whatever their order.

    Of parts longer than a kth of the room fewer than k share a lesson; and parts of more than half of it have a lesson each, in
    which only so much is left for the parts between (Martello and Toth 1990, from memory).
    """
    best = math.ceil(sum(minutes) / max(1, room))
    for share in range(2, 7):
        best = max(best, math.ceil(sum(share * each > room for each in minutes) / (share - 1)))
    for small in {0, *(each for each in minutes if 2 * each <= room)}:
        alone = sum(each > room - small for each in minutes)
        halves = [each for each in minutes if room - small >= each and 2 * each > room]
        between = sum(each for each in minutes if small <= each and 2 * each <= room)
        over = between - (len(halves) * room - sum(halves))
        best = max(best, alone + len(halves) + max(0, math.ceil(over / room)))
    return best


def _settle(model: _Cut, lessons: list[tuple[int, ...]], fewest: int) -> CutFound:
    """The number of lessons is settled: now splits, then load minutes."""
    splits, least_splits = sum(model.splits), 0
    if model.splits:
        found, bound, _ = model.solve(splits)
        lessons = found if found is not None else lessons
        least_splits = max(0, math.ceil(bound - 1e-6)) if math.isfinite(bound) else 0
        model.model.add(splits <= _splits(model, lessons))
    greatest = model.load_minutes()
    found, bound, _ = model.solve(greatest)
    lessons = found if found is not None else lessons
    least_load = max(0, math.ceil(bound - 1e-6)) if math.isfinite(bound) else 0
    parts = model.asked.parts
    load = max(sum(parts[place].most * parts[place].load for place in held) for held in lessons)
    return CutFound(tuple(lessons), (len(lessons), _splits(model, lessons), load), (fewest, least_splits, least_load))


def _splits(model: _Cut, lessons: Sequence[Sequence[int]]) -> int:
    """How many objectives lie in more than one lesson."""
    found: dict[str, set[int]] = {}
    for s, held in enumerate(lessons):
        for place in held:
            for word in model.asked.parts[place].objectives if _counts(model.asked.parts[place]) else ():
                found.setdefault(word, set()).add(s)
    return sum(len(lie) > 1 for lie in found.values())
