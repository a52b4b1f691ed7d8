"""Scenarios as JSON answers: one that was read, one on a new calendar, a skeleton of the next term's."""

from __future__ import annotations

from typing import Any

from pydantic import Field

from sequencer.instance.build import build_instance
from sequencer.next_term.forward import NextTerm
from sequencer.next_term.redate import Redated
from sequencer.render.answers.base import Day, FormatNumber, Json, OfClassJson, OnServer, With, WrittenScenario, always_on_server
from sequencer.scenario.schema import Scenario


class ReadClassJson(Json):
    """A class of a scenario, and how much there is to place."""

    class_: str = Field(description="Its id.")
    teacher: str | None = Field(description="Who teaches it unless a period says otherwise; null when that is not stated.")
    lessons: int = Field(description="Lessons still to be placed, optional ones and those that patterns may make included.")
    periods: int = Field(description="Periods in which the class meets.")


class ReadScenarioJson(Json):
    """A scenario that can be used."""

    model_config = always_on_server("most_seconds")

    format: FormatNumber = Field(description="Version of the language.")
    title: str | None = Field(description="Its title; null when it has none.")
    first: Day = Field(description="First day of term.")
    last: Day = Field(description="Last day of term.")
    classes: list[ReadClassJson] = Field(description="Its classes, as they are listed.")
    aims: list[str] = Field(description="Its aims, most important first.")
    what_ifs: list[str] = Field(description="Names of its what-ifs.")
    scenario: WrittenScenario = Field(description="The scenario.")
    most_seconds: OnServer = Field(description="Seconds that a search for its sequence may take on this server.")


class MisfitJson(Json):
    """Something of a scenario that does not fit the new calendar, and what became of it."""

    where: str = Field(description="Its place in the scenario handed in, for people; empty for no single place.")
    pointer: str = Field(description="The same place as a JSON pointer (RFC 6901).")
    text: str = Field(description="A sentence.")


class MovedDateJson(Json):
    """A date that moved to the same weekday of the school week with the same number."""

    where: str = Field(description="Its place in the scenario handed in, for people.")
    pointer: str = Field(description="The same place as a JSON pointer (RFC 6901).")
    old: Day = Field(description="The date before.")
    new: Day = Field(description="The date now.")
    school_day: bool | None = Field(description="Whether the new date is a school day; null outside the new term.")


class RedatedJson(Json):
    """A scenario on a new calendar."""

    scenario: WrittenScenario = Field(description="The new scenario.")
    no_longer_fits: list[MisfitJson] = Field(description="What was left out or needs another look.")
    moved: list[MovedDateJson] = Field(description="Every date that moved.")


class RolledJson(Json):
    """A skeleton of the next term."""

    scenario: WrittenScenario = Field(description="The new scenario.")
    carried: list[str] = Field(description="What was carried over from this term, in sentences.")
    to_fill_in: list[str] = Field(description="What has still to be said.")
    no_longer_fits: list[str] = Field(description="What was left out.")


class UnderstoodLineJson(Json):
    """A line of pasted lessons, and how it is understood."""

    line: int = Field(description="Its number, from 1; 0 for what is said of the whole list.")
    text: str = Field(description="What stands there.")
    says: str = Field(description="What it is taken for, in words.")
    unit: str | None = Field(description="The unit that it belongs to; its title where the line names it.")
    lesson: str | None = Field(description="Id of the lesson; null where it is none.")
    hint: str | None = Field(description="A question, where something else may have been meant.")
    instead: str | None = Field(description="The line that says so.")
    wrong: str | None = Field(description="Why it cannot be used; null where it can.")


class UnderstoodListJson(OfClassJson):
    """The pasted lessons of a class, and how they are understood."""

    units: list[str] = Field(description="Ids of the units that the class is taught.")
    lines: list[UnderstoodLineJson] = Field(description="Its lines that hold anything.")


class PastedJson(Json):
    """What pasted lessons mean: parts of a scenario."""

    lists: list[UnderstoodListJson] = Field(description="The lists, as they were sent.")
    units: list[dict[str, Any]] = Field(description="The units of a scenario that they make.")
    patterns: list[dict[str, Any]] = Field(description="What is made for hard lessons that no lesson of the list practises.")
    rules: dict[str, Any] = Field(description="Usual numbers of rules (common practice, no source), to begin with.")


def pasted_json(pasted: object) -> dict[str, Any]:
    """Return what pasted lessons mean, and how each line is understood, as JSON."""
    return PastedJson.of(pasted).data()


def read_json(scenario: Scenario, most_seconds: float | None = None) -> dict[str, Any]:
    """Return a scenario as JSON, with its term and aims, and for each class the lessons to place and the periods there are."""
    instance = build_instance(scenario)
    classes = [
        With(
            stated,
            class_=facts.id,
            lessons=sum(instance.lessons[index].delivered is None for index in facts.lessons),
            periods=len(facts.slots),
        )
        for facts, stated in zip(instance.classes, scenario.classes, strict=True)
    ]
    told = With(
        scenario,
        scenario=scenario,
        first=scenario.term.first,
        last=scenario.term.last,
        classes=classes,
        aims=instance.aims,
        what_ifs=[each.name for each in scenario.what_ifs],
        most_seconds=most_seconds,
    )
    return ReadScenarioJson.of(told).data()


def redated_json(redated: Redated) -> dict[str, Any]:
    """Return the new scenario, what of the old one no longer fits, and the dates that moved, as JSON."""
    return RedatedJson.of(redated).data()


def next_term_json(rolled: NextTerm) -> dict[str, Any]:
    """Return the new scenario, what was carried over, what is to be filled in, and what was left out, as JSON."""
    return RolledJson.of(rolled).data()
