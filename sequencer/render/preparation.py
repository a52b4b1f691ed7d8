"""What to prepare, book, upload and mark by when, and the minutes of every school week: as text and as a JSON body."""

from __future__ import annotations

from datetime import date
from typing import Any

from sequencer.facts import Instance
from sequencer.naming import day_text
from sequencer.preparing.asked import LATER, OVERDUE, SOON, Preparation, preparation
from sequencer.preparing.tasks import PREPARE, Task
from sequencer.render.layout import columns, day_cell, sequence_line
from sequencer.render.text import answer_text
from sequencer.sequence import Laid
from sequencer.solve import Answer


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
    heads = {OVERDUE: "Overdue", SOON: "In the next fortnight", LATER: "Later"}
    for state, head in heads.items():
        tasks = [task for found, task in plan.tasks if found == state]
        if tasks:
            lines += [head, *_task_table(laid, tasks), ""]
        elif state == SOON and not over:
            lines += [f"{head}: nothing", ""]
    lines += [*_weeks_text(plan), "", sequence_line(answer)]
    return "\n".join(lines).rstrip() + "\n"


def _task_table(laid: Laid, tasks: list[Task]) -> list[str]:
    table = [("by", "who", "what", "minutes", "for", "details")]
    last = ""
    for task in tasks:
        by = day_cell(task.by) if task.by is not None else "before term"
        table.append(
            ("" if by == last else by, task.who or "", task.work or task.what, str(task.minutes or ""), _for(laid, task),
             ", ".join(filter(None, (task.detail, task.where, _no_minutes(task)))))
        )  # fmt: skip
        last = by
    return columns(table, right=(3,))


def _no_minutes(task: Task) -> str:
    """That nobody has said how long it takes, of what takes a time that can be stated."""
    return "no minutes stated" if task.what == PREPARE and not task.minutes else ""


def _for(laid: Laid, task: Task) -> str:
    """The lesson, and where each class has it."""
    lessons = laid.instance.lessons
    places = (f"{laid.instance.class_of(lessons[index]).name} {_place(laid, index)}" for index in task.lessons)
    return f"{lessons[task.lessons[0]].title} ({'; '.join(places)})"


def _place(laid: Laid, lesson: int) -> str:
    day = laid.date(lesson)
    period = "" if laid.instance.lessons[lesson].earlier else f" p{laid.first_slot(lesson).period}"
    return f"{day:%a} {day.day} {day:%b}{period}"


def _weeks_text(plan: Preparation) -> list[str]:
    if not plan.weeks:
        return ["No minutes of preparation or marking are stated."]
    table = [("week", "begins", "teacher", "preparation", "marking", "together", "")]
    for week in plan.weeks:
        number = f"{week.week.number} {week.week.label}" if week.week is not None else "before term"
        begins = day_cell(week.week.monday) if week.week is not None else ""
        minutes = (str(week.preparation), str(week.marking), str(week.minutes))
        table.append((number, begins, week.teacher or "", *minutes, "hard" if week.hard else ""))
    lines = ["Minutes per school week, over all classes; what is taught in a week is prepared in the week before"]
    lines += columns(table, right=(3, 4, 5))
    hard = [week for week in plan.weeks if week.hard]
    if not hard:
        return [*lines, "", "No week is hard."]
    lines += ["", "Hard weeks: an hour or more, and at least a quarter above the average"]
    for teacher in dict.fromkeys(week.teacher for week in hard):
        named = (f"week {week.week.number}, {week.minutes} minutes" for week in hard if week.week and week.teacher == teacher)
        lines.append(f"  {f'{teacher}: ' if teacher else ''}{'; '.join(named)}")
    return lines


def preparation_json(answer: Answer, asked: date | None = None, teacher: str | None = None) -> dict[str, Any]:
    """The same as a JSON body: every task a row, every week of every teacher a row; without a sequence there are none."""
    if answer.sequence is None:
        return {"status": answer.status, "asked": None, "until": None, "tasks": [], "weeks": []}
    laid = Laid(answer.instance, answer.sequence)
    plan = preparation(laid, asked, teacher)
    return {
        "status": answer.status,
        "asked": plan.asked.isoformat(),
        "until": plan.until.isoformat(),
        "tasks": [_task_json(laid, state, task) for state, task in plan.tasks],
        "weeks": [
            {
                "teacher": week.teacher,
                "week": week.week.number if week.week is not None else 0,
                "label": week.week.label if week.week is not None else None,
                "monday": week.week.monday.isoformat() if week.week is not None else None,
                "preparation_minutes": week.preparation,
                "marking_minutes": week.marking,
                "hard": week.hard,
            }
            for week in plan.weeks
        ],
    }


def _task_json(laid: Laid, state: str, task: Task) -> dict[str, Any]:
    first = laid.instance.lessons[task.lessons[0]]
    return {
        "what": task.what,
        "work": task.work if task.what == PREPARE else None,
        "state": state,
        "who": task.who,
        "by": task.by.isoformat() if task.by is not None else None,
        "minutes": task.minutes,
        "detail": task.detail,
        "where": task.where,
        "unit": first.unit,
        "lesson": first.id,
        "title": first.title,
        "classes": [_class_json(laid.instance, laid, index) for index in task.lessons],
    }


def _class_json(instance: Instance, laid: Laid, lesson: int) -> dict[str, Any]:
    facts = instance.lessons[lesson]
    period = None if facts.earlier else laid.first_slot(lesson).period
    return {"class": instance.class_of(facts).id, "date": laid.date(lesson).isoformat(), "period": period}
