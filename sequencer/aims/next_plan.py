"""The aim `left for the next plan`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sequencer.aims.base import Aim, CostTerm, Objective
from sequencer.plan.outcomes import CARRIED, practices, retrievals
from sequencer.plan.sequence import Laid
from sequencer.words import NEXT_PLAN


class LeftForTheNextPlan(Aim):
    """Practices and retrievals carried over, without those that are late."""

    name = NEXT_PLAN

    def value(self, laid: Laid) -> int:
        return sum(outcome.state == CARRIED for outcome in practices(laid) + retrievals(laid))

    def cost(self, model: Any) -> Objective:
        return self.objective(carried_terms(model))

    def price(self, chain: Any) -> Any:
        return chain.price(carried=True) if chain.carrying else None


def carried_terms(model: Any) -> Iterator[CostTerm]:
    """One for each practice and retrieval that may be carried over."""
    for (_, index), literals in model.carried.items():
        lesson = model.instance.lessons[index]
        yield from (CostTerm(literal, 1, f"{lesson.ref} carried over", lesson.class_index) for literal in literals)
