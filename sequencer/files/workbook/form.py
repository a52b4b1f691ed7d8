"""The workbook to fill in, described: its sheets, their columns with a note each, what can be chosen, an example to type over."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from sequencer.words import KINDS, WEEKDAYS

TERM, DAYS, BELLS, TIMETABLE, CLASSES, LESSONS = "Term", "Days off", "Bell times", "Timetable", "Classes", "Lessons"
READ_ME, MORE = "Read me", "More"

Cell = str | int | date | None


@dataclass(frozen=True)
class Column:
    """A column of a sheet: its heading, what it is for, what can be chosen in it if not anything, its width in letters.

    What it says word for word of an entry of a scenario has a ``key`` there; ``holds`` says how that is read and written.
    """

    name: str
    note: str
    offers: tuple[str, ...] = ()
    width: int = 12
    key: str = ""
    holds: str = ""


@dataclass(frozen=True)
class Form:
    """A sheet with a heading for each column, and rows of example to type over."""

    name: str
    columns: tuple[Column, ...]
    example: tuple[tuple[Cell, ...], ...]


class Setting(NamedTuple):
    """A row of the first sheet: the value to begin with, a note, where in a scenario it stands, and what can be chosen."""

    name: str
    example: Cell
    note: str
    path: tuple[str, ...]
    holds: str
    offers: tuple[str, ...] = ()


NUMBER, DATE, TEXT, CHOICE, WORDS, SENTENCES = "number", "date", "text", "choice", "words", "sentences"
"""What a cell can hold; there are commas between words, and semicolons between sentences."""

YES_NO = ("yes", "no")
HOLIDAY, CLOSURE, REMOTE = "holiday", "closure", "remote"

FIRST_DAY, LAST_DAY, CYCLE, FIRST_WEEK, ZONE, TITLE = (
    "first day", "last day", "weeks in the timetable", "first week is", "time zone", "title",
)  # fmt: skip
MAKE_PRACTICE, PRACTICE, LEAST, MOST, MARKING, RUN = (
    "make practice lessons", "practice within", "meet again after, least", "meet again after, most", "marking time",
    "hard in a row",
)  # fmt: skip

SETTINGS = (
    Setting(TITLE, "9B, autumn", "What the plan is called; it stands on every sheet.", ("title",), TEXT),
    Setting(FIRST_DAY, date(2026, 11, 2), "First day of term, as a date.", ("term", "first"), DATE),
    Setting(LAST_DAY, date(2026, 12, 11), "Last day of term, as a date.", ("term", "last"), DATE),
    Setting(CYCLE, 2, "1 where every week is alike, 2 for weeks A and B.", (), NUMBER, ("1", "2")),
    Setting(FIRST_WEEK, "A", "Whether term begins with a week A or a week B.", ("term", "first_label"), CHOICE, ("A", "B")),
    Setting(ZONE, None, "Where bell times are given: such as Europe/London. Only calendars need it.", ("time_zone",), TEXT),
    Setting(
        MAKE_PRACTICE, "yes", "Whether a hard lesson (load 4 or 5) that no listed lesson practises gets a practice lesson.",
        (), CHOICE, YES_NO,
    ),
    Setting(
        PRACTICE, 2, "A hard lesson is practised at most this many periods later.", ("rules", "practice_after_dense"), NUMBER,
    ),
    Setting(LEAST, 7, "What is met again is met again at least this many days later.", ("rules", "retrieval", "least"), NUMBER),
    Setting(MOST, 21, "And at most this many days later.", ("rules", "retrieval", "most"), NUMBER),
    Setting(MARKING, 3, "School days from a test until it can be talked through.", ("rules", "marking"), NUMBER),
    Setting(RUN, 2, "At most this many hard lessons follow one another.", ("rules", "consecutive_high_load"), NUMBER),
)  # fmt: skip

KIND, LOAD, PERIODS, NEEDS, REQUIRES, GOES_WITH = "kind", "load", "periods", "needs", "requires", "goes with"
NOTES, PRIVATE, ID = "notes", "private notes", "id"
UNIT, LESSON, ON, NOT_BEFORE, NOT_AFTER, REPORTS, OPTIONAL, TAGS, PREPARE, MARK = (
    "unit", "lesson", "on", "not before", "not after", "reports due", "can be left out", "tags", "minutes to prepare",
    "minutes to mark",
)  # fmt: skip

SHEETS: tuple[Form, ...] = (
    Form(
        DAYS,
        (
            Column("what", "holiday: outside term; closure: no lessons; remote: lessons from home.", (HOLIDAY, CLOSURE, REMOTE)),
            Column("name", "What it is called.", width=28),
            Column("first", "Its first date.", width=13),
            Column("last", "Its last date; empty for one day.", width=13),
            Column("classes", "Classes concerned, with commas; empty for all.", width=18),
            Column("periods", "Periods concerned, with commas; empty for the whole day."),
        ),
        ((CLOSURE, "Training day", date(2026, 11, 20), None, None, None),),
    ),
    Form(
        BELLS,
        (
            Column("period", "The period's number.", width=9),
            Column("starts", "When it starts, such as 09:00."),
            Column("ends", "When it ends."),
        ),
        (),
    ),
    Form(
        CLASSES,
        (
            Column("class", "Its short name, as in the timetable.", width=10),
            Column("teacher", "Who teaches it; may be empty.", width=18),
            Column("units", "The units taught to it, in order, with commas; all of them where empty.", width=40),
        ),
        (("9B", "Ms Ferris", "Coasts"),),
    ),
    Form(
        LESSONS,
        (
            Column(UNIT, "The unit; empty where it is that of the row above.", width=16),
            Column(LESSON, "The lesson's title; teach lessons of a unit are taught in the order listed.", width=36),
            Column(KIND, "teach where empty.", KINDS, 13),
            Column(
                LOAD, "How hard it is, 1 to 5; 4 and 5 are hard. 3 where empty.", ("1", "2", "3", "4", "5"), 7, key="load",
                holds=NUMBER,
            ),
            Column(PERIODS, "How many periods it takes; 1 where empty.", ("1", "2", "3"), 9, key="length", holds=NUMBER),
            Column(
                NEEDS, "What it needs, with commas: in school, or kit that one class at a time can use.", width=16, key="needs",
                holds=WORDS,
            ),
            Column(REQUIRES, "Lessons that come before it, by title, with semicolons; for a test all above it.", width=24),
            Column(
                GOES_WITH,
                "What it practises, meets again or talks through, by title, with semicolons. Where empty: the lesson above (for "
                "practice), the last three above (for retrieval), the test above (for feedback).", width=24,
            ),
            Column(TAGS, "Words such as fieldwork or practical, with commas.", width=12, key="tags", holds=WORDS),
            Column(ON, "Its date, where it is fixed.", width=13, key="on", holds=DATE),
            Column(NOT_BEFORE, "Its first possible date.", width=13, key="not_before", holds=DATE),
            Column(NOT_AFTER, "Its last possible date.", width=13, key="not_after", holds=DATE),
            Column(REPORTS, "When reports are due for which it must be marked.", width=13, key="report_deadline", holds=DATE),
            Column(OPTIONAL, "yes where it may be left out.", YES_NO),
            Column(PREPARE, "Minutes to prepare it.", key="preparation_minutes", holds=NUMBER),
            Column(MARK, "Minutes to mark it, for each class.", key="marking_minutes", holds=NUMBER),
            Column(
                NOTES, "What is to stand beside it on sheets and in calendars; several with semicolons.", width=24, key="notes",
                holds=SENTENCES,
            ),
            Column(PRIVATE, "The same, for its teacher alone.", width=24, key="private_notes", holds=SENTENCES),
            Column(ID, "Its short name in a scenario file; made of the title where empty."),
        ),
        (
            ("Coasts", "Waves that build and destroy", None, 2),
            (None, "Headlands and bays", None, 4),
            (None, "A labelled cliff sketch", "practice", 2),
            (None, "Longshore drift", None, 3),
            (None, "What we know so far", "retrieval", 1),
            (None, "Walls or sand?", None, 3),
            (None, "Coasts test", "assessment", 4),
            (None, "Test talked through", "feedback", 1),
        ),
    ),
    Form(
        MORE,
        (
            Column("where", "A part of a scenario file, such as: classes > 9B > exam_date.", width=48),
            Column("value", "What it says there, as a scenario file has it; empty for nothing.", width=80),
        ),
        (),
    ),
)  # fmt: skip
"""All sheets but the first and the timetable."""

LESSON_COLUMNS = next(form.columns for form in SHEETS if form.name == LESSONS)

APART = " > "
"""What stands between the parts of a place on the sheet More."""

GRID_PERIODS = 8
"""Rows of the timetable that are offered; more can be added."""

GRID_EXAMPLE = {("A", "Mon", 2): "9B", ("A", "Thu", 4): "9B", ("B", "Tue", 1): "9B", ("B", "Fri", 3): "9B"}

INSTRUCTIONS = (
    "From this workbook to a plan",
    "",
    "Each sheet has an example in it. Type over it, and delete what you do not need: the first row of a sheet stays.",
    "1. Term: the dates of term, and whether your timetable has one week or two. The rest can stay as it is.",
    "2. Days off: holidays, training days, days on which lessons are from home. May be empty.",
    "3. Timetable: write a class in each period in which you have it; several with commas.",
    "4. Classes: each class with its units.",
    "5. Lessons: a row for each lesson, unit by unit. Title and load are enough to begin with.",
    "6. Bell times: only for calendars. May be empty.",
    "7. More: what a scenario file can say and no other sheet has. May be empty.",
    "Save the workbook, and give it to the program in place of a scenario. What cannot be used is named by sheet and cell.",
    "",
    "Write no pupil's name or data anywhere. For practical work, fieldwork and live video the employer's risk assessment and the",
    "school's policies come first, and its qualified staff decide.",
)


def grid_columns(labels: tuple[str, ...]) -> list[tuple[str, str]]:
    """The columns of the timetable: label and weekday, cycle weeks side by side."""
    return [(label, weekday) for label in labels for weekday in WEEKDAYS[:5]]


NAMED_BY = {
    TERM: ("what",), DAYS: ("name", "what"), TIMETABLE: ("period",), CLASSES: ("class",), LESSONS: (LESSON, UNIT),
    BELLS: ("period",), MORE: ("where",),
}  # fmt: skip
"""The columns by which a row of a sheet is known again when the sheet is written anew."""
