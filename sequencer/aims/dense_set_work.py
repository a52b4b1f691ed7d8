"""The aim `dense as set work`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from sequencer.aims.base import Aim, CostTerm, Objective
from sequencer.instance.facts import LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.words import DENSE_SET_WORK, OPEN, SET_WORK


class DenseAsSetWork(Aim):
    """Dense lessons that are set work, unless they avoid or refuse live."""

    name = DENSE_SET_WORK

    def value(self, laid: Laid) -> int:
        return sum(lesson.better_live and laid.taught(lesson.index) == SET_WORK for lesson in laid.all_placed())

    def cost(self, model: Any) -> Objective:
        return self.objective(taught_terms(model, lambda lesson: SET_WORK if lesson.better_live else None))

    def price(self, chain: Any) -> Any:
        """Where it cannot be otherwise; what is open to choice is taken to be live."""
        better = [number for number, lesson in enumerate(chain.lessons) if lesson.better_live]
        starts = [(number, slot) for number in better for slot in chain.starts_of(number)]
        unwanted = {start: 1 for start in starts if chain.taught_from(*start) == SET_WORK}
        chain.kept_apart.update(number for number, _ in unwanted)
        return chain.price(starts=unwanted) if unwanted else None


def taught_terms(model: Any, unwanted: Callable[[LessonFacts], str | None]) -> Iterator[CostTerm]:
    """A literal for each lesson that could be taught in the way that is unwanted for it: that it is."""
    for variables in model.variables.lessons.values():
        lesson = variables.lesson
        against = unwanted(lesson)
        if against is None or lesson.earlier:
            continue
        cost = model.posting.boolean(f"{lesson.ref} of class {lesson.class_index} is {against}")
        statement = model.statement(5, f"{lesson.ref}: better not {against}")
        live = model.variables.classes[lesson.class_index].live_starts
        possible = False
        for start in variables.starts:
            together = model.variables.taught_from(lesson, start)
            if together in (OPEN, against):
                spared = [] if together == against else [live[start] if against == SET_WORK else ~live[start]]
                model.posting.clause(statement, ~variables.at(start), *spared, cost)
                possible = True
        if possible:
            yield CostTerm(cost, 1, f"{lesson.ref} {against}", lesson.class_index)
