"""What to prepare, book, upload and mark by when, and the minutes of every school week: text, rows of a table."""

from __future__ import annotations

from collections import Counter
from datetime import date

from sequencer.lists.preparation import LATER, OVERDUE, SOON, Preparation, TeacherWeek, preparation
from sequencer.lists.tasks import BOOK, MARK, PREPARE, UPLOAD, Task
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render.layout import columns, day_cell, sequence_line
from sequencer.render.rows_of_table import Cell
from sequencer.render.shown import short_day
from sequencer.render.text import answer_text
from sequencer.words import count_text, day_text


def preparation_text(answer: Answer, asked: date | None = None, teacher: str | None = None) -> str:
    """Overdue, in the next fortnight and later; then minutes per school week, and the hard weeks."""
    if answer.sequence is None:
        return answer_text(answer)
    instance, laid = answer.instance, Laid(answer.instance, answer.sequence)
    plan = preparation(laid, asked, teacher)
    lines = [instance.scenario.title, ""] if instance.scenario.title else []
    last = instance.scenario.term.last
    over = plan.asked > last
    ends = f"the next fortnight ends on {day_text(plan.until)}"
    if over:
        ends = f"this term is over: its last day was {day_text(last)}"
    lines += [f"Asked on {day_text(plan.asked)}; {ends}.", ""]
    for state, head in HEADS.items():
        tasks = plan.of(state)
        if state == SOON and not over:
            lines += [f"{head}: {in_short(tasks)}", *(_task_table(laid, tasks) if tasks else ()), ""]
        elif tasks:
            lines += [head, *_task_table(laid, tasks), ""]
    lines += [*_weeks_text(plan), "", sequence_line(answer)]
    return "\n".join(lines).rstrip() + "\n"


HEADS = {OVERDUE: "Overdue", SOON: "In the next fortnight", LATER: "Later"}
COUNTED_IN = (
    "Minutes per school week, over all classes: preparation counts in the week before the lesson, marking in the week of the "
    "lesson marked, whenever it is due"
)

_SAID = {PREPARE: "to have ready", UPLOAD: "to upload", BOOK: "to book", MARK: "to mark"}


def in_short(tasks: list[Task]) -> str:
    """How many things are to be had ready, uploaded, booked and marked: all four are answered, whatever there is."""
    if not tasks:
        return "nothing"
    counts = Counter(task.what for task in tasks)
    return ", ".join(f"{counts[what] or 'nothing'} {said}" for what, said in _SAID.items())


def _task_table(laid: Laid, tasks: list[Task]) -> list[str]:
    table = [("by", "who", "what", "minutes", "for", "details")]
    last = ""
    for task in tasks:
        by = day_cell(task.by) if task.by is not None else "before term"
        table.append(
            ("" if by == last else by, task.who or "", task.work or task.what, str(task.minutes or ""), what_for(laid, task),
             told(task))
        )  # fmt: skip
        last = by
    return columns(table, right=(3,))


def told(task: Task) -> str:
    """What is to be said of a task besides."""
    return ", ".join(filter(None, (task.detail, task.where, _no_minutes(task))))


def _no_minutes(task: Task) -> str:
    """That nobody has said how long it takes, of what takes a time that can be stated."""
    return "no minutes stated" if task.what == PREPARE and not task.minutes else ""


def what_for(laid: Laid, task: Task, periods: bool = True) -> str:
    """The lesson, and where each class has it."""
    lessons = laid.instance.lessons
    places = (f"{laid.instance.class_of(lessons[index]).name} {_place(laid, index, periods)}" for index in task.lessons)
    return f"{lessons[task.lessons[0]].title} ({'; '.join(places)})"


def _place(laid: Laid, lesson: int, periods: bool) -> str:
    day = laid.date(lesson)
    period = "" if not periods or laid.instance.lessons[lesson].earlier else f" p{laid.first_slot(lesson).period}"
    return f"{day:%a} {day.day} {day:%b}{period}"


def _weeks_text(plan: Preparation) -> list[str]:
    if not plan.weeks:
        return ["No minutes of preparation or marking are stated."]
    table = [("week", "begins", "teacher", "preparation", "marking", "together", "", "marking due")]
    for week in plan.weeks:
        number = f"{week.week.number} {week.week.label}" if week.week is not None else "before term"
        begins = day_cell(week.week.monday) if week.week is not None else ""
        minutes = (str(week.preparation), str(week.marking), str(week.minutes))
        table.append((number, begins, week.teacher or "", *minutes, "hard" if week.hard else "", days_due(week)))
    lines = [COUNTED_IN, *columns(table, right=(3, 4, 5))]
    hard = [week for week in plan.weeks if week.hard]
    if not hard:
        return [*lines, "", "No week is hard."]
    lines += ["", HARD_WEEKS]
    for teacher in dict.fromkeys(week.teacher for week in hard):
        named = (
            f"week {week.week.number}, {count_text(week.minutes, 'minute')}"
            for week in hard
            if week.week and week.teacher == teacher
        )
        lines.append(f"  {f'{teacher}: ' if teacher else ''}{'; '.join(named)}")
    return lines


HARD_WEEKS = "Hard weeks: an hour or more, and at least a quarter above the average"


def days_due(week: TeacherWeek) -> str:
    """The last days for the marking that is counted in a week."""
    return ", ".join(short_day(day) for day in week.marking_due)


COLUMNS = (
    "row", "state", "by", "weekday", "who", "what", "work", "minutes", "title", "classes", "detail", "where", "unit", "lesson",
    "week", "label", "preparation minutes", "marking minutes", "marking due", "hard",
)  # fmt: skip
"""Of a table that holds every task and, beneath, every week: ``row`` says which."""


def preparation_rows(laid: Laid, plan: Preparation) -> list[dict[str, Cell]]:
    """A row for each task, and one for each school week of each teacher."""
    rows: list[dict[str, Cell]] = [
        {
            "row": "task", "state": state, "by": task.by, "weekday": f"{task.by:%a}" if task.by is not None else None,
            "who": task.who, "what": task.what, "work": task.work or None, "minutes": task.minutes or None,
            "title": laid.instance.lessons[task.lessons[0]].title, "classes": _places(laid, task), "detail": task.detail or None,
            "where": task.where, "unit": laid.instance.lessons[task.lessons[0]].unit,
            "lesson": laid.instance.lessons[task.lessons[0]].id,
        }
        for state, task in plan.tasks
    ]  # fmt: skip
    for week in plan.weeks:
        numbered: dict[str, Cell] = {"week": week.week.number, "label": week.week.label} if week.week is not None else {"week": 0}
        row: dict[str, Cell] = {"row": "week", "who": week.teacher, "minutes": week.minutes, **numbered}
        due = "; ".join(day.isoformat() for day in week.marking_due)
        row |= {"preparation minutes": week.preparation, "marking minutes": week.marking, "marking due": due or None}
        rows.append(row | {"hard": "yes" if week.hard else None})
    return rows


def _places(laid: Laid, task: Task) -> str:
    lessons = laid.instance.lessons
    return "; ".join(f"{laid.instance.class_of(lessons[index]).id} {laid.date(index).isoformat()}" for index in task.lessons)
