"""One table of the forms in which an answer can be written, and one of what can be asked about its sequence besides.

For the command line, and for what an HTTP client accepts.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sequencer.errors import UnusableSettings
from sequencer.instance.build import build_instance
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render import assessments_written, coverage_written, outlines_written, preparation_written, starters_written
from sequencer.render.answers.lists import assessments_json, coverage_json, preparation_json, starters_json
from sequencer.render.answers.outlined import outlines_json
from sequencer.render.answers.plan import answer_json
from sequencer.render.calendar_events import answer_calendar
from sequencer.render.class_term import STYLE as TERM
from sequencer.render.class_term import class_term
from sequencer.render.document import Block, Value, csv_bytes, section, text_of
from sequencer.render.earlier_calendar import earlier_events
from sequencer.render.fortnight import STYLE as FORTNIGHT
from sequencer.render.fortnight import fortnights
from sequencer.render.html import Markup
from sequencer.render.overview import answer_overview
from sequencer.render.sheet import sheet
from sequencer.render.shown import Asked, Shown, laid_out, sequence_line, titled
from sequencer.render.tables import answer_csv, answer_xlsx, rows_xlsx
from sequencer.render.text import answer_text
from sequencer.scenario.schema import Scenario


@dataclass(frozen=True)
class Format:
    """One form of an answer: how it is asked for, what it is over HTTP and in a few words, what makes it, how its file ends.

    It ``heeds`` some fields of ``Shown``. Where it ``needs_sequence`` there is nothing to write without one; text is in UTF-8.
    """

    name: str
    media_type: str
    what: str
    write: Callable[[Answer, Shown], str | bytes]
    heeds: tuple[str, ...] = ("classes", "teachers", "opens", "copy")
    needs_sequence: bool = True
    is_text: bool = True
    ending: str = ".html"

    @property
    def content_type(self) -> str:
        """Its media type with what is to be said beside it."""
        return f"{self.media_type}; charset=utf-8" if self.is_text else self.media_type


def _answer_sheets(answer: Answer, shown: Shown) -> str:
    """The fortnights of the teachers asked for, and the terms of the classes asked for; all of both where none is.

    Of weeks asked for, the teachers' pages alone, unless classes are asked for.
    """
    laid = laid_out(answer)
    everything = not shown.classes and not shown.teachers
    sections: list[Markup] = []
    for teacher in dict.fromkeys(slot.teacher for facts in laid.classes for slot in facts.slots):
        if everything or teacher in shown.teachers:
            sections += fortnights(answer, laid, shown, teacher)
    for facts in laid.classes:
        if any(shown.shows_week(slot.week) for slot in facts.slots) and (
            facts.id in shown.classes or (everything and not shown.weeks)
        ):
            sections.append(class_term(answer, laid, shown, facts))
    if not sections:
        sections.append(section("No lessons", "No class that is asked for meets in these weeks.", []))
    return sheet(answer, sections, FORTNIGHT + TERM)


FORMATS: tuple[Format, ...] = (
    Format(
        "json", "application/json", "everything, for programs",
        lambda answer, _: _json_text(answer_json(answer)), ("ids",), False, ending=".json",
    ),
    Format(
        "text", "text/plain", "tables for a terminal", lambda answer, shown: answer_text(answer, shown.ids), heeds=("ids",),
        needs_sequence=False, ending=".txt",
    ),
    Format(
        "sheet", "text/html", "teachers' fortnights and classes' terms to print", _answer_sheets,
        heeds=("classes", "teachers", "opens", "copy", "weeks"),
    ),
    Format("overview", "text/html", "all classes by week, for the wall", answer_overview, heeds=("classes", "teachers")),
    Format(
        "calendar", "text/calendar", "one event per lesson", answer_calendar,
        heeds=("classes", "teachers", "previous", "opens", "copy"), ending=".ics",
    ),
    Format("csv", "text/csv", "a table of lessons", answer_csv, ending=".csv"),
    Format(
        "xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "a workbook to work on", answer_xlsx,
        is_text=False, ending=".xlsx",
    ),
)  # fmt: skip
"""In the order of preference where a client accepts several alike; of several of one media type the first is meant by it."""

_ASKED = {
    "classes": "a choice of classes",
    "teachers": "a choice of teachers",
    "previous": "an earlier calendar",
    "copy": "a copy",
    "weeks": "a choice of weeks",
    "ids": "naming lessons by their ids",
}


def written(answer: Answer, name: str, shown: Shown | None = None) -> str | bytes:
    """An answer in one of the forms; bytes where their ends of lines are not to be touched, or where the form is no text.

    Raises
    ------
    NothingToShow
        When there is no sequence, and the form shows nothing else.
    UnusableSettings, UnusableInput
        See ``check_shown``.
    """
    return format_named(name).write(answer, (shown or Shown()).spelt(answer.instance))


def check_shown(scenario: Scenario, name: str, shown: Shown) -> None:
    """Check, before a solve, that what is asked for can be shown in a form.

    Raises
    ------
    UnusableSettings
        When the form does not take it, or the scenario has no such class, teacher or week.
    UnusableInput
        When the earlier calendar cannot be used.
    """
    chosen = format_named(name)
    unheeded = [key for key in _ASKED if getattr(shown, key) and key not in chosen.heeds]
    if unheeded:
        raise UnusableSettings(
            f"{_ASKED[key]} is for the formats {', '.join(each.name for each in FORMATS if key in each.heeds)} (not {name})"
            for key in unheeded
        )
    if shown.classes or shown.teachers or shown.weeks:
        shown.check(build_instance(scenario))
    if shown.previous is not None:
        earlier_events(shown.previous)


def format_named(name: str) -> Format:
    """The form of this name."""
    return next(each for each in FORMATS if each.name == name)


# -- what is asked about a sequence besides ------------------------------------------------------------------------------


@dataclass(frozen=True)
class Around:
    """Something that can be asked about a sequence, how it is asked for, and what it is in a few words.

    Parameters
    ----------
    blocks
        Makes it as text, but for what the sequence is called and how good it is.
    json
        Makes it as a JSON body; this says so where there is no sequence.
    columns, rows, sections
        Make it as a table and as sheets.
    calendar
        Makes it as a calendar, where it can be one.
    """

    name: str
    what: str
    blocks: Callable[[Laid, Asked], Iterable[Block]]
    json: Callable[[Answer, Asked], dict[str, Any]]
    columns: tuple[str, ...]
    rows: Callable[[Laid, Asked], Sequence[dict[str, Value]]]
    sections: Callable[[Answer, Laid, Asked], Iterable[Markup]]
    style: str = ""
    calendar: Callable[[Answer, Laid], bytes] | None = None

    @property
    def forms(self) -> dict[str, str]:
        """The forms in which it is written, and their media types."""
        return AROUND_FORMS | ({"calendar": "text/calendar"} if self.calendar is not None else {})


AROUND: tuple[Around, ...] = (
    Around(
        "preparation", "what to prepare by when", preparation_written.preparation_blocks,
        lambda answer, asked: preparation_json(answer, asked.on, asked.teacher),
        preparation_written.COLUMNS, preparation_written.preparation_rows, preparation_written.preparation_sections,
    ),
    Around(
        "starters", "what each lesson opens with", starters_written.starters_blocks,
        lambda answer, asked: starters_json(answer, asked.starters or ()),
        starters_written.COLUMNS, starters_written.starters_rows, starters_written.starters_sections,
    ),
    Around(
        "coverage", "which specification points are taught, practised, met again and assessed", coverage_written.coverage_blocks,
        lambda answer, asked: coverage_json(answer, asked.starters),
        coverage_written.COLUMNS, coverage_written.coverage_rows, coverage_written.coverage_sections,
    ),
    Around(
        "assessments", "the assessments of each year group by week", assessments_written.assessments_blocks,
        lambda answer, _: assessments_json(answer),
        assessments_written.COLUMNS, assessments_written.assessments_rows, assessments_written.assessments_sections,
        assessments_written.STYLE, assessments_written.assessments_calendar,
    ),
)  # fmt: skip

OUTLINES = Around(
    "outlines", "what is done in each lesson, minute by minute", outlines_written.outlines_blocks, outlines_json,
    outlines_written.COLUMNS, outlines_written.outlines_rows, outlines_written.outlines_sections, outlines_written.STYLE,
)  # fmt: skip
"""What the command ``outline`` writes; no form of a sequence, since not every scenario has parts."""

AROUND_FORMS = {
    "json": "application/json", "text": "text/plain", "sheet": "text/html", "csv": "text/csv",
    "xlsx": format_named("xlsx").media_type,
}  # fmt: skip
"""The forms and their media types, in the order of preference where a client accepts several alike."""


def around_named(name: str) -> Around:
    """What is asked about a sequence by this name."""
    return next(each for each in (*AROUND, OUTLINES) if each.name == name)


def around_written(answer: Answer, name: str, form: str, asked: Asked) -> str | bytes:
    """What is asked about an answer's sequence in one of the forms; bytes where their ends of lines are not to be touched.

    Raises
    ------
    NothingToShow
        When there is no sequence, and the form shows nothing else.
    UnusableSettings
        When the scenario has no such teacher.
    """
    about = around_named(name)
    if form == "json":
        return _json_text(about.json(answer, asked))
    if form == "text" and answer.sequence is None:
        return answer_text(answer)
    laid = laid_out(answer)
    if form == "text":
        return text_of([*titled(answer), *about.blocks(laid, asked), sequence_line(answer)])
    if form == "calendar" and about.calendar is not None:
        return about.calendar(answer, laid)
    if form == "csv":
        return csv_bytes([about.columns, *([row.get(name) for name in about.columns] for row in about.rows(laid, asked))])
    if form == "xlsx":
        return rows_xlsx(about.name.capitalize(), about.columns, about.rows(laid, asked))
    return sheet(answer, about.sections(answer, laid, asked), about.style)


def _json_text(body: dict[str, Any]) -> str:
    return json.dumps(body, indent=2, ensure_ascii=False) + "\n"
