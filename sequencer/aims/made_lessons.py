"""The aim `made lessons`."""

from __future__ import annotations

from typing import Any

from sequencer.aims.base import Aim, CostTerm, Objective
from sequencer.plan.sequence import Laid
from sequencer.words import MADE_LESSONS


class MadeLessons(Aim):
    """Lessons that patterns made and the sequence holds."""

    name = MADE_LESSONS

    def value(self, laid: Laid) -> int:
        return sum(lesson.made is not None for lesson in laid.all_placed())

    def cost(self, model: Any) -> Objective:
        made = [each for each in model.variables.lessons.values() if each.lesson.made is not None and not each.lesson.earlier]
        open_ = [each for each in made if each.placed is not model.posting.true]
        sure = len(made) - len(open_)
        terms = (CostTerm(each.placed, 1, f"{each.name} is made", each.lesson.class_index) for each in open_)
        return self.objective(terms, sure, sure)

    def price(self, chain: Any) -> Any:
        made = [number for number, lesson in enumerate(chain.lessons) if lesson.made is not None]
        return chain.price(starts={(number, slot): 1 for number in made for slot in range(chain.count)})
