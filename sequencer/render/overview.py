"""All classes by week, for the wall: what each does, with its loads as towers; up to six classes side by side."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from sequencer.instance.facts import ClassFacts
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render.days_told import days_of, week_name, week_span, weeks_told, what_is_on
from sequencer.render.document import header, heads
from sequencer.render.html import Markup, Part, el
from sequencer.render.sheet import KINDS, foot, kind_mark, loads_of, sheet
from sequencer.render.shown import Line, Shown, how_taught, laid_out, lines_of, one_line
from sequencer.render.towers import key, towers
from sequencer.scenario.school_weeks import SchoolWeek

STYLE = """
.wall { table-layout: fixed }
.wall .of-week { width: 25mm } .wall .of-week b { display: block; font-size: 13pt }
.wall thead th { font-size: 13pt; font-weight: bold; border-bottom: .8mm solid #000 }
.wall td { border-top: .6mm solid #000; border-left: .2mm solid #000; padding: 1mm }
.wall td.of-week { border-left: 0 }
.few .cell { display: flex; gap: 3mm; align-items: flex-end }
.few .towers { flex: none }
.wall ol { list-style: none; margin: 1mm 0 0; padding: 0; font-size: 9pt; line-height: 1.15 }
.wall li { padding-left: 8mm; text-indent: -8mm; margin-bottom: .5mm }
.wall li > * { text-indent: 0 }
.wall li > i { display: inline-block; width: 8mm; font-style: normal; font-weight: bold }
.wall .free { border-left: 0; font-style: italic; font-size: 9pt }
"""

_SIDE_BY_SIDE, _NARROW = 6, 3
"""Classes on one page, and how many go on an upright one."""


def answer_overview(answer: Answer, shown: Shown) -> str:
    """The wall overview as a page of HTML."""
    laid = laid_out(answer)
    lines = list(lines_of(laid, shown))
    classes = [facts for facts in laid.classes if any(shown.shows(facts.id, slot.teacher) for slot in facts.slots)]
    pages = -(-len(classes) // _SIDE_BY_SIDE)
    each = -(-len(classes) // pages)
    groups = [classes[start : start + each] for start in range(0, len(classes), each)]
    sections = [_section(answer, laid, group, lines) for group in groups]
    return sheet(answer, sections, STYLE, wide=each > _NARROW)


def _section(answer: Answer, laid: Laid, classes: list[ClassFacts], lines: list[Line]) -> Markup:
    instance = laid.instance
    first, last = instance.scenario.term.begins, instance.scenario.term.last
    own = [line for line in lines if line.owner in classes]
    title = one_line(instance.scenario.title or "All classes by week")
    return el(
        "section",
        header(title, None, f"{first.day} {first:%b %Y} to {last.day} {last:%b %Y}"),
        el(
            "table",
            heads([("", "of-week"), *((facts.name, None) for facts in classes)]),
            list(_weeks(laid, classes, own)),
            class_="wall" if len(classes) > _NARROW else "wall few",
        ),
        foot(answer, (caution for line in own for caution in line.cautions), key(instance.scenario.loads)),
    )


def _weeks(laid: Laid, classes: list[ClassFacts], lines: list[Line]) -> Iterator[Markup]:
    for week, holidays in weeks_told(laid.instance.scenario, laid.instance.calendar.own_weeks):
        for holiday in holidays:
            yield el("tbody", el("tr", el("td", holiday, colspan=len(classes) + 1, class_="free")))
        cells = [_cell(laid, facts, week, [line for line in lines if line.owner is facts]) for facts in classes]
        notes = _notes(laid, classes, week)
        heading = el(
            "td",
            el("b", week_name(week, laid.instance.calendar)),
            el("span", week_span(week), class_="by"),
            [el("span", note, class_="by spare") for note in notes],
            class_="of-week",
        )
        yield el("tbody", el("tr", heading, cells))


def _notes(laid: Laid, classes: list[ClassFacts], week: SchoolWeek) -> list[str]:
    """What is on in a week, each once with its days."""
    found: dict[str, list[date]] = {}
    scenario = laid.instance.scenario
    for day in days_of(week, classes):
        if scenario.term.begins <= day <= scenario.term.last:
            for occasion in what_is_on(scenario, day, classes):
                found.setdefault(occasion.in_short, []).append(day)
    return [f"{_weekdays(days)}: {what}" for what, days in found.items()]


def _weekdays(days: list[date]) -> str:
    """``Mon``, ``Mon, Wed`` or, of three and more on end, ``Mon to Fri``."""
    if len(days) > 2 and (days[-1] - days[0]).days == len(days) - 1:
        return f"{days[0]:%a} to {days[-1]:%a}"
    return ", ".join(f"{day:%a}" for day in days)


def _cell(laid: Laid, facts: ClassFacts, week: SchoolWeek, lines: list[Line]) -> Markup:
    slots = [slot for slot in facts.slots if slot.week.number == week.number]
    begins = {line.slots[0].number: line for line in lines}
    if not slots:
        return el("td", "no period", class_="spare", data_of=facts.name)
    entries = [el("li", _entry(begins[slot.number])) for slot in slots if slot.number in begins]
    drawn = towers(loads_of(slots, begins, laid.holders[facts.index]), laid.instance.scenario.loads)
    return el("td", el("div", drawn, el("ol", entries), class_="cell"), data_of=facts.name)


def _entry(line: Line) -> list[Part]:
    how = how_taught(line.taught)
    mark = kind_mark(KINDS[line.lesson.kind]) if line.lesson.kind == "assessment" else None
    # With the space a title may begin a new line beside the mark, instead of being broken inside a word.
    return [el("i", f"{line.date:%a}"), mark, " " if mark else None, line.title, f" ({how})" if how else None]
