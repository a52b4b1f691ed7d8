"""One table of what can be asked about a sequence beside the sequence itself, and of the forms in which it is written."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sequencer.errors import NothingToShow
from sequencer.lists.coverage import coverage
from sequencer.lists.preparation import preparation
from sequencer.lists.starters.assign import Starters
from sequencer.questions.solve import Answer
from sequencer.render.answers.lists import coverage_json, preparation_json, starters_json
from sequencer.render.around_sheets import STYLE, coverage_sections, preparation_sections, starters_sections
from sequencer.render.coverage_written import COLUMNS as COVERAGE_COLUMNS
from sequencer.render.coverage_written import coverage_rows, coverage_text, what_is_counted
from sequencer.render.html import Markup
from sequencer.render.preparation_written import COLUMNS as PREPARATION_COLUMNS
from sequencer.render.preparation_written import preparation_rows, preparation_text
from sequencer.render.rows_of_table import Cell, csv_bytes
from sequencer.render.sheet import sheet
from sequencer.render.shown import laid_out
from sequencer.render.starters_written import COLUMNS as STARTERS_COLUMNS
from sequencer.render.starters_written import starters_rows, starters_text


@dataclass(frozen=True)
class Asked:
    """What is asked beside a sequence.

    Parameters
    ----------
    on, teacher
        For preparation: the day on which it is asked, and whose it is.
    starters
        The starters assigned to the sequence; None where none were.
    """

    on: date | None = None
    teacher: str | None = None
    starters: tuple[Starters, ...] | None = None


@dataclass(frozen=True)
class Around:
    """Something that can be asked about a sequence.

    Parameters
    ----------
    name, what
        How it is asked for, and what it is, in a few words.
    text, json
        Make it as text and as a JSON body; these say so where there is no sequence.
    columns, rows, sections
        Make it as a table and as sheets.
    """

    name: str
    what: str
    text: Callable[[Answer, Asked], str]
    json: Callable[[Answer, Asked], dict[str, Any]]
    columns: tuple[str, ...]
    rows: Callable[[Answer, Asked], Sequence[dict[str, Cell]]]
    sections: Callable[[Answer, Asked], Iterable[Markup]]


def _preparation_rows(answer: Answer, asked: Asked) -> Sequence[dict[str, Cell]]:
    laid = laid_out(answer)
    return preparation_rows(laid, preparation(laid, asked.on, asked.teacher))


def _preparation_sections(answer: Answer, asked: Asked) -> Iterable[Markup]:
    laid = laid_out(answer)
    return preparation_sections(answer, laid, preparation(laid, asked.on, asked.teacher))


def _coverage_sections(answer: Answer, asked: Asked) -> Iterable[Markup]:
    laid = laid_out(answer)
    return coverage_sections(answer, laid, coverage(laid, asked.starters), what_is_counted(asked.starters))


AROUND: tuple[Around, ...] = (
    Around(
        "preparation", "what to prepare by when",
        lambda answer, asked: preparation_text(answer, asked.on, asked.teacher),
        lambda answer, asked: preparation_json(answer, asked.on, asked.teacher),
        PREPARATION_COLUMNS, _preparation_rows, _preparation_sections,
    ),
    Around(
        "starters", "what each lesson opens with",
        lambda answer, asked: starters_text(answer, asked.starters or ()),
        lambda answer, asked: starters_json(answer, asked.starters or ()),
        STARTERS_COLUMNS,
        lambda answer, asked: starters_rows(laid_out(answer), asked.starters or ()),
        lambda answer, asked: starters_sections(answer, laid_out(answer), asked.starters or ()),
    ),
    Around(
        "coverage", "which specification points are taught, practised, met again and assessed",
        lambda answer, asked: coverage_text(answer, asked.starters),
        lambda answer, asked: coverage_json(answer, asked.starters),
        COVERAGE_COLUMNS,
        lambda answer, asked: coverage_rows(laid := laid_out(answer), coverage(laid, asked.starters)),
        _coverage_sections,
    ),
)  # fmt: skip

AROUND_FORMS = {"json": "application/json", "text": "text/plain", "sheet": "text/html", "csv": "text/csv"}
"""The forms and their media types, in the order of preference where a client accepts several alike."""


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
    if answer.sequence is None:
        raise NothingToShow(answer.status)
    if form == "csv":
        return csv_bytes([about.columns, *([row.get(name) for name in about.columns] for row in about.rows(answer, asked))])
    return sheet(answer, STYLE, about.sections(answer, asked))


def around_named(name: str) -> Around:
    """What has this name."""
    return next(each for each in AROUND if each.name == name)
