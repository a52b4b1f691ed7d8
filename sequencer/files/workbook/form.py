"""The workbook to fill in, described: its first sheet, and columns with a note each and what can be chosen in them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from sequencer.scenario.parts_schema import PART_KINDS
from sequencer.scenario.preparing_schema import ELSEWHERE, READY, TO_ADAPT, TO_MAKE
from sequencer.words import KINDS, LIVE, LIVE_WISHES, SET_WORK, WEEKDAYS

TERM, DAYS, BELLS, TIMETABLE, CLASSES, LESSONS = "Term", "Days off", "Bell times", "Timetable", "Classes", "Lessons"
COVER, LIMITED, BEFORE, KIT = "Cover and visits", "Limits and wishes", "Taught before", "Shared kit"
ORDER, WHAT_IF, PARTS, YEARS = "Order of aims", "What if", "Parts", "Year groups"
READ_ME, MORE = "Read me", "More"

Cell = str | int | date | None
Place = tuple[date | None, str, str, int]
"""A cell of the timetable: from which date it holds, where that is not the first day of term; its week, weekday and period."""


@dataclass(frozen=True)
class Column:
    """A column of a sheet: its heading, what it is for, what can be chosen in it if not anything, its width in letters.

    What it says word for word of an entry of a scenario has a ``key`` there; ``holds`` says how that is read and written. In an
    ``open`` one something else than what can be chosen may stand, too.
    """

    name: str
    note: str
    offers: tuple[str, ...] = ()
    width: int = 12
    key: str = ""
    holds: str = ""
    open: bool = False


@dataclass(frozen=True)
class Form:
    """A sheet with a heading for each column, and rows of example to type over.

    ``needed`` are the columns that cannot be missing; by the first of them, and by ``known_by``, a row is known again when the
    sheet is written anew. ``purpose`` stands above the heading of a sheet that is not looked at by everyone.
    """

    name: str
    columns: tuple[Column, ...]
    needed: tuple[str, ...]
    known_by: tuple[str, ...] = ()
    example: tuple[tuple[Cell, ...], ...] = ()
    purpose: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its columns."""
        return tuple(column.name for column in self.columns)


class Setting(NamedTuple):
    """A row of the first sheet: the value to begin with, a note, where in a scenario it stands, and what can be chosen."""

    name: str
    example: Cell
    note: str
    path: tuple[str, ...]
    holds: str
    offers: tuple[str, ...] = ()


NUMBER, DATE, TEXT, CHOICE, WORDS, SENTENCES, YES, CLOCK = (
    "number", "date", "text", "choice", "words", "sentences", "yes", "clock",
)  # fmt: skip
MINUTES_TEXT = "minutes"
"""What a cell can hold; there are commas between words, and semicolons between sentences.
A range of minutes must not become a date."""

YES_NO = ("yes", "no")
HOLIDAY, CLOSURE, REMOTE, RESTRICTED = "holiday", "closure", "remote", "cover or visit"
NO_CLOSURE, NOT_REMOTE, AS_USUAL = "no closure", "not remote", "no cover or visit"
"""What may come instead of what stands on the sheets: an entry of that name does not come about."""

FIRST_DAY, LAST_DAY, CYCLE, FIRST_WEEK, ZONE, TITLE = (
    "first day", "last day", "weeks in the timetable", "first week is", "time zone", "title",
)  # fmt: skip
COUNTRY, WEEK_ONE = "country", "week 1 begins"
MAKE_PRACTICE, PRACTICE, LEAST, MOST, MARKING, RUN = (
    "make practice lessons", "practice within", "meet again after, least", "meet again after, most", "marking time",
    "hard in a row",
)  # fmt: skip

USUAL_PRACTICE = {"id": "usual", "practice": {"title": "Practice: {lesson}"}}
"""The pattern that makes practice lessons."""

TERM_COLUMNS = ("what", "value", "note")

