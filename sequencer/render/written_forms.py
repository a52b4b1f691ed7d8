"""One table of the forms in which an answer can be written: for the command line, and for what an HTTP client accepts."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass

from sequencer.errors import UnusableSettings
from sequencer.instance.build import build_instance
from sequencer.questions.solve import Answer
from sequencer.render.answers.plan import answer_json
from sequencer.render.calendar_events import answer_calendar
from sequencer.render.earlier_calendar import earlier_events
from sequencer.render.overview import answer_overview
from sequencer.render.rows_of_table import answer_csv
from sequencer.render.sheets import answer_sheets
from sequencer.render.shown import Shown
from sequencer.render.text import answer_text
from sequencer.render.xlsx import answer_xlsx
from sequencer.scenario.schema import Scenario


@dataclass(frozen=True)
class Format:
    """One form of an answer.

    Parameters
    ----------
    name
        How it is asked for.
    media_type
        What it is over HTTP.
    what
        What it is, in a few words.
    write
        Makes it.
    heeds
        What it takes from ``Shown``: ``classes``, ``teachers``, ``previous``, ``opens``, ``copy``.
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


FORMATS: tuple[Format, ...] = (
    Format(
        "json", "application/json", "everything, for programs",
        lambda answer, _: json.dumps(answer_json(answer), indent=2, ensure_ascii=False) + "\n", (), False,
        ending=".json",
    ),
    Format(
        "text", "text/plain", "tables for a terminal", lambda answer, _: answer_text(answer), heeds=(), needs_sequence=False,
        ending=".txt",
    ),
    Format("sheet", "text/html", "teachers' fortnights and classes' terms to print", answer_sheets),
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
        When the form does not take it, or the scenario has no such class or teacher.
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
    if shown.classes or shown.teachers:
        shown.check(build_instance(scenario))
    if shown.previous is not None:
        earlier_events(shown.previous)


def format_named(name: str) -> Format:
    """The form of this name."""
    return next(each for each in FORMATS if each.name == name)
