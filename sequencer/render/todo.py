"""What a teacher must have done by when, beneath each week of the fortnight: a line for each day, a box for each task."""

from __future__ import annotations

from datetime import date, timedelta

from sequencer.plan.sequence import Laid
from sequencer.questions.lists.tasks import BOOK, Task, tasks_of
from sequencer.render.document import short_day
from sequencer.render.html import Markup, el
from sequencer.render.preparation_written import what_for
from sequencer.render.sheet import box
from sequencer.render.shown import one_line
from sequencer.scenario.school_weeks import SchoolWeek

STYLE = """
.todo { font-size: 9pt; margin-top: 1mm; padding: .6mm 1.2mm; border: .25mm solid #000; break-inside: avoid }
.todo div { display: flex; break-inside: avoid; margin-bottom: .4mm }
.todo b { flex: none; width: 21mm }
.todo i { margin-right: 2mm; font-weight: bold; font-style: normal; text-decoration: underline }
.todo .each { margin-right: 3mm }
.todo .box { width: 3mm; height: 3mm; margin-right: 1mm; line-height: 2.4mm }
"""

_LETTERS, _LINE, _EDGE = 92, 4.2, 4
"""Letters in a line, and millimetres of a line and of the frame."""


class Todo:
    """The tasks of one teacher by school week; those that are over on the day the scenario calls today are left out."""

    def __init__(self, laid: Laid, teacher: str | None) -> None:
        today, term = laid.instance.scenario.today, laid.instance.scenario.term
        self._laid, self._begins = laid, term.begins
        self._days: dict[date, list[Task]] = {}
        for task in tasks_of(laid):
            if task.who == teacher and (today is None or task.until >= today):
                self._days.setdefault(max(task.by or self._begins, self._begins), []).append(task)

    def of(self, week: SchoolWeek) -> Markup | None:
        """The box beneath a week; None where nothing is due in it."""
        days = self._of(week)
        if not days:
            return None
        lines = []
        for day, tasks in days.items():
            works = [
                [el("i", work), [el("span", box(ticked=False, of="done"), said, class_="each") for said in of_work]]
                for work, of_work in self._by_work(tasks).items()
            ]
            lines.append(el("div", el("b", short_day(day)), el("span", works)))
        return el("div", lines, class_="todo", role="group", aria_label="To have done")

    def height(self, week: SchoolWeek) -> float:
        """About how high that box is, in millimetres."""
        days = self._of(week)
        works = (self._by_work(tasks) for tasks in days.values())
        letters = (
            sum(len(work) + sum(len(said) + 5 for said in of_work) for work, of_work in by_work.items()) for by_work in works
        )
        return _EDGE + _LINE * sum(-(-each // _LETTERS) for each in letters) if days else 0

    def _of(self, week: SchoolWeek) -> dict[date, list[Task]]:
        return {day: self._days[day] for day in sorted(self._days) if week.monday <= day < week.monday + timedelta(days=7)}

    def _by_work(self, tasks: list[Task]) -> dict[str, list[str]]:
        """What is to be made, fetched, booked, uploaded, marked: of each its things, as they stand behind their boxes."""
        found: dict[str, list[str]] = {}
        for task in tasks:
            work = task.work or task.what
            work = f"before term: {work}" if task.by is None or task.by < self._begins else work
            minutes = f", {task.minutes} min" if task.minutes else ""
            booked = f"{one_line(task.detail)}: " if task.what == BOOK else ""
            found.setdefault(work, []).append(f"{booked}{one_line(what_for(self._laid, task, periods=False))}{minutes}")
        return found
