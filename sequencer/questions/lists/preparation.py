"""What a sequence asks of its teachers from a day on, overdue, within a fortnight, later; and their minutes by school week."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from sequencer.errors import UnusableSettings
from sequencer.instance.facts import TeacherFacts
from sequencer.instance.naming import as_spelt
from sequencer.plan.minutes import marking_by_week, preparation_by_week
from sequencer.plan.sequence import Laid
from sequencer.questions.lists.tasks import MARK, Task, tasks_of
from sequencer.scenario.school_weeks import SchoolWeek

FORTNIGHT = timedelta(days=14)

OVERDUE, SOON, LATER = "overdue", "next fortnight", "later"
HARD, HARD_MINUTES = Fraction(5, 4), 60
"""A week is hard when it holds this many times a teacher's average and so many minutes, or more; common sense, no source."""


@dataclass(frozen=True)
class MinutesOfWeek:
    """A teacher's minutes in one school week, over all classes; ``week`` is None for the days before the first one.

    ``marking_due`` are the last days for the marking that is counted here, in the week of what is marked; they may lie later.
    """

    teacher: str | None
    week: SchoolWeek | None
    preparation: int
    marking: int
    hard: bool
    marking_due: tuple[date, ...] = ()

    @property
    def minutes(self) -> int:
        """Preparation and marking together."""
        return self.preparation + self.marking


@dataclass(frozen=True)
class Preparation:
    """What a sequence asks of its teachers from a day on: each task that is not over, with its state."""

    asked: date
    tasks: tuple[tuple[str, Task], ...]
    weeks: tuple[MinutesOfWeek, ...]

    def of(self, state: str) -> list[Task]:
        """The tasks that are overdue, due in the fortnight, or due later."""
        return [task for found, task in self.tasks if found == state]

    @property
    def until(self) -> date:
        """The last day of the fortnight."""
        return self.asked + FORTNIGHT


def preparation(laid: Laid, asked: date | None = None, teacher: str | None = None) -> Preparation:
    """What is to be prepared, booked, uploaded and marked, from a day on, by one teacher or by all.

    A task is overdue when its last day is over and what it is for is still to come; that it was done is known only of material
    whose status is ``ready`` and of notice that is ``done``. Where no day is stated nothing is overdue.

    Raises
    ------
    UnusableSettings
        When the scenario has no such teacher.
    """
    scenario = laid.instance.scenario
    day = asked or scenario.today or scenario.term.first
    stated = asked is not None or scenario.today is not None
    tasks = tasks_of(laid)
    weeks = weeks_of(laid, tasks)
    if teacher is not None:
        known = [own.name for own in laid.instance.teachers if own.name] + [task.who for task in tasks if task.who]
        teacher = as_spelt(teacher, dict.fromkeys(known))
        if teacher not in known:
            names = ", ".join(dict.fromkeys(known)) or "none"
            raise UnusableSettings([f"teacher must be one of the scenario's teachers: {names}"])
        tasks = tuple(task for task in tasks if task.who == teacher)
        weeks = tuple(week for week in weeks if week.teacher == teacher)
    found = tuple((_state(task, day, stated), task) for task in tasks if task.until >= day)
    return Preparation(day, found, weeks)


def _state(task: Task, day: date, stated: bool) -> str:
    if task.by is None or task.by < day:
        return OVERDUE if stated else SOON
    return SOON if task.by <= day + FORTNIGHT else LATER


def weeks_of(laid: Laid, tasks: Iterable[Task]) -> tuple[MinutesOfWeek, ...]:
    """Every school week of every teacher who prepares or marks; the days before the first one where they hold something."""
    marked = [task for task in tasks if task.what == MARK]
    return tuple(week for teacher in laid.instance.teachers for week in _weeks(laid, teacher, marked))


def _weeks(laid: Laid, teacher: TeacherFacts, marked: list[Task]) -> list[MinutesOfWeek]:
    marking, preparation = marking_by_week(laid, teacher), preparation_by_week(laid, teacher)
    if not marking and not preparation:
        return []
    due: dict[int, set[date]] = {}
    for task in marked:
        if task.who == teacher.name and task.by is not None and task.minutes:
            due.setdefault(laid.first_slot(task.lessons[0]).week.number, set()).add(task.by)
    weeks = laid.instance.calendar.own_weeks
    totals = {week.number: preparation.get(week.number, 0) + marking.get(week.number, 0) for week in weeks}
    average = Fraction(sum(totals.values()), len(weeks))
    before = [MinutesOfWeek(teacher.name, None, preparation[0], 0, hard=False)] if preparation.get(0) else []
    return before + [
        MinutesOfWeek(
            teacher.name, week, preparation.get(week.number, 0), marking.get(week.number, 0),
            hard=totals[week.number] >= HARD_MINUTES and totals[week.number] >= HARD * average,
            marking_due=tuple(sorted(due.get(week.number, ()))),
        )
        for week in weeks
    ]  # fmt: skip