SETTINGS = (
    Setting(TITLE, "9B, autumn", "What the plan is called; it stands on every sheet.", ("title",), TEXT),
    Setting(FIRST_DAY, date(2026, 11, 2), "First day of term, as a date.", ("term", "first"), DATE),
    Setting(LAST_DAY, date(2026, 12, 11), "Last day of term, as a date.", ("term", "last"), DATE),
    Setting(
        WEEK_ONE, None, "Where weeks of the term before stand first, as they still count: the first day of this term.",
        ("term", "week_one"), DATE,
    ),
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
    Setting(
        "minutes of a lesson", None, "Where no bell times are stated; 60 where empty. For outlines.", ("lesson_minutes",),
        NUMBER,
    ),
    Setting(COUNTRY, None, "Where the school is, such as England: messages name its bank holidays.", ("term", "country"), TEXT),
)  # fmt: skip

KIND, LOAD, PERIODS, NEEDS, REQUIRES, GOES_WITH = "kind", "load", "periods", "needs", "requires", "goes with"
NOTES, PRIVATE, ID = "notes", "private notes", "id"
UNIT, LESSON, ON, NOT_BEFORE, NOT_AFTER, REPORTS, OPTIONAL, TAGS, PREPARE, MARK = (
    "unit", "lesson", "on", "not before", "not after", "reports due", "can be left out", "tags", "minutes to prepare",
    "minutes to mark",
)  # fmt: skip
WHAT, NAME, FIRST, LAST, CLASSES_OF, WEEKDAYS_OF, TAUGHT, LIVE_ON, WORK_ON, TAKES_NO, LASTS = (
    "what", "name", "first", "last", "classes", "weekdays", "taught", "live on", "set work on", "takes no", "minutes of a period",
)  # fmt: skip
WHO, AT_LEAST, AT_MOST, PER, WORD, WISH = "who", "at least", "at most", "per", "tag", "wish"

AS_IT_SUITS, NEW_CONTENT, TESTS, HARD, NOTHING_ELSE = "as it suits", "new content", "tests", "hard lessons", "nothing else"
"""Plain words of the workbook: for ``open``, for kinds of lesson, for high load, and where nothing follows in a list of aims."""

DATE_COLUMNS = (
    Column(FIRST, "Its first date; or several single dates, with commas.", width=13),
    Column(LAST, "Its last date; empty for one day.", width=13),
    Column(CLASSES_OF, "Classes concerned, with commas; empty for all.", width=18),
    Column(PERIODS, "Periods concerned, with commas; empty for the whole day."),
    Column(
        WEEKDAYS_OF,
        "Weekdays concerned between these dates, such as Mon, Wed; empty for all. Without dates: all through term.",
        WEEKDAYS[:5],
        open=True,
    ),
)
REMOTE_COLUMNS = (
    Column(TAUGHT, "For lessons from home: live, set work, or as it suits (so where empty).", (AS_IT_SUITS, LIVE, SET_WORK), 11),
    Column(LIVE_ON, "What is live in any case: weekdays, dates or periods, such as Tue, or Tue period 2.", width=14),
    Column(WORK_ON, "What is set work in any case, said in the same way.", width=14),
)
TAKES_NO_COLUMN = Column(
    TAKES_NO, "Which lessons it does not take, with commas: new content, tests, hard lessons, or a kind or tag of lesson.",
    (NEW_CONTENT, TESTS, HARD), 20, open=True,
)  # fmt: skip
LASTS_COLUMN = Column(LASTS, "How many minutes its periods last, such as 35, where that is not as on other days.", width=12)

LESSON_COLUMNS = (
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
    Column(OPTIONAL, "yes where it may be left out.", YES_NO, key="optional", holds=YES),
    Column(PREPARE, "Minutes to prepare it.", key="preparation_minutes", holds=NUMBER),
    Column(MARK, "Minutes to mark it, for each class.", key="marking_minutes", holds=NUMBER),
    Column(
        NOTES, "What is to stand beside it on sheets and in calendars; several with semicolons.", width=24, key="notes",
        holds=SENTENCES,
    ),
    Column(PRIVATE, "The same, for its teacher alone.", width=24, key="private_notes", holds=SENTENCES),
    Column(ID, "Its short name in a scenario file; made of the title where empty."),
    Column("live", "From home: demand or prefer that it is live; avoid or refuse it.", LIVE_WISHES, key="live", holds=CHOICE),
    Column("period", "Its period, where its date is fixed.", width=9, key="period", holds=NUMBER),
    Column("teacher", "Who teaches it, where a class is shared.", width=16, key="teacher", holds=TEXT),
)  # fmt: skip

