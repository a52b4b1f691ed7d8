"""One class's whole term on paper, for pinning up or handing to a colleague: nothing private stands in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render.days_told import NO_SCHOOL, NOT_ALL, days_of, week_name, weeks_told, what_is_on
from sequencer.render.document import header, heads, short_day
from sequencer.render.html import Markup, Part, el
from sequencer.render.sheet import bell_times, foot, goes_with, lesson_cell, loads_of
from sequencer.render.shown import Line, Shown, lines_of, one_line
from sequencer.render.towers import key, towers
from sequencer.scenario.school_weeks import SchoolWeek
from sequencer.scenario.unit_schema import Unit

STYLE = """
.term td { padding-top: .7mm; padding-bottom: .7mm }
.term { table-layout: fixed }
.term .of-week { width: 25mm }
.term td.of-week b { display: block; font-size: 12pt; margin-bottom: 1mm }
.term .when { width: 22mm; white-space: nowrap }
.term .period { width: 13mm }
.term .goes-with { width: 56mm }
.term tr.first td { border-top: .6mm solid #000 }
.term td.goes-with { font-size: 9pt }
.term td.foot { border: 0; padding: 0 }
"""

_SHORT_WEEK = 3
"""With fewer rows a last week alone would leave a page all but empty."""


def class_term(answer: Answer, laid: Laid, shown: Shown, facts: ClassFacts) -> Markup:
    """A section for one class: a table by week, with what each lesson practises and meets again."""
    lines = {line.slots[0].number: line for line in lines_of(laid, Shown((facts.id,), opens=shown.opens, copy=True))}
    beside = any(goes_with(line) for line in lines.values())
    units = [one_line(unit.title or unit.id) for unit in _units(laid, facts)]
    columns = [(f"{facts.name}, week", "of-week"), ("date", "when"), ("period", "period"), ("lesson", "lesson")]
    columns += [("goes with", "goes-with")] if beside else []
    slots = [slot for slot in facts.slots if shown.shows_week(slot.week)]
    weeks = [week for week in laid.instance.calendar.own_weeks if any(slot.week == week for slot in slots)]
    first, last = slots[0].date, slots[-1].date
    cautions = (caution for line in lines.values() for caution in line.cautions)
    told = foot(answer, cautions, key(laid.instance.scenario.loads), _bells(laid, slots))
    beneath = el("tr", el("td", told, colspan=len(columns), class_="foot"))
    return el(
        "section",
        header(facts.name, ", ".join(units), f"{short_day(first)} {first.year} to {short_day(last)} {last.year}"),
        el("table", heads(columns), _bodies(_weeks(laid, facts, weeks, lines, beside), beneath), class_="term"),
    )


def _bells(laid: Laid, slots: list[Slot]) -> str:
    """The bell times of a class's periods, where they are stated."""
    times = {number: bell_times(laid.instance.scenario, number, number) for number in sorted({slot.period for slot in slots})}
    said = ", ".join(f"{number} {when}" for number, when in times.items() if when)
    return f" Periods: {said}." if said else ""


def _units(laid: Laid, facts: ClassFacts) -> list[Unit]:
    scenario = laid.instance.scenario
    taken = scenario.classes[facts.index].units
    return [unit for unit in scenario.units if unit.id in taken]


def _bodies(weeks: Iterable[list[Markup]], beneath: Markup) -> list[Markup]:
    """The rows of each week, never broken between pages; a short last one stays with the week before, what is beneath with it."""
    groups = list(weeks)
    while len(groups) > 1 and len(groups[-1]) < _SHORT_WEEK:
        groups[-2:] = [[*groups[-2], *groups[-1]]]
    groups[-1].append(beneath)
    return [el("tbody", rows) for rows in groups]


def _weeks(
    laid: Laid, facts: ClassFacts, weeks: list[SchoolWeek], lines: dict[int, Line], beside: bool
) -> Iterator[list[Markup]]:
    """The rows of each week, and of the holidays before it."""
    scenario = laid.instance.scenario
    width = 4 if beside else 3
    for week, holidays in weeks_told(scenario, weeks):
        for holiday in holidays:
            yield [el("tr", el("td", holiday, colspan=width + 1, class_="spare"), class_="first")]
        rows: list[list[Part]] = []
        for day in days_of(week, (facts,)):
            slots = [slot for slot in facts.slots if slot.date == day]
            # That it is remote stands beside each lesson; what is not for every lesson matters where there is one.
            notes = [
                occasion.in_full
                for occasion in what_is_on(scenario, day, (facts,))
                if occasion.means == NO_SCHOOL or (occasion.means == NOT_ALL and slots)
            ]
            if notes:
                rows.append(
                    [el("td", short_day(day), class_="when"), el("td", "; ".join(notes), colspan=width - 1, class_="spare")]
                )
            for slot in slots:
                line = lines.get(slot.number)
                if line is not None:
                    rows.append(_lesson(line, beside))
                elif slot.number not in laid.holders[facts.index]:
                    past = scenario.today is not None and slot.date < scenario.today
                    told = el("td", "past" if past else "spare", class_="spare", colspan=width - 2)
                    rows.append([el("td", short_day(day), class_="when"), el("td", str(slot.period), class_="period"), told])
        loads = loads_of((slot for slot in facts.slots if slot.week.number == week.number), lines, laid.holders[facts.index])
        name = el("b", week_name(week, laid.instance.calendar))
        heading = el("td", name, towers(loads, scenario.loads), class_="of-week", rowspan=len(rows))
        yield [el("tr", None if number else heading, row, class_=None if number else "first") for number, row in enumerate(rows)]


def _lesson(line: Line, beside: bool) -> list[Part]:
    return [
        el("td", short_day(line.date), class_="when"),
        el("td", line.periods_in_short, class_="period"),
        el("td", lesson_cell(line), class_="lesson"),
        el("td", goes_with(line), class_="goes-with") if beside else None,
    ]
