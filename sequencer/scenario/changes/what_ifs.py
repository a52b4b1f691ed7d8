"""What-ifs: named lists of changes, and what they make of a scenario."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, TypeVar

from pydantic import Field

from sequencer.errors import Problem, UnusableInput
from sequencer.scenario.base_schema import BaseScenario
from sequencer.scenario.changes import calendar_changes as calendar
from sequencer.scenario.changes import lesson_changes as lessons
from sequencer.scenario.changes import rule_changes as rules
from sequencer.scenario.changes.named_parts import NotThere
from sequencer.scenario.fields import Model, Text

Change = Annotated[
    calendar.AddClosure
    | calendar.RemoveClosure
    | calendar.AddRemoteSpell
    | calendar.RemoveRemoteSpell
    | calendar.ChangeRemoteSpell
    | calendar.AddRestrictedDay
    | calendar.RemoveRestrictedDay
    | calendar.LosePeriod
    | calendar.GainPeriod
    | lessons.AddLesson
    | lessons.LeaveOut
    | lessons.MakeOptional
    | lessons.MoveDates
    | lessons.ChangeRequirement
    | lessons.ChangeUnit
    | lessons.ChangeLesson
    | rules.ChangeRules
    | rules.ChangeQuota
    | rules.ChangeTeacher
    | rules.ChangeShared
    | lessons.ChangePattern
    | calendar.ChangeLeaving
    | rules.ChangeStrict,
    Field(discriminator="change"),
]

MOST_WEIGHT = 1000
Base = TypeVar("Base", bound=BaseScenario)


class WhatIf(Model):
    """A named list of changes, made in their order."""

    name: Text = Field(description="What it is called.")
    builds_on: Text | None = Field(None, description="Another what-if of the scenario, whose changes are made first.")
    weight: Annotated[int, Field(ge=1, le=MOST_WEIGHT)] | None = Field(
        None,
        description="How much it counts for a shared opening, beside 1 for the base and for what-ifs that state none; where none "
        "does, the worst case counts.",
    )
    changes: Annotated[tuple[Change, ...], Field(min_length=1, max_length=200)] = Field(description="What is changed.")


def change_text(change: Change, scenario: BaseScenario) -> str:
    """A change of a scenario as advice: ``leave out "Meanders" (rivers/meanders) in 10G``."""
    return change.said(scenario)


def changed(scenario: Base, changes: Iterable[Change], source: str = "") -> Base:
    """The scenario with changes made, one after the other; the checks across entries are not run again.

    Raises
    ------
    UnusableInput
        When a change names what is not there, with its place among the changes.
    """
    found: BaseScenario = scenario
    for number, change in enumerate(changes):
        try:
            found = change.made(found)
        except NotThere as missing:
            where = f"changes[{number}].{missing.key}"
            raise UnusableInput((Problem(where, str(missing), f"/changes/{number}/{missing.key}"),), source) from None
    assert isinstance(found, type(scenario))
    return found
