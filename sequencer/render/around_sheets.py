"""What surrounds a sequence on paper: a teacher's list of what to have done by when, a class's starters, its coverage."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sequencer.lists.coverage import WAYS, ClassCoverage, PointCoverage
from sequencer.lists.preparation import SOON, Preparation, TeacherWeek
from sequencer.lists.starters.assign import Starters
from sequencer.lists.starters.starters_told import opens_with
from sequencer.lists.tasks import Task
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render.coverage_written import NO_SPECIFICATION, day_in_short, lacking
from sequencer.render.days_told import week_name
from sequencer.render.html import Markup, Part, el
from sequencer.render.preparation_written import COUNTED_IN, HARD_WEEKS, HEADS, days_due, in_short, told, what_for
from sequencer.render.sheet import box, foot
from sequencer.render.shown import one_line, short_day
from sequencer.render.starters_written import lacking as not_served
from sequencer.render.starters_written import said_of
from sequencer.words import day_text

STYLE = """
.list { table-layout: fixed; margin-bottom: 4mm }
.list .done { width: 9mm }
.list .when { width: 23mm; white-space: nowrap }
.list .work { width: 17mm }
.list .number { width: 23mm; text-align: right }
.list .period { width: 14mm }
.list .lesson { width: 52mm }
.list .code { width: 22mm; font-weight: bold }
.list .way { width: 33mm }
.list td.small { font-size: 9pt }
.list tr.first td { border-top: .6mm solid #000 }
h2 { font-size: 12pt; margin: 4mm 0 1mm; break-after: avoid }
"""


def preparation_sections(answer: Answer, laid: Laid, plan: Preparation) -> Iterator[Markup]:
    """A section for each person who has something to do: what is overdue, what is due in the fortnight, what is due later."""
    people = dict.fromkeys([task.who for _, task in plan.tasks] + [week.teacher for week in plan.weeks])
    for who in people or {None: None}:
        weeks = [week for week in plan.weeks if week.teacher == who]
        yield el(
            "section",
            _header("To have done", f"asked on {day_text(plan.asked)}; the fortnight ends on {short_day(plan.until)}", who),
            [_tasks(laid, state, [task for task in plan.of(state) if task.who == who]) for state in HEADS],
            _minutes(laid, weeks) if weeks else None,
            foot(answer, ()),
        )


def _tasks(laid: Laid, state: str, tasks: list[Task]) -> Part:
    if not tasks and state != SOON:
        return None
    said = f"{HEADS[state]}: {in_short(tasks)}" if state == SOON else HEADS[state]
    return [el("h2", said), _task_table(laid, tasks) if tasks else None]


def _task_table(laid: Laid, tasks: list[Task]) -> Markup:
    rows, last = [], None
    for task in tasks:
        by = short_day(task.by) if task.by is not None else "before term"
        cells = (
            (box(ticked=False, of="done"), "done"), ("" if by == last else by, "when"), (task.work or task.what, "work"),
            (str(task.minutes) if task.minutes else "", "number"), (what_for(laid, task), ""), (told(task), "small"),
        )  # fmt: skip
        rows.append(_row(cells, by != last))
        last = by
    return _table((("", "done"), ("by", "when"), ("what", "work"), ("minutes", "number"), ("for", ""), ("details", "")), rows)


def _minutes(laid: Laid, weeks: list[TeacherWeek]) -> Part:
    calendar, rows = laid.instance.calendar, []
    for week in weeks:
        named = f"{week_name(week.week, calendar)}, {short_day(week.week.monday)}" if week.week is not None else "before term"
        hard = el("span", "HARD", class_="kind test") if week.hard else ""
        minutes = ((str(number), "number") for number in (week.preparation, week.marking, week.minutes))
        rows.append(_row(((named, ""), *minutes, (hard, "work"), (days_due(week), "small")), first=True))
    heads = (
        ("week", ""), ("preparation", "number"), ("marking", "number"), ("together", "number"), ("", "work"), ("marking due", ""),
    )  # fmt: skip
    return [el("h2", "Minutes of every week"), _table(heads, rows), el("p", f"{COUNTED_IN}. {HARD_WEEKS}.", class_="note")]


def starters_sections(answer: Answer, laid: Laid, starters: Iterable[Starters]) -> Iterator[Markup]:
    """A section for each class: what each lesson opens with, and what is not met as it should be."""
    instance = laid.instance
    for each in starters:
        asked, rows, last = each.question, [], None
        for number, opening in enumerate(asked.openings):
            topics = opens_with(each, number, instance.scenario.term.first)
            said = [el("div", said_of(instance, topic, (opening.date - topic.taught).days)) for topic in topics]
            lesson, day = instance.lessons[opening.lesson], short_day(opening.date)
            cells = (
                ("" if day == last else day, "when"), (str(laid.first_slot(opening.lesson).period), "period"),
                (one_line(lesson.title), "lesson"), (said or "nothing yet", ""), (box(ticked=False, of="done"), "done"),
            )  # fmt: skip
            rows.append(_row(cells, day != last))
            last = day
        heads = (("date", "when"), ("period", "period"), ("lesson", "lesson"), ("opens with", ""), ("", "done"))
        yield el(
            "section",
            _header(instance.classes[asked.class_index].name, "what each lesson opens with", None),
            _table(heads, rows) if rows else el("p", "No lesson is still to open."),
            [el("p", sentence, class_="note") for sentence in (not_served(instance, each) if rows else ())],
            foot(answer, ()),
        )


def coverage_sections(answer: Answer, laid: Laid, classes: Iterable[ClassCoverage], counted: str) -> Iterator[Markup]:
    """A section for each class and specification: every point with its dates, and what is lacking."""
    listed = list(classes)
    if not listed:
        yield el("section", _header("Coverage", "", None), el("p", NO_SPECIFICATION))
    for each in listed:
        title = each.specification.title or each.specification.id
        heads = (("point", "code"), ("", ""), *((way, "way") for way in WAYS))
        rows = [_row(_point(covered), first=True) for covered in each.points]
        yield el(
            "section",
            _header(laid.instance.classes[each.class_index].name, one_line(title), None),
            _table(heads, rows),
            [el("p", el("b", f"{said}: "), ", ".join(points) or "none") for said, points in lacking(each)],
            foot(answer, (), counted),
        )


def _point(covered: PointCoverage) -> list[tuple[Part, str]]:
    cells: list[tuple[Part, str]] = [(covered.point.code, "code"), (covered.point.title, "")]
    for way in WAYS:
        dates = ", ".join(dict.fromkeys(day_in_short(met) for met in covered.met[way]))
        cells.append((dates or (el("span", "NEVER", class_="kind test") if covered.never and way == WAYS[0] else "–"), "way"))
    return cells


def _header(name: str, about: str, who: str | None) -> Markup:
    return el("header", el("h1", name), el("p", about), el("p", who, class_="far") if who is not None else None)


def _row(cells: Iterable[tuple[Part, str]], first: bool) -> Markup:
    return el("tr", [el("td", part, class_=of or None) for part, of in cells], class_="first" if first else None)


def _table(heads: Iterable[tuple[str, str]], rows: list[Markup]) -> Markup:
    head = el("thead", el("tr", [el("th", name, class_=of or None) for name, of in heads]))
    return el("table", head, el("tbody", rows, style="break-inside: auto"), class_="list")
