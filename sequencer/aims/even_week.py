"""The aim `even week`."""

from __future__ import annotations

from typing import Any

from sequencer.aims.base import Aim, CostTerm, Objective
from sequencer.instance.facts import TeacherFacts
from sequencer.plan.minutes import marking_by_week, preparation_by_week
from sequencer.plan.sequence import Laid
from sequencer.words import EVEN_WEEK


class EvenWeek(Aim):
    """Sum over teachers of the heaviest school week's preparation plus marking minutes."""

    name = EVEN_WEEK
    summed = False

    def value(self, laid: Laid) -> int:
        heaviest = 0
        for teacher in laid.instance.teachers:
            minutes = marking_by_week(laid, teacher)
            for week, more in preparation_by_week(laid, teacher).items():
                minutes[week] = minutes.get(week, 0) + more
            heaviest += max(minutes.values(), default=0)
        return heaviest

    def cost(self, model: Any) -> Objective:
        """It is never under the even share of what is sure to be the teacher's."""
        terms, floor = [], 0
        for teacher in model.instance.teachers:
            minutes = model.minutes_by_week(teacher)
            most = max((sum(weight for _, weight in weighted if weight > 0) for weighted in minutes.values()), default=0)
            if not most:
                continue
            least = _least_of_weeks(model, teacher, len(minutes))
            heaviest = model.posting.integer(least, max(least, most), f"{teacher.name} heaviest week")
            for week, weighted in minutes.items():
                statement = model.statement(10, f"{teacher.name}: minutes of week {week}")
                model.posting.linear(statement, model.total(weighted) <= heaviest)
            terms.append(CostTerm(heaviest, 1, f"{teacher.name} heaviest week"))
            floor += least
        return self.objective(terms, floor=floor)


def _least_of_weeks(model: Any, teacher: TeacherFacts, weeks: int) -> int:
    """The even share of the minutes that are the teacher's wherever they lie, and the most that one lesson takes."""
    marking: list[int] = []
    preparation: dict[str, int] = {}
    for variables in model.variables.lessons.values():
        lesson = variables.lesson
        always = all((lesson.class_index, start) in teacher.slots for start in variables.starts)
        if always and variables.placed is model.posting.true:
            marking.append(lesson.marking_minutes)
            if lesson.shared_ref not in teacher.prepared:
                preparation[lesson.shared_ref] = lesson.preparation_minutes
    every = sum(marking) + sum(preparation.values())
    return max(-(-every // max(1, weeks)), *marking, *preparation.values(), 0)
