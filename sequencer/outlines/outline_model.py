"""One small CP-SAT model for a lesson's outline, or for several joined by carrying over.

Rules speak to a lesson's model only through what it offers here and in ``part_places.py`` (``part_rule.py`` says how).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ortools.sat.python import cp_model

from sequencer.outlines.inside import BREAKING, MIDDLE, Inside, PartFacts
from sequencer.outlines.laid_outline import LessonOutline, PlacedPart
from sequencer.outlines.outline_aims import AIMS
from sequencer.outlines.part_places import FIRM, Element, Loosened, PartPlaces
from sequencer.outlines.part_rule import never
from sequencer.outlines.part_rules import PART_RULES


class LessonModel(PartPlaces):
    """The model of one lesson's outline inside a solver's model."""

    def __init__(self, model: cp_model.CpModel, inside: Inside, after: LessonModel | None, loosened: Loosened = FIRM) -> None:
        super().__init__(model, inside, loosened)
        self.next = after
        self._covers: dict[tuple[str, int], Any] = {}
        self._explained: dict[str, Any] = {}
        self.left: dict[str, Any] = {}
        """For each objective that may be left to the unit's next lesson to check: whether it is."""
        self.heavy_left: list[tuple[Element, Any]] = []
        """For each heavy part that may be left to the unit's next lesson: whether it is."""
        self.broken_heavy: dict[str, Any] = {}
        """For each heavy part, by its id: whether rule 4 is broken for it."""
        self._carried: dict[str, Any] = {}
        self._goes_on: dict[int, Any] = {}
        self._running: list[tuple[int, Any]] | None = None
        for rule in sorted(PART_RULES, key=lambda rule: rule.key == "order_of_parts"):
            numbers = inside.rules[rule.key]
            if numbers is not None and rule.key not in loosened.rules:
                rule.post(self, numbers)

    # -- what rules ask for -----------------------------------------------------------------------------------------

    def explained(self, objective: str) -> Any:
        """Whether an objective is explained or modelled at all."""
        if objective not in self._explained:
            those = [
                each for each in self.elements if each.part.content and objective in each.part.objectives and each.piece == 0
            ]
            if any(self.sure(each) for each in those):
                self._explained[objective] = 1
            elif not those:
                self._explained[objective] = 0
            else:
                found = self._explained[objective] = self.boolean()
                for each in those:
                    self.post(found >= self._present[each])
                self.post(found <= sum(self._present[each] for each in those))
        return self._explained[objective]

    def covers(self, objective: str, q: int) -> Any:
        """Whether a made check before a position is on an objective: it was explained or modelled before."""
        if (objective, q) not in self._covers:
            made = self.made_before(q)
            before = [self.by(each, q - 1) for each in self.elements if each.part.content and objective in each.part.objectives]
            before = [each for each in before if not never(each)]
            if not before:
                self._covers[objective, q] = 0
            elif any(isinstance(each, int) for each in before):
                self._covers[objective, q] = made
            else:
                covers = self._covers[objective, q] = self.boolean()
                self.post(covers <= made)
                self.post(covers <= sum(before))
                for each in before:
                    self.post(covers >= made + each - 1)
        return self._covers[objective, q]

    def left_to_check(self, objective: str) -> Any:
        """Whether an objective is left to the unit's next lesson to check; 0 where it may not be."""
        numbers = self.inside.rules["whole_objectives"]
        if self.next is None or numbers is None or not numbers.carry_over or "whole_objectives" in self.loosened.rules:
            return 0
        if objective not in self.left:
            self.left[objective] = self.boolean()
        return self.left[objective]

    def carry(self, objectives: Sequence[str], carried: Any) -> None:
        """Count objectives as carried over where a literal holds."""
        for objective in objectives:
            if objective not in self.inside.unexplained:
                counted = self._carried.setdefault(objective, self.boolean())
                self.post(counted >= carried)

    def takes(self, heavy: PartFacts) -> Any:
        """Whether a check or an apply part on a heavy part of the lesson before comes straight after the opening."""
        return sum(self.taking(heavy))

    def taking(self, heavy: PartFacts, listed: bool = False) -> list[Any]:
        """Each check or apply part that may be it, and whether it stands there; only those that are listed, where wanted."""
        first = self._between.start
        those = [each for each in self.elements if each.part.where == MIDDLE and each.part.answering and each.part.shares(heavy)]
        return [*(self.at(each, first) for each in those), *([] if listed else [self.made_before(first)])]

    # -- stretches --------------------------------------------------------------------------------------------------

    @property
    def running(self) -> list[tuple[int, Any]]:
        """For each position, the minutes explained up to it since the last check, apply or recall part, at least."""
        if self._running is None:
            self._running = []
            before: Any = 0
            for p in self.positions if self.longest else ():
                running = self.model.new_int_var(0, self.longest, "")
                breaks, made = self.breaks(p), self.made_before(p)
                if not never(before):
                    self.post(running >= before - self.longest * (breaks + made))
                for each in self.elements:
                    here = self.at(each, p)
                    if not each.part.content or never(here):
                        continue
                    minutes = self._minutes[each]
                    lacking = 1 - here
                    self.post(running >= minutes - each.part.most * lacking)
                    if not never(before):
                        self.post(running >= before + minutes - (self.longest + each.part.most) * lacking - self.longest * made)
                self._running.append((p, running))
                before = running
        return self._running

    def breaks(self, p: int) -> Any:
        """Whether what lies at a position ends a stretch."""
        return sum(self.at(each, p) for each in self.elements if each.part.kind in BREAKING)

    def goes_on(self, p: int) -> Any:
        """Whether a stretch may go on after a position: nothing that ends it follows at once."""
        if p == self.positions[-1]:
            return 0
        if p not in self._goes_on:
            goes_on = self._goes_on[p] = self.boolean()
            self.post(goes_on <= 1 - self.breaks(p + 1))
            self.post(goes_on <= 1 - self.made_before(p + 1))
        return self._goes_on[p]

    @property
    def stretch(self) -> Any:
        """The longest stretch."""
        if not self.longest:
            return 0
        longest = self.model.new_int_var(0, self.longest, "")
        for _, running in self.running:
            self.post(longest >= running)
        return longest

    # -- aims, and what was found -----------------------------------------------------------------------------------

    @property
    def wishes(self) -> tuple[Any, int]:
        """What wishes cost that are not granted, and the most that can be."""
        return (
            sum(weight * slack for slack, _, weight in self._wishes),
            sum(most * weight for _, most, weight in self._wishes),
        )

    @property
    def carried(self) -> tuple[Any, int]:
        """How many objectives are carried over, and the most that can be."""
        unexplained = len(self.inside.unexplained)
        return unexplained + sum(self._carried.values()), unexplained + len(self._carried)

    def costs(self) -> list[tuple[Any, int]]:
        """The cost of each aim, with the most that it can be; that of cutting the lesson before them, where it may be cut."""
        cut = [(sum(self.cuts), 10_000)] if self.loosened.cut else []
        return [*cut, *(aim.cost(self) for aim in AIMS)]

    def outline(self, solver: cp_model.CpSolver) -> LessonOutline:
        """The outline that was found."""
        placed = []
        for p in range(len(self.positions) + 1):
            made = self.made_before(p)
            if not never(made) and solver.value(made):
                placed.append(PlacedPart(None, self._made_takes))
            for each in self.elements:
                here = self.at(each, p)
                if not never(here) and solver.value(here):
                    placed.append(PlacedPart(each.index, int(solver.value(self._minutes[each]))))
        return tuple(placed)
