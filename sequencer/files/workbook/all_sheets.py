"""All sheets of the workbook to fill in but the first, and what is to be read first."""

from __future__ import annotations

from datetime import date

from sequencer.files.workbook.form import (
    AS_USUAL,
    AT_LEAST,
    AT_MOST,
    BEFORE,
    BELLS,
    CLASS_COLUMNS,
    CLASSES,
    CLOCK,
    CLOSURE,
    COVER,
    DATE,
    DATE_COLUMNS,
    DAYS,
    FIRST,
    HOLIDAY,
    ID,
    KIND,
    KIT,
    LAST,
    LASTS_COLUMN,
    LESSON,
    LESSON_COLUMNS,
    LESSONS,
    LIMITED,
    MORE,
    NAME,
    NO_CLOSURE,
    NOT_REMOTE,
    NOTHING_ELSE,
    NUMBER,
    ORDER,
    PART,
    PART_COLUMNS,
    PARTS,
    PER,
    REMOTE,
    REMOTE_COLUMNS,
    RESTRICTED,
    TAKES_NO,
    TAKES_NO_COLUMN,
    TEXT,
    TIMETABLE,
    TIMETABLE_COLUMNS,
    UNIT,
    WHAT,
    WHAT_IF,
    WHO,
    WISH,
    WORD,
    WORDS,
    YEARS,
    YES,
    YES_NO,
    Column,
    Form,
    Place,
)
from sequencer.files.workbook.limit_kinds import CYCLE as PER_CYCLE
from sequencer.files.workbook.limit_kinds import DAY, LIMITS, WEEK, WISH_WORDS
from sequencer.words import AIMS

