"""The outlines of lessons, as JSON."""

from __future__ import annotations

from typing import Any

from pydantic import Field

from sequencer.outlines.by_hand import judge_by_hand
from sequencer.outlines.laid_outline import LaidOutline, OutlineRow
from sequencer.outlines.outlined import OutlinedLesson, Outlines, outline_sequence
from sequencer.outlines.running_over import LATE, latest_start, when_late
from sequencer.outlines.set_work_alone import lacking_material
from sequencer.plan.notes import cautions_of
from sequencer.plan.sequence import Laid
from sequencer.questions.solve import Answer
from sequencer.render.answers.base import Day, Json, LessonNameJson, Status, With, named, within
from sequencer.render.shown import Asked, laid_out

PUPILS_DO = {
    "settle": "arrive and get ready", "recall": "answer questions on earlier lessons", "explain": "follow new content",
    "model": "follow a worked example", "check": "everyone answers", "apply": "work on it", "preview": "meet the objectives",
    "review": "tick the objectives", "other": "",
}  # fmt: skip


class CutJson(Json):
    """A change that makes a lesson shorter."""

    text: str = Field(description="What to do, in words.")
    part: str = Field(description="Id of the part that it changes.")
    how: str = Field(description="shorten, leave out or move.")
    minutes: int = Field(description="How many minutes it frees.")
    cost: int = Field(description="A part's priority, its load for each minute below its least, 10 for a part that is moved.")


class WhenLateJson(Json):
    """What to do when a lesson is late at a part."""

    late: int = Field(description="By how many minutes.")
    text: str = Field(description="What to do, in words.")
    cuts: list[CutJson] = Field(description="The cheapest cut of what is left; none where it fits.")


class OutlinePartJson(Json):
    """A part of an outline, or a piece of one."""

    id: str | None = Field(
        validation_alias=within("part", "id"),
        description="Id of the part, unique in its lesson; null for a check that the outline makes.",
    )
    title: str = Field(description="What is done.")
    kind: str = Field(description="settle, recall, explain, model, check, apply, preview, review or other.")
    start: int = Field(description="First minute of the lesson, from 0.")
    minutes: int = Field(description="How many minutes it takes.")
    pupils: str = Field(description="What pupils do, in words; empty where the title alone says it.")
    objectives: list[str] = Field(description="Ids of the objectives that it serves.")
    material: str | None = Field(description="Where its material is, or how far it is.")
    needs: list[str] = Field(description="What it needs.")
    latest_start: int = Field(description="The latest minute at which it can begin, all that follows at its least minutes.")
    when_late: list[WhenLateJson] = Field(description="What to drop when the lesson is late here.")


class OutlinedObjectiveJson(Json):
    """An objective of a lesson."""

    id: str = Field(description="Short name.")
    title: str = Field(description="What pupils should be able to do.")


class OutlineAimJson(Json):
    """What an outline comes to on one aim; smaller is better."""

    aim: str = Field(description="Name of the aim.")
    value: int = Field(description="Its value.")
    bound: int | None = Field(description="No outline has less, given the aims above; null where that is not proven.")


class WhyNoOutlineJson(Json):
    """Why a lesson has no outline."""

    conflict: list[str] = Field(description="Statements that cannot all hold; without any one of them the others can.")
    cuts: list[CutJson] = Field(description="The cheapest cut with which it fits; none where none helps.")
    cost: int | None = Field(description="What the cut costs, proven least; null where none helps.")
    goes_to: list[str | None] = Field(description="For each part moved: the lesson (unit/lesson) after it that has room.")


class OutlinedLessonJson(LessonNameJson):
    """A lesson and its outline."""

    title: str = Field(description="Of the lesson.")
    date: Day = Field(description="When it lies.")
    period: int = Field(description="Number of its first period.")
    taught: str = Field(description="in class, live or set work.")
    minutes: int = Field(description="What the outline may take: the lesson's minutes less change-over and margin.")
    objectives: list[OutlinedObjectiveJson] = Field(description="What pupils should be able to do afterwards.")
    parts: list[OutlinePartJson] = Field(description="The parts in order; none where there is no outline.")
    carried_over: list[str] = Field(description="Objectives left to the unit's next lesson.")
    not_kept: list[str] = Field(description="Wishes not granted; of an outline made by hand, rules broken too.")
    to_prepare: list[str] = Field(description="Heavy parts of set work that lack material.")
    cautions: list[str] = Field(description="What the school's own policies and its qualified people decide.")
    aims: list[OutlineAimJson] = Field(description="What it comes to, the most important aim first.")
    proven: bool = Field(description="Whether it is proven best, or proven that there is none.")
    why_not: WhyNoOutlineJson | None = Field(description="Why it has no outline; null where it has one.")


class KindMinutesJson(Json):
    """Minutes of one kind of part over the term."""

    class_: str = Field(description="The class.")
    unit: str = Field(description="Id of the unit.")
    kind: str = Field(description="The kind of part.")
    minutes: int = Field(description="Minutes over all its outlines.")
    per_cent: int = Field(description="Of all minutes of the unit's outlines for the class, rounded.")