PART, MINUTES, OBJECTIVES, AFTER, MATERIAL, WHERE, OBJECTIVE = (
    "part", "minutes", "objectives", "after", "material", "where it is", "objective",
)  # fmt: skip
OPEN_WITH, CLOSE_WITH, USUAL, NOT_THEN, TO = "lessons open with", "lessons close with", "usual", "not", " to "
"""What is typed where lessons share parts; the outline of all units; a part that a version lacks; from least to most."""

PART_COLUMNS = (
    Column(
        UNIT, "The unit; empty where it is that of the row above. For parts that all lessons share: lessons open with, or "
        "lessons close with.", (OPEN_WITH, CLOSE_WITH), 18, open=True,
    ),
    Column(
        LESSON, "The lesson, by the title that it has on the sheet Lessons; empty where it is that of the row above. Beside a "
        "unit it may be empty: then the unit's parts are cut into lessons.", width=30,
    ),
    Column(PART, "What is done, in a few words; or an objective.", width=32),
    Column(
        KIND, "What it is; recall, check and apply are for pupils to answer and work, settle and review open and close a lesson. "
        "An objective is what pupils can do afterwards.", (*PART_KINDS, OBJECTIVE), 11,
    ),
    Column(MINUTES, "How many minutes it takes: 8, or 6 to 9.", width=9, holds=MINUTES_TEXT),
    Column(LOAD, "How hard, 1 to 5; 4 and 5 are hard. 2 where empty.", ("1", "2", "3", "4", "5"), 7, key="load", holds=NUMBER),
    Column(OBJECTIVES, "The objectives that it serves, with semicolons; where empty, what the lesson is about.", width=28),
    Column(AFTER, "Parts of the lesson that come before it, with semicolons.", width=20),
    Column(NEEDS, "What it needs, with commas; it stands on the outline.", width=16, key="needs", holds=WORDS),
    Column(MATERIAL, "How far its material is, where it has any.", (READY, ELSEWHERE, TO_ADAPT, TO_MAKE), 14),
    Column(WHERE, "Where its material is or will be.", width=18),
    Column(OPTIONAL, "yes where it may be left out.", YES_NO, key="optional", holds=YES),
    Column("priority", "What leaving it out costs, where it may be; 1 where empty.", width=9, key="priority", holds=NUMBER),
    Column(TAGS, "Words such as numeracy, practical or screen, with commas.", width=14, key="tags", holds=WORDS),
    Column("in pieces of", "Of an explain part that may be cut: minutes of a piece.", width=10, key="split", holds=NUMBER),
    Column(LIVE, "Its minutes where the lesson is live; or: not.", (NOT_THEN,), 9, holds=MINUTES_TEXT, open=True),
    Column(SET_WORK, "Its minutes where the lesson is set work; or: not.", (NOT_THEN,), 9, holds=MINUTES_TEXT, open=True),
    Column(ID, "Its short name in a scenario file."),
)  # fmt: skip

CLASS_COLUMNS = (
    Column("class", "Its short name, as in the timetable.", width=10),
    Column("teacher", "Who teaches it; may be empty.", width=18, key="teacher", holds=TEXT),
    Column("units", "The units taught to it, in order, with commas; all of them where empty.", width=40),
    Column("its room has", "What its room offers, such as computers, with commas.", width=20, key="offers", holds=WORDS),
    Column("pupils", "How many; only for minutes of marking.", width=9, key="size", holds=NUMBER),
    Column("leaves", "The last date on which it meets, if before the end of term.", width=13, key="leaves", holds=DATE),
    Column("exam date", "When it is to know what it is taught.", width=13, key="exam_date", holds=DATE),
)

GRID = tuple((label, weekday) for label in ("A", "B") for weekday in WEEKDAYS[:5])
"""Week and weekday of the timetable's columns, the weeks side by side."""

TIMETABLE_COLUMNS = (
    Column("period", "The period's number.", width=9),
    *(Column(f"{week} {day}", f"{day} of week {week}: the class, or several with commas.") for week, day in GRID),
    Column("from", "The date from which classes of this row have a new timetable; empty for the first one.", width=13),
)

APART = " > "
"""What stands between the parts of a place on the sheet More."""
