"""What a pattern makes for a unit: practice, retrieval, feedback and writing lessons, as a user describes them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sequencer.scenario.fields import Count, KindNames, Load, Minutes, Model, Text, Words

PER_SCRIPT = "Rule 10: minutes of marking for each pupil of the class, whose `size` must be stated; added to marking_minutes."

Length = Annotated[int, Field(ge=1, le=8)]


class Made(Model):
    """Base of what a pattern says about the lessons it makes."""

    load: Load | None = Field(
        None, description="Load of each; the least high load less two unless stated, for writing the least high load."
    )
    length: Length = Field(1, description="How many adjacent periods of one date each takes.")
    tags: Words = Field((), description="Words that caps, threads and restricted days count.")
    needs: Words = Field((), description="Rule 8: what its periods must offer.")
    preparation_minutes: Minutes = Field(0, description="Rule 10: minutes of preparation for each.")
    marking_minutes: Minutes = Field(0, description="Rule 10: minutes of marking for each.")
    marking_minutes_per_script: Minutes = Field(0, description=PER_SCRIPT)


class MadePractice(Made):
    """A practice lesson for every dense lesson that no listed one practises, as few as satisfy rule 3."""

    title: Text = Field("Practice: {lesson}", description="Title of each; {lesson} stands for the lesson practised.")


class MadeRetrieval(Made):
    """Retrieval lessons as they are needed, which meet again what the sequence chooses."""

    title: Text = Field("Met again {number}", description="Title of each; {number} counts them.")
    room: Annotated[int, Field(ge=1, le=50)] = Field(3, description="How many lessons each meets again, at most.")
    most: Annotated[int, Field(ge=1, le=100)] | None = Field(
        None, description="How many of them at most; as many as the unit has lessons to meet again unless stated."
    )


class MadeFeedback(Made):
    """One feedback lesson on what the unit practised, met again or assessed, after the marking time of each."""

    title: Text = Field("Feedback", description="Its title.")
    answers: KindNames = Field(("practice", "retrieval"), description="The kinds of lesson that it answers.")


class MadeWriting(Made):
    """Exam-style writing after all that the unit teaches and practises."""

    title: Text = Field("Exam-style writing", description="Its title.")
    kind: Literal["practice", "assessment"] = Field("assessment", description="Its kind: assessment or practice.")


class Homework(Model):
    """Homework set in a lesson: what it is called, when it is due, how long it takes."""

    title: Text = Field("Homework: {lesson}", description="What it is called; {lesson} stands for the lesson it is set in.")
    due_days: Count = Field(
        1, description="It is due on the first date on which the class meets at least this many days after it is set."
    )
    minutes: Minutes = Field(0, description="Rule 14: how many minutes it takes a pupil.")
