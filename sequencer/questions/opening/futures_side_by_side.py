"""One model of several futures side by side, the same lesson in every common period before a date."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from ortools.sat.python import cp_model

from sequencer.instance.facts import Instance
from sequencer.plan.differences import LessonName, Period, known_lessons
from sequencer.plan.sequence import Laid, Sequence
from sequencer.solver.model import ClassesModel, Prepared, build_model, prepare
from sequencer.solver.posting import PostedStatement, Posting, total
from sequencer.solver.solver_calls import Budget, Calls


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


def prepared_futures(instances: Mapping[str, Instance]) -> dict[str, Prepared]:
    """What the models of the futures share.

    Lessons that nothing tells apart in one future may be told apart in another: no order among them is presumed.
    """
    return {name: prepare(instance, ordered_twins=False) for name, instance in instances.items()}


class Together:
    """The model of several futures in one posting, of all classes or of those at some positions.

    The openings are one and the same until the date by which it is known which of them comes. Rules that couple the classes with
    others are left out.
    """

    def __init__(self, prepared: Mapping[str, Prepared], until: date, classes: tuple[int, ...] | None = None) -> None:
        self.posting = Posting()
        instances = {name: each.instance for name, each in prepared.items()}
        first = next(iter(instances.values()))
        self.class_indices = tuple(range(len(first.classes))) if classes is None else classes
        self.models: dict[str, ClassesModel] = {
            name: build_model(each, self.class_indices, self.posting) for name, each in prepared.items()
        }
        every = opening_periods(instances, until)
        for index in self.class_indices:
            self.begin_alike(every[index])

    def begin_alike(self, periods: OpeningPeriods) -> None:
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
                            self.posting.linear(PostedStatement(0, label), total(left) == total(right))

    def holding(self, name: str, class_id: str, period: Period) -> dict[LessonName, list[tuple[cp_model.BoolVarT, int]]]:
        """For each lesson of a class that may hold a period of a future, the literals of which one says that it does."""
        view = _ClassView(self.models[name], class_id)
        found = {lesson: view.literals(lesson, period, True) for lesson in view.lessons}
        return {lesson: literals for lesson, literals in found.items() if literals}


@dataclass(frozen=True)
class Begun:
    """An opening that is settled: by class and common period the lesson that begins in it, and the one that holds it."""

    periods: tuple[OpeningPeriods, ...]
    begins: Mapping[tuple[str, Period], LessonName]
    holds: Mapping[tuple[str, Period], LessonName]

    @classmethod
    def of(cls, instances: Mapping[str, Instance], until: date, lead: str, sequence: Sequence) -> Begun:
        """The opening of a sequence of one of the futures."""
        laid = Laid(instances[lead], sequence)
        begins, holds = {}, {}
        for name, index in known_lessons(instances[lead]).items():
            if not laid.placed(index) or laid.instance.lessons[index].earlier:
                continue
            for slot in laid.slots(index):
                holds[name[0], (slot.date, slot.period)] = name
            first = laid.first_slot(index)
            begins[name[0], (first.date, first.period)] = name
        return cls(opening_periods(instances, until), begins, holds)


def begin_as(model: ClassesModel, begun: Begun) -> None:
    """Settle the opening in the model of one future."""
    here = {facts.id for facts in model.parts.classes()}
    for periods in begun.periods:
        if periods.class_id not in here:
            continue
        view = _ClassView(model, periods.class_id)
        for period in periods.common:
            for by, length in ((begun.begins, False), (begun.holds, True)):
                wanted = by.get((periods.class_id, period))
                statement = PostedStatement(0, f"{periods.class_id}: opening of {period[0]}, period {period[1]}")
                for lesson in {*view.lessons, *([wanted] if wanted else [])}:
                    literals = total(view.literals(lesson, period, length))
                    model.parts.posting.linear(statement, literals == int(lesson == wanted))


@dataclass(frozen=True)
class Own:
    """A future's own best: what every aim of it comes to, and the bounds of these, those before each being no more than in it.

    The floors are what every aim comes to at least by arithmetic alone.
    """

    sequence: Sequence
    values: Mapping[str, int]
    bounds: Mapping[str, int]
    floors: Mapping[str, int]

    def least(self, aim: str) -> int:
        """The least that can be lost on an aim where nothing is lost on those before it."""
        return self.bounds[aim] - self.values[aim]


@dataclass(frozen=True)
class Futures:
    """The futures, of which one comes, with the own best of each, and their classes in parts.

    ``until`` is the date by which it is known which comes; without weights of the futures the worst case counts.
    """

    prepared: Mapping[str, Prepared]
    own: Mapping[str, Own]
    until: date
    parts: tuple[tuple[int, ...], ...]
    weights: Mapping[str, int] | None

    def together(self, classes: tuple[int, ...]) -> Together:
        """The model of all futures of some classes."""
        return Together(self.prepared, self.until, classes)

    def begun(self, name: str, sequence: Sequence) -> Begun:
        """The opening of a sequence of one of the futures."""
        return Begun.of({each: prepared.instance for each, prepared in self.prepared.items()}, self.until, name, sequence)

    @property
    def every(self) -> tuple[int, ...]:
        """The positions of all classes."""
        return tuple(sorted(sum(self.parts, ())))

    @property
    def in_a_sum(self) -> Mapping[str, int]:
        """What the loss of each future counts in a sum."""
        return self.weights or dict.fromkeys(self.own, 1)


class _ClassView:
    """The variables of one class in one future, by name of lesson and by period."""

    def __init__(self, model: ClassesModel, class_id: str) -> None:
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


def solved(
    together: Together, calls: Calls, ends: float, heard: Callable[[cp_model.CpSolver], None] | None = None
) -> bool | None:
    """Whether the futures can be planned together; None when the time ran out before it was known."""
    found: list[object] = []

    def take(solver: cp_model.CpSolver, status: object) -> bool:
        found.append(status)
        if heard is not None and status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            heard(solver)
        return status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE)

    calls.run(together.posting.model, Budget(ends, math.inf), take, first=True)
    last = found[-1] if found else None
    return True if last in (cp_model.OPTIMAL, cp_model.FEASIBLE) else False if last == cp_model.INFEASIBLE else None


def can_share(instances: Mapping[str, Instance], until: date, calls: Calls, ends: float) -> bool | None:
    """Whether an opening exists that all these futures share; None when the time ran out before it was known."""
    return solved(Together(prepared_futures(instances), until), calls, ends)
