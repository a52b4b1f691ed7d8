"""What all printed sheets share: one page of HTML with its style, the words for kinds, boxes to tick, what stands at the foot."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sequencer.instance.calendar import Slot
from sequencer.questions.solve import Answer
from sequencer.render.document import Either
from sequencer.render.html import Markup, Part, el, page
from sequencer.render.shown import Line, details, headline, how_taught, notes_of, one_line
from sequencer.render.towers import STYLE as TOWERS
from sequencer.scenario.schema import Scenario

KINDS = {"teach": "", "practice": "practice", "retrieval": "retrieval", "feedback": "feedback", "assessment": "TEST"}
"""Kinds on a sheet; new content is what is not marked."""

_NUMBERS = '@bottom-right { content: "page " counter(page) " of " counter(pages); font: 9pt sans-serif }'

_STYLE = (
    """
* { box-sizing: border-box }
body { margin: 0 auto; padding: 0; max-width: 186mm; font: 10pt/1.25 "Liberation Sans", Arial, Helvetica, sans-serif; color: #000;
  font-variant-numeric: tabular-nums; overflow-wrap: anywhere }
body.wide { max-width: 277mm }
section + section { break-before: page; margin-top: 12mm }
header { display: flex; align-items: flex-end; gap: 6mm; border-bottom: 1.2mm solid #000; padding-bottom: 1mm;
  margin-bottom: 1mm }
h1 { margin: 0; font-size: 17pt; line-height: 1.05 }
header h1 { overflow-wrap: break-word; max-width: 70% }
header p { margin: 0 }
header .far { margin-left: auto; text-align: right; flex: none; max-width: 45% }
.plan { font-size: 9pt; margin: 0 0 3mm }
table { border-collapse: collapse; width: 100% }
th { text-align: left; font: 9pt/1.2 "Liberation Sans", Arial, Helvetica, sans-serif; vertical-align: bottom;
  padding: .6mm 1.2mm }
