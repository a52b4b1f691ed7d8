"""What to prepare, book, upload and mark by when, and the minutes of every school week: text, sheets, rows of a table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from sequencer.plan.sequence import Laid
from sequencer.questions.lists.preparation import LATER, OVERDUE, SOON, MinutesOfWeek, Preparation, preparation
from sequencer.questions.lists.tasks import BOOK, MARK, PREPARE, UPLOAD, Task
from sequencer.questions.solve import Answer
from sequencer.render.days_told import week_name
from sequencer.render.document import Block, Either, Heading, Note, Table, TableColumn, Value, section, short_day
from sequencer.render.html import Markup, el
from sequencer.render.sheet import TO_TICK, foot
from sequencer.render.shown import Asked
from sequencer.words import count_text, day_text

HEADS = {OVERDUE: "Overdue", SOON: "In the next fortnight", LATER: "Later"}
COUNTED_IN = (
    "Minutes per school week, over all classes: preparation counts in the week before the lesson, marking in the week of the "
    "lesson marked, whenever it is due"
)
HARD_WEEKS = "Hard weeks: an hour or more, and at least a quarter above the average"

_SAID = {PREPARE: "to have ready", UPLOAD: "to upload", BOOK: "to book", MARK: "to mark"}


def preparation_blocks(laid: Laid, asked: Asked) -> list[Block]:
    """Overdue, in the next fortnight and later; then minutes per school week, and the hard weeks."""
    plan, last = preparation(laid, asked.on, asked.teacher), laid.instance.scenario.term.last
    over = plan.asked > last
    ends = f"the next fortnight ends on {day_text(plan.until)}"
    if over:
        ends = f"this term is over: its last day was {day_text(last)}"
    told: list[Block] = [f"Asked on {day_text(plan.asked)}; {ends}.", ""]
    for state in HEADS:
        if blocks := _of_state(laid, state, plan.of(state), nothing=not over):
            told += [*blocks, ""]
    if plan.weeks:
        return [*told, COUNTED_IN, _weeks_table(laid, plan.weeks), "", *_hard_weeks(plan), ""]
    return [*told, "No minutes of preparation or marking are stated.", ""]


def preparation_sections(answer: Answer, laid: Laid, asked: Asked) -> Iterator[Markup]:
    """A section for each person who has something to do: what is overdue, what is due in the fortnight, what is due later."""
    plan = preparation(laid, asked.on, asked.teacher)
    people = dict.fromkeys([task.who for _, task in plan.tasks] + [week.teacher for week in plan.weeks])
    about = f"asked on {day_text(plan.asked)}; the fortnight ends on {short_day(plan.until)}"
    for who in people or {None: None}:
        weeks = [week for week in plan.weeks if week.teacher == who]
        blocks = [
            block
            for state in HEADS
            for block in _of_state(laid, state, [task for task in plan.of(state) if task.who == who], nothing=True)
        ]
        if weeks:
            blocks += [Heading("Minutes of every week"), _weeks_table(laid, weeks), Note(f"{COUNTED_IN}. {HARD_WEEKS}.")]
        yield section("To have done", about, blocks, foot(answer, ()), far=who)


def _of_state(laid: Laid, state: str, tasks: list[Task], nothing: bool) -> list[Block]:
    """The tasks of one state under their heading; that there are none is said of the fortnight, where ``nothing`` is to be."""
    in_fortnight = state == SOON and nothing
    if not tasks and not in_fortnight:
        return []
    heading = Heading(f"{HEADS[state]}: {_in_short(tasks)}" if in_fortnight else HEADS[state])
    return [heading, _task_table(laid, tasks)] if tasks else [heading]


def _in_short(tasks: list[Task]) -> str:
    """How many things are to be had ready, uploaded, booked and marked: all four are answered, whatever there is."""
    if not tasks:
        return "nothing"
    counts = Counter(task.what for task in tasks)
    return ", ".join(f"{counts[what] or 'nothing'} {said}" for what, said in _SAID.items())


def _task_table(laid: Laid, tasks: Iterable[Task]) -> Table:
    heads = (
        TableColumn("", "done", in_text=False), TableColumn("by", "when"), TableColumn("who", on_paper=False),
        TableColumn("what", "work"), TableColumn("minutes", "number", right=True), TableColumn("for"),
        TableColumn("details", "small"),
    )  # fmt: skip
    rows = []
    for task in tasks:
        minutes, stated = task.minutes or None, "minutes not stated" if task.what in (PREPARE, MARK) and not task.minutes else ""
        details = ", ".join(filter(None, (task.detail, task.where, stated)))
        by = task.by or "before term"
        rows.append((TO_TICK, by, task.who, task.work or task.what, minutes, what_for(laid, task), details))
    return Table(heads, rows, by=1)


def what_for(laid: Laid, task: Task, periods: bool = True) -> str:
    """The lesson, and where each class has it."""
    lessons = laid.instance.lessons
    places = (f"{laid.instance.class_of(lessons[index]).name} {_place(laid, index, periods)}" for index in task.lessons)
    return f"{lessons[task.lessons[0]].title} ({'; '.join(places)})"


def _place(laid: Laid, lesson: int, periods: bool) -> str:
    period = "" if not periods or laid.instance.lessons[lesson].earlier else f" p{laid.first_slot(lesson).period}"
    return f"{short_day(laid.date(lesson))}{period}"


def _weeks_table(laid: Laid, weeks: Iterable[MinutesOfWeek]) -> Table:
    heads = (
        TableColumn("week", on_paper=False), TableColumn("week", in_text=False), TableColumn("begins", on_paper=False),
        TableColumn("teacher", on_paper=False),
        *(TableColumn(of, "number", right=True) for of in ("preparation", "marking", "together")),
        TableColumn("", "work"), TableColumn("marking due", "small"),
    )  # fmt: skip
    hard = Either("hard", el("span", "HARD", class_="kind test"))
    rows = []
    for each in weeks:
        week = each.week
        number = f"{week.number} {week.label}" if week is not None else "before term"
        named = f"{week_name(week, laid.instance.calendar)}, {short_day(week.monday)}" if week is not None else number
        due = ", ".join(short_day(day) for day in each.marking_due)
        minutes = (each.preparation, each.marking, each.minutes)
        monday = week.monday if week is not None else None
        rows.append((number, named, monday, each.teacher, *minutes, hard if each.hard else "", due))
    return Table(heads, rows)


def _hard_weeks(plan: Preparation) -> list[str]:
    hard = [week for week in plan.weeks if week.hard and week.week]
    if not hard:
        return ["No week is hard."]
    lines = [HARD_WEEKS]
    for teacher in dict.fromkeys(week.teacher for week in hard):
        own = ((week.week.number, week.minutes) for week in hard if week.week and week.teacher == teacher)
        named = "; ".join(f"week {number}, {count_text(minutes, 'minute')}" for number, minutes in own)
        lines.append(f"  {f'{teacher}: ' if teacher else ''}{named}")
    return lines


COLUMNS = (
    "row", "state", "by", "weekday", "who", "what", "work", "minutes", "title", "classes", "detail", "where", "unit", "lesson",
    "week", "label", "preparation minutes", "marking minutes", "marking due", "hard",
)  # fmt: skip
"""Of a table that holds every task and, beneath, every week: ``row`` says which."""


def preparation_rows(laid: Laid, asked: Asked) -> list[dict[str, Value]]:
    """A row for each task, and one for each school week of each teacher."""
    plan = preparation(laid, asked.on, asked.teacher)
    rows: list[dict[str, Value]] = [
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
        numbered: dict[str, Value] = (
            {"week": week.week.number, "label": week.week.label} if week.week is not None else {"week": 0}
        )
        row: dict[str, Value] = {"row": "week", "who": week.teacher, "minutes": week.minutes, **numbered}
        due = "; ".join(day.isoformat() for day in week.marking_due)
        row |= {"preparation minutes": week.preparation, "marking minutes": week.marking, "marking due": due or None}
        rows.append(row | {"hard": "yes" if week.hard else None})
    return rows


def _places(laid: Laid, task: Task) -> str:
    lessons = laid.instance.lessons
    return "; ".join(f"{laid.instance.class_of(lessons[index]).id} {laid.date(index).isoformat()}" for index in task.lessons)
