"""The inside of a lesson, as a user writes it: objectives, parts, usual outlines, pools of exercises."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Literal, get_args

from pydantic import BeforeValidator, Field

from sequencer.scenario.fields import Ident, Load, Model, OrShort, Taught, Text, Words, short_for
from sequencer.scenario.preparing_schema import Prepare
from sequencer.scenario.rules_schema import RuleKeys, short_forms

PartKind = Literal["settle", "recall", "explain", "model", "check", "apply", "preview", "review", "other"]
PART_KINDS: tuple[str, ...] = get_args(PartKind)
ExerciseKind = Literal["recall", "check", "apply", "other"]

PartMinutes = Annotated[int, Field(ge=1, le=480)]
Pieces = Annotated[int, Field(ge=1, le=480)]
Priority = Annotated[int, Field(ge=1, le=1000)]

LESSON_MINUTES, MARGIN = 60, 3
"""What holds where a scenario states neither; common practice, no source."""

USUAL_PART_LOAD = 2

NO_OUTLINE = "off"
"""What stands for a usual outline where a lesson has none."""


class MinutesRange(Model):
    """How many minutes something takes, where that is not one number."""

    least: PartMinutes = Field(description="At least so many minutes.")
    most: PartMinutes = Field(description="At most so many minutes.")


def _one_number(value: Any) -> Any:
    return {"least": value, "most": value} if isinstance(value, int) and not isinstance(value, bool) else value


HowLong = Annotated[MinutesRange, BeforeValidator(_one_number), OrShort({"type": "integer", "minimum": 1, "maximum": 480})]


class LessonObjective(Model):
    """What pupils should be able to do afterwards."""

    id: Ident = Field(description="Short name by which parts name it.")
    title: Text | None = Field(None, description="What pupils should be able to do; the id unless stated.")
    covers: Text | None = Field(None, description="Code of the specification point that it belongs to.")


ObjectiveEntry = Annotated[LessonObjective, short_for("id", str), OrShort({"type": "string", "maxLength": 60})]
Objectives = Annotated[tuple[ObjectiveEntry, ...], Field(max_length=40)]


class PartVersion(Model):
    """What is different of a part where the lesson is taught in this way."""

    off: bool = Field(False, description="Whether the part is left out altogether; `off` alone says so too.")
    minutes: HowLong | None = Field(None, description="Minutes instead of the usual ones.")
    material: Prepare | None = Field(None, description="Material instead of the usual one.")


VersionEntry = Annotated[PartVersion, short_forms(), OrShort({"const": "off"})]


class LessonPart(Model):
    """One thing done in a lesson."""

    id: Ident | None = Field(None, description="Short name, unique in the lesson; its number unless stated.")
    title: Text = Field(description="What is done, in a few words.")
    kind: PartKind = Field(description="settle, recall, explain, model, check, apply, preview, review or other.")
    minutes: HowLong = Field(description="How many minutes it takes: a number, or {least: 5, most: 8}.")
    load: Load | None = Field(None, description="How hard it is, on the scenario's scale; 2 unless stated.")
    objectives: Words = Field(
        (), description="Ids of the objectives that it serves; the lesson's title, or all the lesson's, unless stated."
    )
    tags: Words = Field((), description="Words that the threads of an outline count; `screen` marks minutes at a screen.")
    after: Words = Field((), description="Ids of parts that come before it.")
    needs: Words = Field((), description="What it needs, as will stand on the outline.")
    material: Prepare | None = Field(None, description="What has to be got ready for it.")
    optional: bool = Field(False, description="Whether it may be left out.")
    priority: Priority | None = Field(None, description="What leaving it out costs; 1 unless stated.")
    split: Pieces | None = Field(
        None, description="For an explain part: that it may be cut into pieces of at most this many minutes."
    )
    versions: dict[Taught, VersionEntry] = Field(
        default_factory=dict,
        description="What is different of it where the lesson is taught in class, live or as set work: `{set work: off}`.",
    )


Parts = Annotated[tuple[LessonPart, ...], Field(max_length=200)]
Content = Annotated[tuple[LessonPart, ...], Field(max_length=500)]


def parts_called(word: str, parts: Sequence[tuple[str | None, str]]) -> list[int]:
    """The places of the parts, given by id and title, that a word means: by id, by number (``part-2``), or else by title."""
    ids = [each or f"part-{number}" for number, (each, _) in enumerate(parts, 1)]
    if word in ids:
        return [ids.index(word)]
    return [place for place, (_, title) in enumerate(parts) if title.casefold() == word.casefold()]


class OutlineRules(RuleKeys):
    """Rules of the inside of a lesson, switched off or given numbers."""


class UsualOutline(Model):
    """What most lessons share: how they open and close, and numbers for the rules of their inside."""

    id: Ident = Field(description="Short name by which units, patterns and lessons ask for it.")
    opening: Parts = Field((), description="Parts that come first, in this order.")
    closing: Parts = Field((), description="Parts that come last, in this order.")
    outline_rules: OutlineRules | None = Field(
        None, description="Rules of the inside of a lesson, switched off or given numbers; a unit's and a lesson's own win."
    )


class CutContent(Model):
    """How a unit's content is cut into lessons."""

    lessons: Annotated[int, Field(ge=1, le=200)] | None = Field(
        None, description="Into how many lessons; as few as will do unless stated."
    )
    minutes: PartMinutes | None = Field(
        None, description="Minutes of a lesson, change-over and margin included; the scenario's `lesson_minutes` unless stated."
    )
    at_least_minutes: bool = Field(False, description="Whether parts count with their least minutes, not with their most.")
    may_split: Words = Field(
        (), description="Ids of the objectives whose parts may lie in several lessons; `all` for every one, none unless stated."
    )


class CutAim(Model):
    """What a unit's content, cut into lessons, came to on one aim."""

    aim: Text = Field(description="lessons, objectives split, or greatest load minutes of a lesson.")
    value: int = Field(ge=0, description="What it came to.")
    bound: int = Field(ge=0, description="No cut has less, given the aims before; the cut is proven best where all are alike.")


class Exercise(Model):
    """An exercise of a pool."""

    id: Ident = Field(description="Short name, unique in the pool.")
    title: Text | None = Field(None, description="What it is called; the id unless stated.")
    minutes: HowLong = Field(description="How many minutes it takes: a number, or {least: 5, most: 8}.")
    load: Load | None = Field(None, description="How hard it is, on the scenario's scale; 2 unless stated.")
    sort: Text | None = Field(None, description="Of what sort it is, so that one sort does not come twice close together.")
    lessons: Words = Field((), description="The lessons that it suits (unit/lesson); any unless stated.")
    objectives: Words = Field((), description="The objectives that it suits: lessons that have one of them; any unless stated.")


class ExercisePool(Model):
    """Exercises from which the outlines choose what a thread needs: each class meets each at most once."""

    tag: Text = Field(description="The tag of the thread that it serves.")
    kind: ExerciseKind = Field("apply", description="The kind of part that an exercise is.")
    apart: Annotated[int, Field(ge=1, le=50)] = Field(
        2, description="None of one sort comes twice within so many lessons of a class that follow one another."
    )
    exercises: Annotated[tuple[Exercise, ...], Field(min_length=1, max_length=200)] = Field(description="The exercises.")