class UnitCutJson(Json):
    """What a unit's content came to when it was cut into lessons."""

    unit: str = Field(description="Id of the unit.")
    aims: list[OutlineAimJson] = Field(description="Lessons, objectives split and load minutes, the most important aim first.")
    proven: bool = Field(description="Whether the cut is proven best.")


class OutlinesJson(Json):
    """The outlines of a sequence's lessons that have parts."""

    status: Status = Field(description="Of the sequence behind them.")
    proven: bool = Field(description="Whether every outline is proven best.")
    lessons: list[OutlinedLessonJson] = Field(description="Class by class, in order of time.")
    minutes: list[KindMinutesJson] = Field(description="Minutes by class, unit and kind of part.")
    cuts: list[UnitCutJson] = Field(description="The units that were cut into lessons from their content.")


def outlines_asked(laid: Laid, asked: Asked) -> Outlines:
    """The outlines of a sequence that are asked for: the best ones, or those that a hand made."""
    if asked.by_hand is not None:
        return judge_by_hand(laid, asked.by_hand, asked.complete, asked.minutes, asked.on, asked.lesson)
    return outline_sequence(laid, asked.lesson, asked.minutes, asked.before, asked.on)


def outlines_json(answer: Answer, asked: Asked) -> dict[str, Any]:
    """Return outlines as JSON; without a sequence there are none."""
    if answer.sequence is None:
        return OutlinesJson.of({"status": answer.status, "proven": False, "lessons": [], "minutes": [], "cuts": []}).data()
    laid = laid_out(answer)
    outlines = outlines_asked(laid, asked)
    lessons = [_lesson(laid, each) for each in outlines.lessons]
    minutes = [
        {"class_": class_id, "unit": unit, "kind": kind, "minutes": taken, "per_cent": share}
        for class_id, unit, kind, taken, share in minutes_by_kind(outlines)
    ]
    cuts = [
        {"unit": unit.id, "aims": unit.cut_aims, "proven": all(each.value == each.bound for each in unit.cut_aims)}
        for unit in laid.instance.scenario.units
        if unit.cut_aims
    ]
    found = {"status": answer.status, "proven": outlines.proven, "lessons": lessons, "minutes": minutes, "cuts": cuts}
    return OutlinesJson.of(found).data()


def minutes_by_kind(outlines: Outlines) -> list[tuple[str, str, str, int, int]]:
    """Class, unit, kind, minutes and per cent of the minutes of the unit's outlines for the class."""
    found: dict[tuple[str, str], dict[str, int]] = {}
    for each in outlines.lessons:
        of_unit = found.setdefault((each.inside.class_id, each.inside.unit), {})
        for row in each.laid.rows if each.laid is not None else ():
            of_unit[row.kind] = of_unit.get(row.kind, 0) + row.minutes
    return [
        (*of, kind, minutes, round(100 * minutes / sum(kinds.values())))
        for of, kinds in found.items()
        for kind, minutes in kinds.items()
    ]


def _lesson(laid: Laid, each: OutlinedLesson) -> dict[str, Any]:
    inside, outline = each.inside, each.laid
    surely = each.best or each
    bounds = surely.values if surely.proven else {}
    lesson, slot = laid.instance.lessons[inside.lesson], laid.first_slot(inside.lesson)
    return {
        **named(laid.instance, inside.lesson), "title": inside.title, "date": slot.date, "period": slot.period,
        "taught": inside.taught, "minutes": inside.minutes,
        "objectives": [{"id": word, "title": title} for word, title in inside.objectives],
        "parts": [_part(outline, place, row) for place, row in enumerate(outline.rows)] if outline is not None else [],
        "carried_over": list(outline.carried) if outline is not None else [],
        "not_kept": [broken.message for broken in each.broken],
        "to_prepare": lacking_material(outline) if outline is not None else [],
        "cautions": cautions_of(laid, lesson, tags_of(each)),
        "aims": [{"aim": aim, "value": value, "bound": bounds.get(aim)} for aim, value in each.values.items()],
        "proven": each.proven,
        "why_not": each.why_not,
    }  # fmt: skip


def tags_of(each: OutlinedLesson) -> tuple[str, ...]:
    """The tags of a lesson's parts."""
    return tuple(tag for part in each.inside.parts for tag in part.tags)


def _part(outline: LaidOutline, place: int, row: OutlineRow) -> With:
    return With(
        row, pupils=PUPILS_DO[row.kind], material=material_text(row), needs=row.part.needs if row.part is not None else (),
        latest_start=latest_start(outline, place), when_late=[when_late(outline, place, late) for late in LATE],
    )  # fmt: skip


def material_text(row: OutlineRow) -> str | None:
    """Where the material of a part is, or how far it is."""
    material = row.part.material if row.part is not None else None
    return None if material is None else ": ".join(word for word in (material.status, material.where) if word)
