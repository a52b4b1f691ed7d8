"""A teacher's fortnights on paper: a page for each week, a band for each day, boxes to tick and room to write by hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from sequencer.calendar import SchoolWeek, Slot
from sequencer.facts import ClassFacts
from sequencer.render.days import days_of, week_name, week_span, what_is_on
from sequencer.render.html import Markup, Part, el
from sequencer.render.sheet import box, foot, lesson_cell
from sequencer.render.shown import Line, Shown, lines_of
from sequencer.render.towers import towers
from sequencer.sequence import Laid
from sequencer.solve import Answer

STYLE = """
.week { table-layout: fixed }
.week .day { width: 21mm; border-top: .6mm solid #000 }
.week .day b { font-size: 14pt; display: block; line-height: 1.1 }
.week .period { width: 13mm } .week .whom { width: 15mm } .week .load { width: 14mm } .week .tick { width: 16mm; text-align: center }
.week .room { width: 38mm }
.week tbody tr:first-child td { border-top: .6mm solid #000 }
.week td.period { font-size: 13pt; font-weight: bold; line-height: 1.1 } .week td.whom { font-weight: bold }
.week td.room { border-left: .2mm dotted #000 }
.week .note td { font-style: italic }
.roomy tr.lesson td { height: 13mm } .fair tr.lesson td { height: 10mm }
.tight td { padding-top: .5mm; padding-bottom: .5mm }
"""

_ROOMY, _FAIR = 14, 19
"""So many rows fit a page at 13 and at 10 mm each."""


@dataclass(frozen=True)
class _Row:
    """A period of a teacher: with a lesson that begins in it, one that goes on, or none."""

    slot: Slot
    owner: ClassFacts
    line: Line | None
    goes_on: str | None


def fortnights(answer: Answer, laid: Laid, shown: Shown, teacher: str | None) -> Iterator[Markup]:
    """A section for each school week in which a teacher meets a class; None is the one teacher of a scenario that names none."""
    rows = _rows(laid, shown, teacher)
    classes = [facts for facts in laid.classes if any(row.owner is facts for row in rows)]
    for week in laid.instance.calendar.weeks:
        own = [row for row in rows if row.slot.week.number == week.number]
        if own:
            yield _week(answer, laid, week, own, classes, teacher)


def _rows(laid: Laid, shown: Shown, teacher: str | None) -> list[_Row]:
    begins = {(line.owner.index, line.slots[0].number): line for line in lines_of(laid, Shown())}
    rows = []
    for facts in laid.classes:
        if shown.classes and facts.id not in shown.classes:
            continue
        for slot in facts.slots:
            if slot.teacher != teacher:
                continue
            line, holder = begins.get((facts.index, slot.number)), laid.holders[facts.index].get(slot.number)
            if line is None and holder is not None:
                if laid.first_slot(holder).teacher == teacher:
                    continue  # its first row tells all its periods
                rows.append(_Row(slot, facts, None, laid.instance.lessons[holder].title))
            else:
                rows.append(_Row(slot, facts, line, None))
    return sorted(rows, key=lambda row: (row.slot.date, row.slot.period, row.owner.index))


def _week(
    answer: Answer, laid: Laid, week: SchoolWeek, rows: list[_Row], classes: list[ClassFacts], teacher: str | None
) -> Markup:
    calendar = laid.instance.calendar
    weeks = calendar.weeks
    cycle = [each for each in weeks if each.cycle == week.cycle] if len({each.label for each in weeks}) > 1 else [week]
    place = f"of weeks {cycle[0].number} and {cycle[-1].number}" if len(cycle) > 1 else ""
    days = days_of(week, classes)
    size = "roomy" if len(rows) <= _ROOMY else "fair" if len(rows) <= _FAIR else "tight"
    head = el(
        "thead",
        el(
            "tr",
            el("th", "day", class_="day"), el("th", "period", class_="period"), el("th", "class", class_="whom"), el("th", "lesson"),
            el("th", "load", class_="load"), el("th", "resources up", class_="tick"), el("th", "taught", class_="tick"),
            el("th", "notes", class_="room"),
        ),
    )  # fmt: skip
    return el(
        "section",
        el(
            "header",
            el("h1", week_name(week, calendar)),
            el("p", f"{week_span(week)} {days[-1].year}"),
            el("p", " · ".join(part for part in (teacher, place) if part), class_="far"),
        ),
        el("table", head, [_day(laid, day, rows, classes) for day in days], class_=f"week {size}"),
        foot(answer, (caution for row in rows if row.line is not None for caution in row.line.cautions)),
    )


def _day(laid: Laid, day: date, rows: list[_Row], classes: list[ClassFacts]) -> Markup:
    own = [row for row in rows if row.slot.date == day]
    notes = what_is_on(laid.instance.scenario, day, classes)
    cells = [_cells(laid, row) for row in own]
    if not own:
        cells = [[el("td", "; ".join(notes) or "no lessons", colspan=7, class_="spare")]]
    elif notes:
        cells.append([el("td", "; ".join(notes), colspan=7, class_="spare")])
    heading = el("td", el("b", f"{day:%a}"), f"{day.day} {day:%b}", class_="day", rowspan=len(cells))
    return el(
        "tbody",
        [
            el("tr", heading if number == 0 else None, row, class_="lesson" if number < len(own) else "note")
            for number, row in enumerate(cells)
        ],
    )


def _cells(laid: Laid, row: _Row) -> list[Part]:
    line = row.line
    if line is None:
        told = f"{row.goes_on} goes on" if row.goes_on is not None else "spare"
        empty = el("td")
        return [
            el("td", str(row.slot.period), class_="period"), el("td", row.owner.name, class_="whom"),
            el("td", told, class_="spare"), empty, empty, empty, el("td", class_="room"),
        ]  # fmt: skip
    taught = line.lesson.delivered is not None
    periods = line.periods if len(line.slots) == 1 else f"{line.slots[0].period}–{line.slots[-1].period}"
    return [
        el("td", periods, class_="period"),
        el("td", row.owner.name, class_="whom"),
        el("td", lesson_cell(line)),
        el("td", towers([line.lesson.load], laid.instance.scenario.loads)),
        el("td", box(taught, "resources up"), class_="tick"),
        el("td", box(taught, "taught"), class_="tick"),
        el("td", class_="room"),
    ]
