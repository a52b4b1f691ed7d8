"""The assessment calendar of each year group: text, a sheet for the wall, rows of a table, a calendar."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta

from icalendar import Event

from sequencer.plan.sequence import Laid
from sequencer.questions.lists.assessments import CohortAssessment, CohortCalendar, assessments
from sequencer.questions.solve import Answer
from sequencer.render.calendar_events import begun, told_apart, uid_of, written_calendar
from sequencer.render.days_told import week_name, week_span, weeks_told, what_is_on
from sequencer.render.document import Block, Table, TableColumn, Value, day_cell, header, heads
from sequencer.render.html import Markup, Part, el
from sequencer.render.sheet import foot
from sequencer.render.shown import Asked, one_line
from sequencer.words import WEEKDAYS, count_text

STYLE = """
.year { table-layout: fixed } .year td { border-top: .3mm solid #000; border-left: .2mm solid #000; padding: 1mm; height: 14mm }
.year td.of-week, .year td.held { border-left: 0 } .year .of-week { width: 21mm } .year .held { width: 25mm }
.year p { margin: 0 0 1mm; line-height: 1.15 } .year .fixed { font-style: italic }
.year .free { border-left: 0; height: auto; font-style: italic }
"""

FIXED = "fixed elsewhere"
NONE_PLANNED = "No assessment is planned."


def assessments_blocks(laid: Laid, _: Asked) -> Iterator[Block]:
    """For each year group a table of its assessments, and of what its weeks hold."""
    for each in assessments(laid):
        rows = [(day_cell(one.date), one.subject, _what(laid, one), _whose(laid, one)) for one in each.assessments]
        table = Table([TableColumn(head) for head in ("date", "subject", "assessment", "class")], rows, by=0)
        yield from (f"{each.cohort.name}: assessments", table if rows else NONE_PLANNED)
        weeks = [(week_name(of.week, laid.instance.calendar), of.assessments, of.homework, of.dense) for of in each.weeks]
        numbers = [TableColumn(head, right=True) for head in ("assessments", "minutes of homework", "dense lessons")]
        yield from ("", f"{each.cohort.name}: what a pupil has at most", Table([TableColumn(""), *numbers], weeks), "")


def _what(laid: Laid, one: CohortAssessment) -> str:
    return FIXED if one.lesson is None else one_line(laid.instance.lessons[one.lesson].title)


def _whose(laid: Laid, one: CohortAssessment) -> str:
    """The class that writes it; all of them what is fixed elsewhere."""
    return "all" if one.lesson is None else laid.instance.class_of(laid.instance.lessons[one.lesson]).name


# -- for the wall --------------------------------------------------------------------------------------------------------


def assessments_sections(answer: Answer, laid: Laid, _: Asked) -> Iterator[Markup]:
    """A page for each year group: its weeks beneath one another, the days of each side by side."""
    for each in assessments(laid):
        columns = [("", "of-week"), *((day, None) for day in WEEKDAYS[:5]), ("a pupil has at most", "held")]
        table = el("table", heads(columns), list(_weeks(laid, each)), class_="year")
        none = None if each.assessments else el("p", NONE_PLANNED)
        yield el("section", header(one_line(each.cohort.name), "assessments"), none, table, foot(answer, ()))


def _weeks(laid: Laid, each: CohortCalendar) -> Iterator[Markup]:
    instance = laid.instance
    classes = [instance.classes[of] for subject in each.cohort.subjects for of in subject.classes]
    told = weeks_told(instance.scenario, (held.week for held in each.weeks))
    for held, (week, holidays) in zip(each.weeks, told, strict=True):
        for holiday in holidays:
            yield el("tbody", el("tr", el("td", holiday, colspan=7, class_="free")))
        cells = []
        for offset in range(5):
            day = week.monday + timedelta(days=offset)
            on = [el("span", occasion.in_short, class_="by spare") for occasion in what_is_on(instance.scenario, day, classes)]
            # What lies on a Saturday or Sunday stands with the Friday.
            days = [day, day + timedelta(days=1), day + timedelta(days=2)] if offset == 4 else [day]
            entries = [entry for each_day in days for entry in _of_day(laid, each, each_day)]
            cells.append(el("td", on, entries, data_of=f"{day:%a} {day.day} {day:%b}"))
        name = el("td", el("b", week_name(week, instance.calendar)), el("span", week_span(week), class_="by"), class_="of-week")
        has = [count_text(held.assessments, "assessment")] if held.assessments else []
        has += [f"{count_text(held.homework, 'minute')} of homework"] if held.homework else []
        has += [count_text(held.dense, "dense lesson")] if held.dense else []
        yield el("tbody", el("tr", name, cells, el("td", [el("p", line) for line in has], class_="held")))


def _of_day(laid: Laid, each: CohortCalendar, day: date) -> Iterator[Markup]:
    """The assessments of a day; classes that write the same one together."""
    together: dict[tuple[str, str], list[str]] = {}
    for one in each.assessments:
        if one.date == day:
            together.setdefault((one.subject, _what(laid, one)), []).append(_whose(laid, one))
    for (subject, what), whose in together.items():
        begins = f"{day:%a}: " if day.weekday() > 4 else None
        rest: list[Part] = [f" {what}"] if what == FIXED else [f" {what}", el("span", f" ({', '.join(whose)})", class_="by")]
        yield el("p", begins, el("b", f"{subject}:"), *rest, class_="fixed" if what == FIXED else None)


# -- for programs --------------------------------------------------------------------------------------------------------


COLUMNS = ("cohort", "date", "weekday", "period", "subject", "class", "title", "unit", "lesson", "fixed")


def assessments_rows(laid: Laid, _: Asked) -> list[dict[str, Value]]:
    """A row for each assessment of each class, and for each that is fixed elsewhere."""
    return [_row(laid, each, one) for each in assessments(laid) for one in each.assessments]


def _row(laid: Laid, each: CohortCalendar, one: CohortAssessment) -> dict[str, Value]:
    row: dict[str, Value] = {"cohort": each.cohort.id, "date": one.date, "weekday": f"{one.date:%a}", "subject": one.subject}
    if one.lesson is None:
        return row | {"fixed": "yes"}
    lesson = laid.instance.lessons[one.lesson]
    where: dict[str, Value] = {"period": laid.first_slot(one.lesson).period, "class": laid.instance.class_of(lesson).id}
    return row | where | {"title": lesson.title, "unit": lesson.unit, "lesson": lesson.id}


def assessments_calendar(answer: Answer, laid: Laid) -> bytes:
    """An event of a whole day for each of them, which keeps its UID over all plans of one term."""
    events = _events(laid, assessments(laid), datetime.now(UTC))
    return written_calendar(answer.instance.scenario, events, f" {answer.run.version}")


def cohort_events(laid: Laid, cohort: str, now: datetime) -> Iterator[Event]:
    """The events of one cohort, which a later calendar can bring up to date."""
    for event in _events(laid, (each for each in assessments(laid) if each.cohort.id == cohort), now):
        told_apart(event, laid.instance.scenario, cohort, None)
        yield event


def _events(laid: Laid, calendars: Iterable[CohortCalendar], now: datetime) -> Iterator[Event]:
    scenario = laid.instance.scenario
    for each in calendars:
        counted: dict[str, int] = {}
        for one in each.assessments:
            if one.lesson is None:
                counted[one.subject] = counted.get(one.subject, 0) + 1
                name, title = ("", one.subject, f"fixed {counted[one.subject]}"), f"{one.subject}: {FIXED}"
            else:
                lesson = laid.instance.lessons[one.lesson]
                owner = laid.instance.class_of(lesson)
                name, title = (owner.id, lesson.unit, lesson.id), f"{one.subject}: {one_line(lesson.title)} ({owner.name})"
            event = begun(uid_of(scenario, f"{each.cohort.id}: {name[0]}", *name[1:]), now)
            event.add("dtstart", one.date)
            event.add("dtend", one.date + timedelta(days=1))
            event.add("summary", title)
            event.add("categories", [each.cohort.name])
            event.add("transp", "TRANSPARENT")
            yield event
