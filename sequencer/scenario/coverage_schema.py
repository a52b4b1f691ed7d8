"""Specifications: the points that classes are to be taught, by the scenario's own codes."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sequencer.scenario.fields import ClassIds, Ident, Model, Text


class SpecificationPoint(Model):
    """One point of a specification."""

    code: Annotated[str, Field(min_length=1, max_length=40)] = Field(
        description="The scenario's own code, in quotes where it is a number; lessons name it under covers."
    )
    title: Text | None = Field(None, description="What it says.")


class Specification(Model):
    """What some classes are to be taught, point by point."""

    id: Ident = Field(description="Short name, unique in the scenario.")
    title: Text | None = Field(None, description="Title on sheets; the id unless stated.")
    classes: ClassIds = Field((), description="Classes that follow it; all unless stated.")
    points: Annotated[tuple[SpecificationPoint, ...], Field(min_length=1)] = Field(
        description="Its points, in order; no code stands twice in the scenario."
    )
