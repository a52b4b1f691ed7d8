"""The aim `left out`."""

from __future__ import annotations

from typing import Any

from sequencer.aims.base import Aim, CostTerm, Objective
from sequencer.plan.sequence import Laid
from sequencer.words import LEFT_OUT


class LeftOut(Aim):
    """Sum of the priorities of optional lessons not placed."""

    name = LEFT_OUT

    def value(self, laid: Laid) -> int:
        return sum(lesson.priority for lesson in laid.lessons() if lesson.optional and not laid.placed(lesson.index))

    def cost(self, model: Any) -> Objective:
        constant, terms = 0, []
        for variables in model.variables.lessons.values():
            lesson = variables.lesson
            if lesson.optional:
                constant += lesson.priority
                terms.append(CostTerm(variables.placed, -lesson.priority, f"{lesson.ref} placed", lesson.class_index))
        return self.objective(terms, constant)

    def price(self, chain: Any) -> Any:
        return chain.price(absent={number: each.priority for number, each in enumerate(chain.lessons) if each.optional})
