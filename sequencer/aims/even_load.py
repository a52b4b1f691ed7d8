"""The aim `even load`."""

from __future__ import annotations

from collections import Counter
from typing import Any

from sequencer.aims.base import Aim, CostTerm, Objective
from sequencer.plan.sequence import Laid
from sequencer.words import EVEN_LOAD


class EvenLoad(Aim):
    """Sum over classes of the heaviest school week's load."""

    name = EVEN_LOAD

    def value(self, laid: Laid) -> int:
        heaviest = 0
        for facts in laid.classes:
            weekly: Counter[int] = Counter()
            for lesson in laid.in_order(facts.index):
                weekly[laid.first_slot(lesson.index).week.number] += lesson.load
            heaviest += max(weekly.values(), default=0)
        return heaviest

    def cost(self, model: Any) -> Objective:
        """It is never under the even share of what is sure to be placed."""
        terms, floor = [], 0
        for facts in model.classes():
            variables = [model.variables.lessons[index] for index in facts.lessons]
            weeks = tuple(dict.fromkeys(slot.week for slot in facts.slots))
            if not weeks:
                continue
            sure = [each.lesson.load for each in variables if each.placed is model.posting.true]
            least = max(-(-sum(sure) // len(weeks)), max(sure, default=0))
            most = max(least, sum(each.lesson.load for each in variables))
            heaviest = model.posting.integer(least, most, f"{facts.id} heaviest week")
            for week in weeks:
                load = model.total((literal, lesson.load) for lesson, literal in model.in_week(facts, week))
                model.posting.linear(model.statement(9, f"{facts.id}: load of week {week.number}"), load <= heaviest)
            terms.append(CostTerm(heaviest, 1, f"{facts.id} heaviest week", facts.index))
            floor += least
        return self.objective(terms, floor=floor)

    def price(self, chain: Any) -> Any:
        return chain.price(heaviest=True)