BASIC: tuple[Form, ...] = (
    Form(
        DAYS,
        (
            Column(WHAT, "holiday: outside term; closure: no lessons; remote: lessons from home.", (HOLIDAY, CLOSURE, REMOTE)),
            Column(NAME, "What it is called.", width=28),
            *DATE_COLUMNS,
            *REMOTE_COLUMNS,
        ),
        (WHAT,), (NAME, WHAT), ((CLOSURE, "Training day", date(2026, 11, 20)),),
    ),
    Form(TIMETABLE, TIMETABLE_COLUMNS, ("period",), ("period", "from")),
    Form(CLASSES, CLASS_COLUMNS, ("class",), ("class",), (("9B", "Ms Ferris", "Coasts"),)),
    Form(
        LESSONS, LESSON_COLUMNS, (LESSON,), (LESSON, UNIT),
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
)  # fmt: skip
"""The sheets that everyone fills in, after the first one; the columns of the timetable are its periods."""

FURTHER: tuple[Form, ...] = (
    Form(
        PARTS, PART_COLUMNS, (PART, KIND), (PART, LESSON, UNIT),
        purpose="What is done in a lesson, a row for each part, for an outline minute by minute. Such as: Coasts, Longshore "
        "drift, The zigzag, explain, 6 to 9; and for every lesson: lessons open with, no lesson, Register, settle, 3.",
    ),
    Form(
        COVER,
        (Column(NAME, "What it is called, such as Cover teacher.", width=28), *DATE_COLUMNS, TAKES_NO_COLUMN, LASTS_COLUMN),
        (TAKES_NO,), (NAME,),
        purpose="Days that take only some lessons, or have shorter periods: cover, visits, weekdays without tests. Such as: "
        "Cover teacher, 2026-11-19, takes no new content.",
    ),
    Form(
        LIMITED,
        (
            Column(WHO, "A class, several with commas, a teacher, year group, unit or lesson; empty for all.", width=18),
            Column(
                WHAT, "What is counted; the column per says over what.",
                tuple(dict.fromkeys(limit.what for limit in LIMITS)), 24,
            ),
            Column(AT_LEAST, "At least so many.", width=9),
            Column(AT_MOST, "At most so many.", width=9),
            Column(
                PER,
                "A week where empty. Live lessons: cycle, too. Tests, and a teacher's live or hard lessons: day, too. Lessons "
                "with a tag: of how many periods in a row. Lessons on weekdays: on which, such as Mon, Tue.",
                (DAY, WEEK, PER_CYCLE), 9, open=True,
            ),
            Column(WORD, "Which tag is counted; for lessons on weekdays a tag or a kind, or empty for all.", width=12),
            Column(FIRST, "Live lessons: counted from this date to the next column's, instead of by week.", width=13),
            Column(LAST, "The last date of these.", width=13),
            Column(
                WISH, "Empty: it must be so. Otherwise it is only wished: rather, much rather, or a weight from 1 to 1000.",
                tuple(WISH_WORDS), 12, open=True,
            ),
        ),
        (WHO, WHAT), (WHAT, WHO),
        purpose="What must be at least, or at most, or would rather be. Such as: 9B, live lessons, at least 2, per week; "
        "Ms Ferris, minutes of marking, at most 120; nobody named, hard lessons in a row, at most 1, rather; "
        "lessons on weekdays, per Mon, Tue, tag practical, rather.",
    ),
    Form(
        BEFORE,
        (
            Column("class", "The class, or several with commas; empty for all.", width=12),
            Column("title", "What was taught.", width=36),
            Column("date", "When, before term; about will do.", width=13, key="date", holds=DATE),
            Column("load", "How hard it was, 1 to 5.", ("1", "2", "3", "4", "5"), 7, key="load", holds=NUMBER),
            Column("tags", "Words such as fieldwork, with commas.", width=16, key="tags", holds=WORDS),
            Column(ID, "Its short name in a scenario file; made of the title where empty."),
        ),
        ("class", "title"), ("title", "class"),
        purpose="What classes were taught before term and are to meet again like the rest. Such as: 9B, Rivers, 2026-10-15.",
    ),
    Form(
        KIT,
        (
            Column("kit", "The word that lessons have under needs.", width=24, key="name", holds=TEXT),
            Column("how many", "Classes that can use it in one period; 1 where empty.", width=11, key="capacity", holds=NUMBER),
            Column(
                "only in its room", "yes where the room must have it (Classes, its room has); empty where it can be carried.",
                YES_NO, 16, key="only_where_offered", holds=YES,
            ),
        ),
        ("kit",), ("kit",),
        purpose="What all classes share, so that only so many can use it in one period. Such as: laptops, 1.",
    ),
    Form(
        YEARS,
        (
            Column("year group", "Its short name, such as Y9; empty where it is that of the row above.", width=12),
            Column("title", "What it is called; once for each year group.", width=20),
            Column("subject", "A subject that its pupils are taught.", width=18, key="name", holds=TEXT),
            Column("classes", "The classes of which each pupil is in one, with commas.", width=18, key="classes", holds=WORDS),
            Column("tests fixed on", "Dates of tests that are fixed elsewhere, with commas; they count and stay.", width=24),
        ),
        ("subject",), ("subject", "year group"),
        purpose="Whose pupils meet which subjects, a row for each; how much they may have a day and a week is said under limits. "
        "Such as: Y9, Year 9, Geography, 9G1 and 9G2.",
    ),
    Form(
        WHAT_IF,
        (
            Column("what if", "What it is called; several rows of one name come together.", width=28),
            Column(
                WHAT, "What then comes; or what does not, of that name on another sheet.",
                (CLOSURE, REMOTE, RESTRICTED, NO_CLOSURE, NOT_REMOTE, AS_USUAL), 17,
            ),
            *DATE_COLUMNS,
            *REMOTE_COLUMNS,
            TAKES_NO_COLUMN,
            LASTS_COLUMN,
            Column(NAME, "What the closure, visit or spell is called, where that is something else.", width=20),
            Column("builds on", "Another what-if that comes true with it.", width=20, key="builds_on", holds=TEXT),
            Column("weight", "How much it counts beside the others; 1 where empty.", width=9, key="weight", holds=NUMBER),
        ),
        ("what if", WHAT), ("what if", WHAT),
        purpose="What may come, to be compared with the plan; the plan itself heeds none. Such as: Snow, closure, 2026-11-12.",
    ),
    Form(
        ORDER,
        (
            Column(
                "aim", "What is made small, most important first. The others follow in their usual order: " + ", ".join(AIMS[:-1])
                + ". Where nothing else matters, end with: nothing else.", (*AIMS, NOTHING_ELSE), 28, open=True,
            ),
        ),
        ("aim",), ("aim",),
        purpose="What matters most, a row for each, where that is not the usual. Such as: even load; then distance.",
    ),
    Form(
        BELLS,
        (
            Column("period", "The period's number.", width=9, key="number", holds=NUMBER),
            Column("starts", "When it starts, such as 09:00.", key="starts", holds=CLOCK),
            Column("ends", "When it ends.", key="ends", holds=CLOCK),
        ),
        ("period", "starts", "ends"), ("period",),
        purpose="When periods start and end; only calendars need it.",
    ),
    Form(
        MORE,
        (
            Column("where", "A part of a scenario file, such as: classes > 9B > plan_shared.", width=48),
            Column("value", "What it says there, as a scenario file has it; empty for nothing.", width=80),
        ),
        ("where", "value"), ("where",),
        purpose="What a scenario file can say and no other sheet has; see the guide.",
    ),
)  # fmt: skip
"""The sheets that are there for when they are needed."""

SHEETS = (*BASIC, *FURTHER)
"""All sheets but the first one and what is to be read first, in their order."""

GRID_PERIODS = 8
"""Rows of the timetable that are offered; more can be added."""

GRID_EXAMPLE: dict[Place, str] = dict.fromkeys(
    [(None, "A", "Mon", 2), (None, "A", "Thu", 4), (None, "B", "Tue", 1), (None, "B", "Fri", 3)], "9B"
)

INSTRUCTIONS = (
    "From this workbook to a plan",
    "",
    "Begin with these five sheets. Each has an example in it: type over it, and delete what you do not need. Headings stay.",
    "1. Term: the dates of term, and whether your timetable has one week or two. The rest can stay as it is.",
    "2. Days off: holidays, training days, days on which lessons are from home. May be empty.",
    "3. Timetable: write a class in each period in which you have it; several with commas.",
    "4. Classes: each class with its units.",
    "5. Lessons: a row for each lesson, unit by unit. Title and load are enough to begin with.",
    "",
    "The other sheets are there for when you need them. They are empty, and that means the usual.",
    *(f"{form.name}: {form.purpose}" for form in FURTHER),
    "",
    "Rest the pointer on a heading to read what it is for. An empty cell means the usual. Your own columns and sheets are kept.",
    "Save the workbook. Then 'python -m sequencer week' with its name writes the plan into it, and does each Friday after that;",
    "so does the page (python -m api --open), where you open it. What cannot be used is named by sheet and cell.",
    "",
    "Write no pupil's name or data anywhere. For practical work, fieldwork and live video the employer's risk assessment and the",
    "school's policies come first, and its qualified staff decide.",
)
