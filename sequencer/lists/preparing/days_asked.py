"""What is to be done, seen from the day on which someone asks: overdue, within a fortnight, later."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from sequencer.errors import UnusableSettings
from sequencer.instance.naming import as_spelt
from sequencer.lists.preparing.minutes_by_week import TeacherWeek, weeks_of
from sequencer.lists.preparing.tasks import Task, tasks_of
from sequencer.plan.sequence import Laid

FORTNIGHT = timedelta(days=14)

OVERDUE, SOON, LATER = "overdue", "next fortnight", "later"
STATES = (OVERDUE, SOON, LATER)


@dataclass(frozen=True)
class Preparation:
    """What a sequence asks of its teachers from a day on.

    Parameters
    ----------
    asked
        The day on which it is asked: the scenario's ``today`` or the first day of term unless stated.
    tasks
        Each with its state. What has been done for a day that is over is left out.
    """

    asked: date
    tasks: tuple[tuple[str, Task], ...]
    weeks: tuple[TeacherWeek, ...]

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
