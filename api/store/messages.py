"""What is asked and answered about kept terms, for the description."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import Field

from api.requests import Closed
from sequencer import PlanRow

NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
"""What a term may be called."""


class ListOptions(Closed):
    """The query string of a list of terms."""

    after: Annotated[str, Field(max_length=64)] = Field("", description="Only terms whose names come after this one.")
    limit: Annotated[int, Field(ge=1, le=500)] = Field(100, description="How many at most.")


class SinceOptions(Closed):
    """The query string of a list of changes."""

    since: Annotated[int, Field(ge=0, le=2**53)] = Field(0, description="The version that was seen last.")
    limit: Annotated[int, Field(ge=1, le=500)] = Field(100, description="How many at most.")


class TermEntry(Closed):
    """A term, as a list has it."""

    term: str = Field(description="Its name: it is at /v1/terms/ and this name.")
    tag: str = Field(description="Its entity tag, with its quotes; of a key for a class that of its rows.")
    version: int | None = Field(description="The number of its version; null for a key for a class.")
    title: str | None = Field(description="The scenario's title; null where there is none, and for a key for a class.")
    classes: list[str] = Field(description="Its classes, as far as the key may see them.")
    changed: str | None = Field(description="When it was changed last, in UTC; null for a key for a class.")


class TermList(Closed):
    """Kept terms."""

    terms: list[TermEntry] = Field(description="In the order of their names.")
    next: str | None = Field(description="The address of those that follow; null where there are none.")


class ClassPlan(Closed):
    """The plan as a key for a class sees it: its rows, and nothing else."""

    classes: list[str] = Field(description="The classes.")
    lessons: list[PlanRow] = Field(description="Their rows of the plan, in order of time.")


class CalendarAsked(Closed):
    """Whose calendar is asked for."""

    kind: Literal["class", "teacher", "cohort"] = Field(description="Of a cohort it is the assessments.")
    name: str = Field(description="Which: the id of a class or a cohort, the name of a teacher.", max_length=200)


class CalendarMade(CalendarAsked):
    """A calendar that was made."""

    calendar: str = Field(description="Its id, by which it is revoked.")
    address: str = Field(description="Its address, told this once: whoever has it may read the calendar.")


class CalendarEntry(CalendarAsked):
    """A calendar that can be subscribed to."""

    calendar: str = Field(description="Its id, by which it is revoked.")
    made: str = Field(description="When it was made, in UTC.")
    sent: str | None = Field(description="When a new state of it was sent last; null where it was never fetched.")


class CalendarList(Closed):
    """The calendars of a term."""

    calendars: list[CalendarEntry] = Field(description="The oldest first.")


class WebhookAsked(Closed):
    """An address that is to be told of changes."""

    address: str = Field(description="Where the notice is sent.", pattern=r"^https?://[^\s/?#@]+([/?][^\s#]*)?$", max_length=2000)
    terms: list[str] = Field(default=[], description="Of which terms; of all where none is named.", max_length=1000)


class WebhookMade(WebhookAsked):
    """A webhook that was made."""

    webhook: str = Field(description="Its id: the `keyid` of its signatures.")
    secret: str = Field(description="The key of its signatures, told this once.")


class WebhookEntry(WebhookAsked):
    """A webhook."""

    webhook: str = Field(description="Its id.")
    made: str = Field(description="When it was made, in UTC.")
    given_up: str | None = Field(description="When it was given up; null where it is not. Make it again to have it told.")
    waiting: int = Field(description="Notices that are still to be taken.")
    failed: str | None = Field(description="How the last notice that failed was answered; null where none did.")


class WebhookList(Closed):
    """The webhooks."""

    webhooks: list[WebhookEntry] = Field(description="The oldest first.")


class ImportOptions(Closed):
    """The query string of what comes from another program."""

    keep: bool = Field(False, description="Whether the term is changed and kept; unless so it is only said what was understood.")


class LineUnderstood(Closed):
    """A line of a calendar or a table, and how it is understood."""

    line: int = Field(description="Its number, from 1; of an event that of its beginning.")
    says: str = Field(description="How it is understood, or that it is not.")


class ImportUnderstood(Closed):
    """What was understood of a calendar or a table from another program."""

    kept: bool = Field(description="Whether the term was changed.")
    understood: list[LineUnderstood] = Field(description="Line by line.")
    changed: list[str] = Field(description="Parts of the scenario that are other than before.")


class PlaceThen(Closed):
    """Where a lesson lies, or lay."""

    date: str = Field(description="The date.")
    period: int = Field(description="Its first period.")


class LessonMoved(Closed):
    """A lesson that a change moved."""

    class_: str = Field(alias="class", description="The class.")
    unit: str = Field(description="Id of the lesson's unit.")
    lesson: str = Field(description="Id of the lesson.")
    from_: PlaceThen | None = Field(alias="from", description="Where it lay; null where it was new.")
    to: PlaceThen | None = Field(description="Where it lies; null where it lies nowhere.")


class ChangeEntry(Closed):
    """A change of a kept term."""

    version: int = Field(description="The version that it made.")
    at: str = Field(description="When, in UTC.")
    by: str | None = Field(description="The name of the key; null where none is asked for.")
    what: Literal["put", "week", "undone", "deleted", "imported"] = Field(description="What was done.")
    moved: list[LessonMoved] = Field(description="The lessons that moved, are new, or fell away.")


class ChangeList(Closed):
    """Changes of a kept term."""

    changes: list[ChangeEntry] = Field(description="The oldest first.")
