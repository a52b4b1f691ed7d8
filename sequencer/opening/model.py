"""One model of several futures side by side, the same lesson in every common period before a date."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from ortools.sat.python import cp_model

from sequencer.comparing.differences import LessonName, Period, known_lessons
from sequencer.facts import Instance
from sequencer.model.build import Model, build_model, prepare
from sequencer.model.posting import Posting, Statement, total

_MOST_LOSS = 10**7


@dataclass(frozen=True)
class OpeningPeriods:
    """One class's periods before the date: those that all futures have, and those that only some have, with their names."""

    class_id: str
    common: tuple[Period, ...]
    partly: tuple[tuple[Period, tuple[str, ...]], ...]


def opening_periods(instances: Mapping[str, Instance], until: date) -> tuple[OpeningPeriods, ...]:
    """Every class's periods before the date, by name of future."""
    first = next(iter(instances.values()))
    found = []
    for place, facts in enumerate(first.classes):
        having: dict[Period, list[str]] = {}
        for name, instance in instances.items():
            for slot in instance.classes[place].slots:
                if slot.date < until:
                    having.setdefault((slot.date, slot.period), []).append(name)
        common = tuple(sorted(period for period, names in having.items() if len(names) == len(instances)))
        partly = tuple((period, tuple(names)) for period, names in sorted(having.items()) if len(names) < len(instances))
        found.append(OpeningPeriods(facts.id, common, partly))
    return tuple(found)


class Together:
    """The model of several futures in one posting.

    Parameters
    ----------
    instances
        The futures by name.
    until
        The date by which it is known which of them comes.
    """

    def __init__(self, instances: Mapping[str, Instance], until: date) -> None:
        self.posting = Posting()
        self.models: dict[str, Model] = {}
        for name, instance in instances.items():
            every = tuple(range(len(instance.classes)))
            # Lessons that nothing tells apart in one future may be told apart in another: no order among them is presumed.
            self.models[name] = build_model(prepare(instance, ordered_twins=False), every, self.posting)
        for periods in opening_periods(instances, until):
            self._same(periods)

    def _same(self, periods: OpeningPeriods) -> None:
        """Every common period is held, and begun in, by the same lesson in every future."""
        views = [_ClassView(model, periods.class_id) for model in self.models.values()]
        lessons = dict.fromkeys(name for view in views for name in view.lessons)
        for period in periods.common:
            for lesson in lessons:
                label = f"{periods.class_id} {lesson[1]}/{lesson[2]} on {period[0]}, period {period[1]} in every future"
                for one, other in pairwise(views):
                    for length in (False, True):
                        left, right = one.literals(lesson, period, length), other.literals(lesson, period, length)
                        if left or right:
                            self.posting.linear(Statement(0, label), total(left) == total(right))

    def losses(self, aim: int, own: Mapping[str, int]) -> dict[str, cp_model.LinearExpr]:
        """For each future, by how much the aim is worse than its own best."""
        found = {}
        for name, model in self.models.items():
            each = model.aims[aim]
            found[name] = total((term.variable, term.weight) for term in each.terms) + (each.constant - own[name])
        return found

    def greatest(self, losses: Mapping[str, cp_model.LinearExpr], name: str) -> cp_model.IntVar:
        """A number no less than any of the losses."""
        greatest = self.posting.integer(-_MOST_LOSS, _MOST_LOSS, f"greatest loss, {name}")
        for future, loss in losses.items():
            self.posting.linear(Statement(0, f"loss of {future}, {name}"), loss <= greatest)
        return greatest


class _ClassView:
    """The variables of one class in one future, by name of lesson and by period."""

    def __init__(self, model: Model, class_id: str) -> None:
        parts = model.parts
        facts = next(facts for facts in parts.classes() if facts.id == class_id)
        self._variables = parts.variables
        self._numbers = {(slot.date, slot.period): slot.number for slot in facts.slots}
        self._class = facts.index
        self.lessons: dict[LessonName, int] = {
            name: index for name, index in known_lessons(parts.instance).items() if name[0] == class_id
        }

    def literals(self, lesson: LessonName, period: Period, length: bool) -> list[tuple[cp_model.BoolVarT, int]]:
        """Literals of which one holds when the lesson begins in the period, or with its whole length holds it."""
        if lesson not in self.lessons:
            return []
        index, slot = self.lessons[lesson], self._numbers[period]
        if length and self._variables.lessons[index].lesson.length > 1:
            return [(literal, 1) for literal in self._variables.held(self._class, slot, [index])]
        variables = self._variables.lessons[index]
        return [(literal, 1) for literal in variables.starts_between(slot, slot)]
