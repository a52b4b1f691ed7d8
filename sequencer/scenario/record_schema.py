"""What happened to lessons so far, as a user records it."""

from __future__ import annotations

from pydantic import Field

from sequencer.scenario.fields import (
    ClassId,
    Day,
    Happened,
    LessonRefs,
    Load,
    Model,
    OwnLesson,
    PeriodNumber,
    Taught,
    Text,
    TitleOrId,
    Words,
)
from sequencer.scenario.pattern_schema import Length


class RecordEntry(Model):
    """What became of one lesson of one class."""

    class_: ClassId = Field(alias="class", description="The class.")
    unit: TitleOrId | None = Field(None, description="The unit; may be left out where the lesson's id is unique in the class.")
    lesson: OwnLesson = Field(
        description="The lesson's id; what remains of a lesson has its id with -rest (part-taught) or -again (needs another)."
    )
    what: Happened = Field(
        "delivered",
        description="delivered; part-taught (the rest becomes a lesson); needs another (delivered, and needs another lesson); "
        "skipped (not taught and not to be); lost (the period did not take place, the lesson is still to be taught).",
    )
    date: Day | None = Field(None, description="Date of its first period, no later than `today`; not for skipped lessons.")
    period: PeriodNumber | None = Field(None, description="Its first period; may be left out before the class's first date.")
    taught: Taught | None = Field(
        None, description="in class, live or set work; what the period fixes unless stated, set work where it is open."
    )
    revisits: LessonRefs = Field((), description="Lessons met again in it, beyond those that the unit lists.")
    load: Load | None = Field(None, description="Load of the lesson that remains (part-taught, needs another).")
    length: Length | None = Field(None, description="Periods that the lesson that remains takes; as the lesson unless stated.")
    title: Text | None = Field(None, description="Title of the lesson that remains.")
    parts_done: Words = Field(
        (),
        description="Of a part-taught lesson with parts: those that were done, by id, title, or number (part-1); the lesson "
        "that remains has the others, all of them unless stated.",
    )
