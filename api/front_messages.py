"""Bodies of what the page at the front asks for beside solves: demos, forms, and a scenario that was read."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field


class _Message(BaseModel):
    model_config = ConfigDict(extra="forbid")


class DemoEntry(_Message):
    """A demo scenario."""

    name: str = Field(description="Its name: its text is at /v1/demos/ and this name.")
    title: str = Field(description="The scenario's title.")
    says: str = Field(description="Why it exists, in a sentence.")


class DemoList(_Message):
    """The demo scenarios."""

    demos: list[DemoEntry] = Field(description="In the order of their names.")


class FormEntry(_Message):
    """A form in which a sequence can be had."""

    name: str = Field(description="How it is asked for: `format=` and this name.")
    media_type: str = Field(description="What it is over HTTP: what `Accept` names.")
    what: str = Field(description="What it is, in a few words.")
    ending: str = Field(description="The end of its file's name, such as .ics.")
    needs_sequence: bool = Field(description="Whether there is nothing to write where there is no sequence.")


class FormList(_Message):
    """The forms in which a sequence can be had."""

    formats: list[FormEntry] = Field(description="The one that is usual first.")


class ReadClass(_Message):
    """A class of a scenario, and how much there is to place."""

    class_: str = Field(alias="class", description="Its id.")
    teacher: str | None = Field(description="Who teaches it unless a period says otherwise; null when that is not stated.")
    lessons: int = Field(description="Lessons still to be placed, optional ones and those that patterns may make included.")
    periods: int = Field(description="Periods in which the class meets.")


class ReadScenario(_Message):
    """A scenario that can be used."""

    format: Literal[1] = Field(description="Version of the language.")
    title: str | None = Field(description="Its title; null when it has none.")
    first: str = Field(description="First day of term.", json_schema_extra={"format": "date"})
    last: str = Field(description="Last day of term.", json_schema_extra={"format": "date"})
    classes: list[ReadClass] = Field(description="Its classes, as they are listed.")
    aims: list[str] = Field(description="Its aims, most important first.")
    what_ifs: list[str] = Field(description="Names of its what-ifs.")
    most_seconds: float = Field(description="Seconds that a search for its sequence may take on this server.")
    scenario: dict[str, Any] = Field(description="The scenario.")  # the description refers to the shape of scenarios


FRONT_MODELS: tuple[type[BaseModel], ...] = (DemoList, FormList, ReadScenario)
