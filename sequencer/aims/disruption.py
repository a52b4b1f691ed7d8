"""The aim `disruption`, which no scenario lists: it comes before all others, or after them, where a plan is made again."""

from __future__ import annotations

from typing import Any

from sequencer.aims.base import Aim, CostTerm, Objective
from sequencer.plan.differences import MoveWeights, Standing, displaced
from sequencer.plan.sequence import Laid
from sequencer.words import DISRUPTION


class LessonsMoved(Aim):
    """What the lessons weigh that do not lie where they stood; one each unless weights are given."""

    name = DISRUPTION

    def __init__(self, standing: Standing, weights: MoveWeights | None = None) -> None:
        self.standing = standing
        self._weights = weights or MoveWeights()

    def value(self, laid: Laid) -> int:
        return displaced(laid, self.standing, self._weights)

    def price(self, chain: Any) -> Any:
        starts, absent = {}, {}
        for number, lesson in enumerate(chain.lessons):
            if lesson.index in self.standing:
                old, _ = self.standing[lesson.index]
                chain.kept_apart.add(number)
                absent[number] = self._weights.of(lesson.class_index, old, None)
                for slot in chain.facts.slots:
                    if (slot.date, slot.period) != self.standing[lesson.index]:
                        starts[number, slot.number] = self._weights.of(lesson.class_index, old, slot.date)
        return chain.price(starts=starts, absent=absent)

    def cost(self, model: Any) -> Objective:
        """Each counts as if it were not placed, less what the start that it has makes cheaper, or dearer.

        A lesson that was taught before its class's first period has no start, and none that stood can lie there.
        """
        count, terms, floor = 0, [], 0
        for index, variables in model.variables.lessons.items():
            lesson = variables.lesson
            if index not in self.standing or lesson.earlier:
                continue
            old, _ = self.standing[index]
            gone = self._weights.of(lesson.class_index, old, None)
            slots = model.instance.slots_for(lesson)
            least = gone
            for start in variables.starts:
                slot = slots[start]
                stays = (slot.date, slot.period) == self.standing[index]
                weight = 0 if stays else self._weights.of(lesson.class_index, old, slot.date)
                least = min(least, weight)
                if weight != gone:
                    terms.append(
                        CostTerm(variables.at(start), weight - gone, f"{lesson.ref} in period {start}", lesson.class_index)
                    )
            count += gone
            floor += least
        return self.objective(terms, count, floor)
