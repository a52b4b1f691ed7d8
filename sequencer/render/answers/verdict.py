"""The referee's verdict as JSON."""

from __future__ import annotations

from typing import Any

from pydantic import Field

from sequencer.instance.facts import Instance
from sequencer.questions.judge import Verdict
from sequencer.render.answers.base import Json, LessonNameJson, PeriodJson, Told


class _OfRuleJson(Json):
    rule: int = Field(description="Number of the rule in the README.")
    name: str = Field(description="Name of the rule.")
    classes: list[str] = Field(validation_alias="class_ids", description="The classes concerned.")
    lessons: list[LessonNameJson] = Field(description="The lessons concerned.")


class BreachJson(_OfRuleJson):
    """A rule that a sequence breaks."""

    periods: list[PeriodJson] = Field(validation_alias="slots", description="The periods concerned.")
    message: Told = Field(description="What breaks the rule, in a sentence.")
    past: bool = Field(description="Whether what was delivered, and today's date, leave nothing that could mend it.")


class WishJson(_OfRuleJson):
    """A rule marked as a preference, or a wish to be live or not, that a sequence does not grant."""

    units: int = Field(description="By how much, in the rule's unit of violation.")
    weight: int = Field(description="Weight of the wish: units times weight is what it adds to the aim `wishes`.")
    message: Told = Field(description="What is not granted, in a sentence.")


class VerdictJson(Json):
    """The referee's judgement of a sequence."""

    sound: bool = Field(description="Whether every rule holds that still can.")
    breaches: list[BreachJson] = Field(description="Every rule broken, and where.")
    wishes: list[WishJson] = Field(description="The wishes that are not granted.")
    aims: dict[str, int] = Field(description="Every aim as the referee counts it.")


def verdict_json(instance: Instance, verdict: Verdict) -> dict[str, Any]:
    """Return a verdict as JSON."""
    return VerdictJson.of(verdict, instance).data()
