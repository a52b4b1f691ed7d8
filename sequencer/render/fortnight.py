"""A teacher's fortnights on paper: a band for each day, boxes to tick and room to write by hand.

Two weeks share a page where they leave enough room; pages break between weeks, never inside a day.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render.days_told import NOT_ALL, REMOTE, days_of, holidays_between, week_name, week_span, what_is_on
from sequencer.render.document import header, heads
from sequencer.render.html import Markup, Part, el
from sequencer.render.sheet import KINDS, bell_times, box, foot, goes_with, lesson_cell
from sequencer.render.shown import Line, Shown, details, how_taught, lines_of, notes_of
from sequencer.render.todo import STYLE as TODO
from sequencer.render.todo import Todo
from sequencer.render.towers import key, towers
from sequencer.scenario.school_weeks import SchoolWeek

STYLE = (
    """
.one-week { break-inside: avoid }
.one-week + .one-week { margin-top: 7mm }
.week { table-layout: fixed }
.week .day { width: 17mm }
.week .period { width: 18mm }
.week .whom { width: 14mm }
.week .load { width: 9mm }
.week .tick { width: 15mm; text-align: center }
.week th { padding-left: .5mm; padding-right: .5mm }
.week .room { width: 28mm }
.week tbody tr:first-child td { border-top: .6mm solid #000 }
.week td.day b { font-size: 14pt; display: block; line-height: 1.1 }
.week td.period { font-size: 13pt; font-weight: bold; line-height: 1.1 }
.week td.period .by { font-weight: normal; display: inline-block; width: 10.4mm; margin-left: 1.4mm; vertical-align: top }
.week td.whom { font-weight: bold }
.week.named .whom { width: 27mm }
.week.named .room { width: 20mm }
.week.long tbody { break-inside: auto }
.week td.room { border-left: .2mm dotted #000 }
.tight td { padding-top: .5mm; padding-bottom: .5mm }
.week.tight .room { width: 20mm }
"""
    + TODO
)

_COLUMNS = (
    ("day", "day"), ("period", "period"), ("class", "whom"), ("lesson", None), ("load", "load"), ("resources up", "tick"),
    ("taught", "tick"), ("notes", "room"),
)  # fmt: skip

_PAGE, _HEADING, _DAY, _NOTE, _HIGHEST, _LOWEST = 246, 26, 12, 7, 17, 9
"""Millimetres: the rows of a page and its foot, a second heading, a day at least, a note, most and least of a row."""

_LETTERS, _SMALL_LETTERS, _FOOT_LETTERS = 33, 37, 110
"""Letters in a line of a title, of what goes with a lesson, and of the foot."""


_SHORT, _LETTERS_OF_NAME = 6, 13
"""Letters of a class's name that fit a narrow column, and those of a long name in a line of a wider one."""


@dataclass(frozen=True)
class _Row:
    """A period of a teacher: with a lesson that begins in it, one that goes on, or none."""

    slot: Slot
    owner: ClassFacts
    line: Line | None
    goes_on: str | None


def fortnights(answer: Answer, laid: Laid, shown: Shown, teacher: str | None) -> Iterator[Markup]:
    """A section for each fortnight in which a teacher meets a class; None is the one teacher of a scenario that names none."""
    rows = _rows(laid, shown, teacher)
    classes = [facts for facts in laid.classes if any(row.owner is facts for row in rows)]
    todo = Todo(laid, teacher) if not shown.copy else None
    first = True
    for weeks in _pairs(laid.instance.calendar.own_weeks):
        own = [(week, [row for row in rows if row.slot.week == week]) for week in weeks if shown.shows_week(week)]
        own = [(week, in_week) for week, in_week in own if in_week]
        if not own:
            continue
        cautions = dict.fromkeys(caution for _, in_week in own for row in in_week if row.line for caution in row.line.cautions)
        page = _PAGE - 12 - sum(5 * -(-len(caution) // _FOOT_LETTERS) for caution in cautions)
        needs = [_needs(laid, week, in_week, classes) for week, in_week in own]
        beneath = [todo.height(week) if todo else 0 for week, _ in own]
        shared = _fitting([day for days in needs for day in days], page - sum(beneath) - _HEADING * (len(own) - 1))
        heights = [shared or _fitting(days, page - taken) or _LOWEST for days, taken in zip(needs, beneath, strict=True)]
        yield el(
            "section",
            [
                _week(laid, week, in_week, classes, teacher, height, todo, _kind_of(in_week, days, height))
                for (week, in_week), days, height in zip(own, needs, heights, strict=True)
            ],
            foot(answer, cautions, key(laid.instance.scenario.loads, spare=False) if first else None),
        )
        first = False


def _fitting(days: list[list[float]], room: float) -> int | None:
    """The greatest height for each row with which all days fit; None when not even the lowest lets them."""
    heights = range(_HIGHEST, _LOWEST - 1, -1)
    return next((height for height in heights if sum(_high(day, height) for day in days) <= room), None)


def _high(day: list[float], height: int) -> float:
    """How high a day is when each of its rows has at least a height."""
    return max(_DAY, day[0] + sum(max(height, need) for need in day[1:]))


def _needs(laid: Laid, week: SchoolWeek, rows: list[_Row], classes: list[ClassFacts]) -> list[list[float]]:
    """For each day of a week about how high what is on it is, and then each of its rows."""
    days = [(day, [row for row in rows if row.slot.date == day]) for day in days_of(week, classes)]
    return [[_NOTE * bool(own and _notes(laid, day, own, classes)), *(_need(laid, row) for row in own)] for day, own in days]


def _notes(laid: Laid, day: date, own: list[_Row], classes: list[ClassFacts]) -> list[str]:
    """What is on: for closures all classes of the teacher, for what bears on lessons those that meet on the day."""
    scenario, meeting = laid.instance.scenario, [facts for facts in classes if any(row.owner is facts for row in own)]
    on = [each for each in what_is_on(scenario, day, classes) if each.means not in (REMOTE, NOT_ALL)]
    if own:
        on += [each for each in what_is_on(scenario, day, meeting) if each.means in (REMOTE, NOT_ALL)]
    return [each.in_full for each in on]


def _need(laid: Laid, row: _Row) -> float:
    """About how high a row's texts are, in millimetres."""
    name = 3 + 4.5 * -(-len(row.owner.name) // _LETTERS_OF_NAME)
    slots = row.line.slots if row.line is not None else (row.slot,)
    name = max(name, 10 + 5 * (len(slots) > 1)) if bell_times(laid.instance.scenario, slots[0].period, slots[-1].period) else name
    if row.line is None:
        return name
    title = len(row.line.title) + sum(len(word) + 2 for word in (KINDS[row.line.lesson.kind], how_taught(row.line.taught)))
    told = ["; ".join(details(row.line)), *(line for note in notes_of(row.line) for line in note.splitlines())]
    return max(name, 3 + 4.5 * -(-title // _LETTERS) + sum(4 * -(-len(each) // _SMALL_LETTERS) for each in told))


def _pairs(weeks: Sequence[SchoolWeek]) -> Iterator[tuple[SchoolWeek, ...]]:
    """The weeks two by two, a cycle of two together; a longer cycle, or a week that has lost its partner, as it comes."""
    waiting: list[SchoolWeek] = []
    two_weekly = len({week.label for week in weeks}) == 2
    for week in weeks:
        if len(waiting) == 2 or (waiting and two_weekly and waiting[-1].cycle != week.cycle):
            yield tuple(waiting)
            waiting = []
        waiting.append(week)
    yield tuple(waiting)


def _rows(laid: Laid, shown: Shown, teacher: str | None) -> list[_Row]:
    begins = {(line.owner.index, line.slots[0].number): line for line in lines_of(laid, replace(shown, classes=(), teachers=()))}
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
    laid: Laid,
    week: SchoolWeek,
    rows: list[_Row],
    classes: list[ClassFacts],
    teacher: str | None,
    height: int,
    todo: Todo | None,
    kind: str,
) -> Markup:
    days = days_of(week, classes)
    bands = [_day(laid, day, rows, classes, height) for day in days]
    return el(
        "div",
        header(week_name(week, laid.instance.calendar), f"{week_span(week)} {days[-1].year}", teacher),
        el("table", heads(_COLUMNS), bands, class_=kind),
        todo.of(week) if todo is not None else None,
        [el("p", holiday, class_="spare") for holiday in _holidays_after(laid, week)],
        class_="one-week",
    )


def _holidays_after(laid: Laid, week: SchoolWeek) -> list[str]:
    weeks = laid.instance.calendar.own_weeks
    return holidays_between(laid.instance.scenario, week, weeks[week.number]) if week.number < len(weeks) else []


def _kind_of(rows: list[_Row], needs: list[list[float]], height: int) -> str:
    """What kind of table a week is: tight, with names that need room, or with a day that no page could hold whole."""
    kinds = {
        "tight": height <= _LOWEST,
        "named": any(len(row.owner.name) > _SHORT for row in rows),
        "long": any(_high(day, height) > _PAGE for day in needs),
    }
    return " ".join(["week", *(kind for kind, holds in kinds.items() if holds)])


def _day(laid: Laid, day: date, rows: list[_Row], classes: list[ClassFacts], height: int) -> Markup:
    own = [row for row in rows if row.slot.date == day]
    notes = "; ".join(_notes(laid, day, own, classes))
    cells = [_cells(laid, row) for row in own]
    if not own:
        cells = [[el("td", notes or "no lessons", colspan=7, class_="spare")]]
    elif notes:
        # What is on is to be known before the lessons are.
        cells.insert(0, [el("td", notes, colspan=7, class_="spare")])
    tall = len(cells) - len(own)
    heading = el("td", el("b", f"{day:%a}"), f"{day.day} {day:%b}", class_="day", rowspan=len(cells))
    return el(
        "tbody",
        [
            el(
                "tr",
                heading if number == 0 else None,
                row,
                style=f"height: {height}mm" if number >= tall else None,
            )
            for number, row in enumerate(cells)
        ],
    )


def _cells(laid: Laid, row: _Row) -> list[Part]:
    line = row.line
    if line is None:
        told = f"{row.goes_on} goes on" if row.goes_on is not None else "spare"
        empty = el("td")
        return [
            _period(laid, str(row.slot.period), row.slot, row.slot), el("td", row.owner.name, class_="whom"),
            el("td", told, class_="spare"), empty, empty, empty, el("td", class_="room"),
        ]  # fmt: skip
    taught = line.lesson.delivered is not None
    return [
        _period(laid, line.periods_in_short, row.slot, line.slots[-1]),
        el("td", row.owner.name, class_="whom"),
        el("td", lesson_cell(line), goes_with(line), class_="lesson"),
        el("td", towers([line.lesson.load], laid.instance.scenario.loads), class_="load"),
        el("td", box(taught, "resources up"), class_="tick up"),
        el("td", box(taught, "taught"), class_="tick taught"),
        el("td", class_="room"),
    ]


def _period(laid: Laid, told: str, first: Slot, last: Slot) -> Markup:
    """The cell of a period, or of several, with its bell times."""
    times = bell_times(laid.instance.scenario, first.period, last.period)
    return el("td", told, el("span", times, class_="by") if times else None, class_="period")