td { vertical-align: top; padding: 1mm 1.2mm; border-top: .2mm solid #000 }
tbody, tr { break-inside: avoid }
.list tr:last-child, footer { break-before: avoid }
header { break-after: avoid }
thead { display: table-header-group }
.by { font-size: 9pt; display: block }
.kind { font-size: 9pt; border-bottom: .3mm dotted #000; margin-right: 1.2mm; white-space: nowrap }
.note { font-size: 9pt; font-style: italic }
.test { border: .5mm solid #000; padding: 0 .8mm; font-weight: bold; display: inline-block; line-height: 1.05;
  margin-bottom: .3mm }
.lines { white-space: pre-line }
.how { font-size: 9pt; border: .25mm solid #000; border-radius: 2mm; padding: 0 1.2mm; white-space: nowrap; margin-left: 1mm }
.spare { font-style: italic }
p.spare { margin: 1.5mm 0 0 }
.box { display: inline-block; width: 4.4mm; height: 4.4mm; border: .35mm solid #000; vertical-align: middle; line-height: 3.6mm;
  text-align: center; font-weight: bold }
footer { font-size: 9pt; margin-top: 2mm; break-inside: avoid }
footer p { margin: .6mm 0 }
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
h2 { font-size: 12pt; line-height: 1.05; margin: 4mm 0 1mm; break-after: avoid }
@media screen { body { padding: 8mm } section + section { border-top: .2mm dashed #000; padding-top: 8mm } }
@media print { section + section { margin-top: 0 } .plan { display: none } }
"""
    + TOWERS
)

_PHONE = """
@media screen and (max-width: 150mm) {
body { padding: 4mm }
header { flex-wrap: wrap; gap: 0 4mm; border-bottom: 0 }
header h1, header .far { max-width: none }
thead, .room, td:empty { display: none !important }
table, tbody { display: block }
tr { display: flex; flex-wrap: wrap; gap: 0 2.5mm; align-items: baseline; height: auto !important; padding: 1mm 0;
  border-top: .2mm solid #000 }
tbody tr:first-child, tr.first { border-top-width: .6mm }
tbody td { border: 0 !important; padding: 0; width: auto !important; height: auto !important; text-align: left !important }
td.day, td.of-week, td.lesson, td.goes-with, .wall td { flex: 0 0 100% }
td.day, td.of-week { order: -3 } td.when, td.period, td.whom { order: -2 } td.load { order: -1 }
td.day b, td.of-week b { margin-right: 2mm; display: inline !important }
td.period::before { content: "period "; font: 9pt "Liberation Sans", Arial, Helvetica, sans-serif }
td.period .by { display: inline !important; vertical-align: baseline !important }
.up::after { content: " resources up" } .taught::after { content: " taught" }
.list tr { display: block; position: relative } .list tr:has(.done) { padding-left: 8mm }
.list td { display: block }
.list td.done { position: absolute; left: 0; top: 1mm }
[data-of]::before { content: attr(data-of) ": "; font-size: 9pt }
.wall [data-of]::before { content: attr(data-of); display: block; font-weight: bold }
.towers { display: inline-block; vertical-align: baseline }
.todo div { display: block }
.todo b { margin-right: 2mm }
}
"""
"""A sheet on a phone: a row of a table is a few lines, and what stood at the head of a column stands before what is in it."""


def sheet(answer: Answer, sections: Iterable[Markup], style: str = "", wide: bool = False) -> str:
    """A whole file of sheets: each section begins a page."""
    title = one_line(answer.instance.scenario.title or "Sequence of lessons")
    paper = f"@page {{ size: A4 {'landscape' if wide else 'portrait'}; margin: 13mm 12mm 15mm; {_at_head(title)} {_NUMBERS} }}"
    body = (el("p", title, class_="plan"), el("main", *sections))
    return page(title, paper + _STYLE + style + _PHONE, *body, class_="wide" if wide else None)


def _at_head(title: str) -> str:
    """The title at the head of every printed page: which plan it belongs to, or that it is a what-if."""
    safe = "".join(letter if letter.isalnum() or letter == " " else f"\\{ord(letter):x} " for letter in title)
    return f'@top-left {{ content: "{safe}"; font: 9pt sans-serif }}'


def kind_mark(kind: str) -> Markup | None:
    """A kind beside a lesson's title; a test's stands out."""
    return el("span", kind, class_="kind test" if kind == "TEST" else "kind") if kind else None


def loads_of(slots: Iterable[Slot], lines: Mapping[int, Line], held: Mapping[int, int]) -> list[int | None]:
    """The loads of lessons that begin in these slots, and None for each spare one."""
    return [
        lines[slot.number].lesson.load if slot.number in lines else None
        for slot in slots
        if slot.number in lines or slot.number not in held
    ]


def lesson_cell(line: Line) -> list[Part]:
    """A lesson with its kind and how it is taught."""
    kind = KINDS[line.lesson.kind]
    if kind != "TEST" and line.title.lower().startswith(kind):
        kind = ""  # the title says it
    how = how_taught(line.taught)
    mark = kind_mark(kind)
    return [mark, " " if mark else None, line.title, [" ", el("span", how, class_="how")] if how else None]


def goes_with(line: Line) -> list[Part]:
    """What goes with a lesson, in small; its notes on lines of their own."""
    told = details(line)
    return [
        el("span", "; ".join(told), class_="by") if told else None,
        *(el("span", note, class_="by lines") for note in notes_of(line)),
    ]


def bell_times(scenario: Scenario, first: int, last: int) -> str:
    """When a period begins and ends, or the first of several begins and the last ends, where the scenario states it."""
    times = {each.number: each for each in scenario.periods}
    return f"{times[first].starts}–{times[last].ends}" if times else ""


def box(ticked: bool, of: str) -> Markup:
    """A box to tick by hand."""
    return el("span", "×" if ticked else "", class_="box", role="img", aria_label=f"{of}: {'yes' if ticked else 'to tick'}")


TO_TICK = Either("", box(ticked=False, of="done"))


def foot(answer: Answer, cautions: Iterable[str], *more: Part) -> Markup:
    """What stands beneath a sheet: how good the sequence is, in a word, and cautions where due."""
    return el(
        "footer",
        el("p", headline(answer)[-1], " ", *more),
        [el("p", f"Caution. {caution}") for caution in dict.fromkeys(cautions)],
    )
