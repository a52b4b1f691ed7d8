"""One table of the forms in which an answer can be written, and one of what can be asked about its sequence besides.

For the command line, and for what an HTTP client accepts.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sequencer.errors import UnusableSettings
from sequencer.instance.build import build_instance
from sequencer.lists.coverage import coverage
from sequencer.lists.preparation import preparation
from sequencer.lists.starters.assign import Starters
from sequencer.outlines.by_hand import GivenPart, judge_by_hand
from sequencer.outlines.exercises import Before
from sequencer.outlines.outlined import Outlines, outline_sequence
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render import assessments_written, coverage_written, outlines_written, preparation_written, starters_written
from sequencer.render.answers.assessments import assessments_json
from sequencer.render.answers.lists import coverage_json, preparation_json, starters_json
from sequencer.render.answers.outlined import outlines_json
from sequencer.render.answers.plan import answer_json
from sequencer.render.calendar_events import answer_calendar
from sequencer.render.class_term import STYLE as TERM
from sequencer.render.class_term import class_term
from sequencer.render.document import Value, csv_bytes, section
from sequencer.render.earlier_calendar import earlier_events
from sequencer.render.fortnight import STYLE as FORTNIGHT
from sequencer.render.fortnight import fortnights
from sequencer.render.html import Markup
from sequencer.render.overview import answer_overview
from sequencer.render.sheet import sheet
from sequencer.render.shown import Shown, laid_out, opens_in
from sequencer.render.tables import answer_csv, answer_xlsx, rows_xlsx
from sequencer.render.text import answer_text
from sequencer.scenario.schema import Scenario


@dataclass(frozen=True)
class Format:
    """One form of an answer: how it is asked for, what it is over HTTP and in a few words, what makes it.

    Parameters
    ----------
    heeds
        What it takes from ``Shown``: ``classes``, ``teachers``, ``previous``, ``opens``, ``copy``, ``weeks``, ``ids``.
    needs_sequence
        Whether there is nothing to write where there is no sequence.
    is_text
        Whether it is text, in UTF-8.
    ending
        The end of its file's name.
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
        lambda answer, _: json.dumps(answer_json(answer), indent=2, ensure_ascii=False) + "\n", ("ids",), False,
        ending=".json",
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
class Asked:
    """What is asked beside a sequence.

    Parameters
    ----------
    on, teacher
        For preparation: the day on which it is asked, and whose it is; for outlines: the only day with other ``minutes``.
    starters
        The starters assigned to the sequence; None where none were.
    lesson, minutes, copy, before
        For outlines: the only lesson (a class, a colon, its title), minutes of a period instead of those stated, whether it is a
        copy for pupils, and the exercises of outlines made before.
    by_hand, complete
        For outlines: those that a hand made, to be judged; and whether they are to be completed instead.
    ids
        For outlines: whether text names lessons and units by their ids too.
    """

    on: date | None = None
    teacher: str | None = None
    starters: tuple[Starters, ...] | None = None
    lesson: str | None = None
    minutes: int | None = None
    copy: bool = False
    before: Before | None = None
    by_hand: tuple[GivenPart, ...] | None = None
    complete: bool = False
    ids: bool = False


@dataclass(frozen=True)
class Around:
    """Something that can be asked about a sequence, how it is asked for, and what it is in a few words.

    Parameters
    ----------
    text, json
        Make it as text and as a JSON body; these say so where there is no sequence.
    columns, rows, sections
        Make it as a table and as sheets.
    calendar
        Makes it as a calendar, where it can be one.
    """

    name: str
    what: str
    text: Callable[[Answer, Asked], str]
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
        "preparation", "what to prepare by when",
        lambda answer, asked: preparation_written.preparation_text(answer, asked.on, asked.teacher),
        lambda answer, asked: preparation_json(answer, asked.on, asked.teacher),
        preparation_written.COLUMNS,
        lambda laid, asked: preparation_written.preparation_rows(laid, preparation(laid, asked.on, asked.teacher)),
        lambda answer, laid, asked: preparation_written.preparation_sections(
            answer, laid, preparation(laid, asked.on, asked.teacher)
        ),
    ),
    Around(
        "starters", "what each lesson opens with",
        lambda answer, asked: starters_written.starters_text(answer, asked.starters or ()),
        lambda answer, asked: starters_json(answer, asked.starters or ()),
        starters_written.COLUMNS,
        lambda laid, asked: starters_written.starters_rows(laid, asked.starters or ()),
        lambda answer, laid, asked: starters_written.starters_sections(answer, laid, asked.starters or ()),
    ),
    Around(
        "coverage", "which specification points are taught, practised, met again and assessed",
        lambda answer, asked: coverage_written.coverage_text(answer, asked.starters),
        lambda answer, asked: coverage_json(answer, asked.starters),
        coverage_written.COLUMNS,
        lambda laid, asked: coverage_written.coverage_rows(laid, coverage(laid, asked.starters)),
        lambda answer, laid, asked: coverage_written.coverage_sections(answer, laid, asked.starters),
    ),
    Around(
        "assessments", "the assessments of each year group by week",
        lambda answer, asked: assessments_written.assessments_text(answer),
        lambda answer, asked: assessments_json(answer),
        assessments_written.COLUMNS,
        lambda laid, asked: assessments_written.assessments_rows(laid),
        lambda answer, laid, asked: assessments_written.assessments_sections(answer, laid),
        assessments_written.STYLE,
        assessments_written.assessments_calendar,
    ),
)  # fmt: skip


def _outlines(laid: Laid, asked: Asked) -> Outlines:
    if asked.by_hand is not None:
        return judge_by_hand(laid, asked.by_hand, asked.complete, asked.minutes, asked.on, asked.lesson)
    return outline_sequence(laid, asked.lesson, asked.minutes, asked.before, asked.on)


def _outlines_text(answer: Answer, asked: Asked) -> str:
    if answer.sequence is None:
        return answer_text(answer)
    laid = laid_out(answer)
    return outlines_written.outlines_text(answer, laid, _outlines(laid, asked), asked.ids)


def _outlines_json(answer: Answer, asked: Asked) -> dict[str, Any]:
    laid = laid_out(answer) if answer.sequence is not None else None
    return outlines_json(laid, _outlines(laid, asked) if laid is not None else None, answer.status)


OUTLINES = Around(
    "outlines", "what is done in each lesson, minute by minute", _outlines_text, _outlines_json, outlines_written.COLUMNS,
    lambda laid, asked: outlines_written.outlines_rows(laid, _outlines(laid, asked)),
    lambda answer, laid, asked: outlines_written.outlines_sections(
        laid, _outlines(laid, asked), opens_in(answer, asked.starters or ()), asked.copy
    ),
    outlines_written.STYLE,
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
    if form == "text":
        return about.text(answer, asked)
    if form == "json":
        return json.dumps(about.json(answer, asked), indent=2, ensure_ascii=False) + "\n"
    laid = laid_out(answer)
    if form == "calendar" and about.calendar is not None:
        return about.calendar(answer, laid)
    if form == "csv":
        return csv_bytes([about.columns, *([row.get(name) for name in about.columns] for row in about.rows(laid, asked))])
    if form == "xlsx":
        return rows_xlsx(about.name.capitalize(), about.columns, about.rows(laid, asked))
    return sheet(answer, about.sections(answer, laid, asked), about.style)
