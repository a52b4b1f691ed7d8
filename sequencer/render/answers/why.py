"""Why a scenario has no sequence, and where else a lesson could lie, as JSON."""

from __future__ import annotations

from typing import Any

from pydantic import AliasPath, Field

from sequencer.questions.explaining.explain import Explanation
from sequencer.questions.explaining.minimal_conflict import Conflict
from sequencer.questions.explaining.other_places import Elsewhere, Place
from sequencer.questions.explaining.repairs import Repair
from sequencer.questions.explaining.statement import Statement
from sequencer.questions.explaining.telling import tell
from sequencer.render.answers.base import FormatNumber, Json, LessonNameJson, PeriodJson, Told, With, WrittenChange, named
from sequencer.render.explained import Source, reasons_ranked
from sequencer.scenario.changes.what_ifs import change_text


class StatedJson(Json):
    """A statement of the scenario, and where it stands."""

    kind: str = Field(description="What it is, such as closure, lesson (it has to be taught), requires, quota.")
    text: Told = Field(description="The statement in a sentence.")
    where: str = Field(description="Its place in the scenario, for people.")
    pointer: str = Field(description="The same place as a JSON pointer (RFC 6901).")
    line: int | None = Field(description="Line in the body, from 1.")
    column: int | None = Field(description="Column in that line, from 1.")
    lessons: list[LessonNameJson] = Field(description="The lessons concerned.")


class ConflictJson(Json):
    """Statements that cannot all hold, while without any one of them the others can."""

    text: Told = Field(description="What does not come out, in a sentence.")
    because: list[Told] = Field(description="The statements in sentences, in the order of the scenario.")
    proven_minimal: bool = Field(
        validation_alias="proven", description="Whether each statement was shown to be needed for the conflict."
    )
    statements: list[StatedJson] = Field(description="The same statements with their places.")


class RepairAimJson(Json):
    """What the repaired scenario reaches on one aim."""

    aim: str = Field(description="Name of the aim.")
    value: int = Field(description="Its value; smaller is better.")
    proven: bool = Field(description="Whether that is proven best.")


class RepairJson(Json):
    """Changes that make the whole scenario possible: tried by a full solve, and passed by the referee."""

    cost: int = Field(description="By the scenario's `repair_costs`.")
    text: list[Told] = Field(description="Each change in words.")
    changes: list[WrittenChange] = Field(description="The changes, as a what-if lists them.")
    proven_cheapest: bool = Field(description="Whether it is proven that nothing cheaper would do.")
    aims: list[RepairAimJson] = Field(
        validation_alias=AliasPath("answer", "aims"), description="What the repaired scenario reaches."
    )


class ExplanationJson(Json):
    """Why a scenario has no sequence, and what would give it one."""

    format: FormatNumber = Field(description="Version of this form.")
    possible: bool | None = Field(description="Whether it has a sequence; null when that was not settled in time.")
    conflicts: list[ConflictJson] = Field(description="Conflicts that share no statement.")
    more_conflicts: bool | None = Field(
        validation_alias="more", description="Whether there are more, apart from these; null when that is not known."
    )
    repairs: list[RepairJson] = Field(description="Those that cost least first; none is part of another.")
    nothing_cheaper: bool | None = Field(description="Whether everything cheaper than the first repair was ruled out.")
    no_more: bool = Field(description="Whether it is sure that every further repair holds one of these.")


class ForbiddingJson(Json):
    """A statement that forbids a period."""

    kind: str = Field(description="What it is, such as closure, lesson, requires.")
    text: Told = Field(description="The statement in a sentence.")
    pointer: str = Field(description="Its place in the scenario, as a JSON Pointer (RFC 6901).")


class OtherPlaceJson(PeriodJson):
    """A period of the class, and what it would mean to teach the lesson there."""

    here: bool = Field(description="Whether the lesson lies there.")
    possible: bool | None = Field(description="Whether it could; null when that was not settled in time.")
    costs: dict[str, int] | None = Field(description="By how much each aim would be worse; null where it cannot lie there.")
    proven: bool = Field(description="Whether the costs are proven least.")
    forbidden_by: list[ForbiddingJson] = Field(
        description="What forbids it, what is said of the lesson itself first; empty where it can lie there."
    )


class ElsewhereJson(LessonNameJson):
    """Where else one lesson of the best sequence could lie."""

    aims: dict[str, int] = Field(description="The aims of the sequence asked about.")
    places: list[OtherPlaceJson] = Field(description="Every period of the class.")


def explanation_json(explanation: Explanation, source: Source | None = None) -> dict[str, Any]:
    """Return an explanation as JSON; the source says where its statements stand."""
    found = explained(explanation, source)
    return found.data() if found is not None else {}


def explained(explanation: Explanation | None, source: Source | None = None) -> ExplanationJson | None:
    """Return an explanation, where there is one, as a part of an answer."""
    if explanation is None:
        return None
    told = With(
        explanation,
        format=1,
        conflicts=[_conflict(conflict, explanation, source or Source()) for conflict in explanation.conflicts],
        repairs=[_repair(repair, explanation) for repair in explanation.repairs],
        nothing_cheaper=explanation.cheapest if explanation.repairs else None,
    )
    return ExplanationJson.of(told, explanation.instance)


def _conflict(conflict: Conflict, explanation: Explanation, source: Source) -> With:
    told = tell(conflict, explanation.instance)
    statements = [_stated(statement, source) for statement in conflict.statements]
    return With(conflict, text=told.headline, because=[text for _, text in told.because], statements=statements)


def _stated(statement: Statement, source: Source) -> With:
    at = source.problem(statement.path, statement.text)
    return With(statement, where=at.where, pointer=at.pointer, line=at.line or None, column=at.column or None)


def _repair(repair: Repair, explanation: Explanation) -> With:
    text = [change_text(change, explanation.instance.scenario) for change in repair.changes]
    return With(repair, text=text, proven_cheapest=explanation.cheapest and repair.cost == explanation.repairs[0].cost)


def elsewhere_json(found: Elsewhere, source: Source) -> dict[str, Any]:
    """Return every period of a lesson's class as JSON."""

    def place_of(place: Place) -> With:
        reasons = reasons_ranked(place, found.lesson)
        forbidden = [With(one, pointer=source.problem(one.path, "").pointer) for one in reasons]
        settled = place.costs is not None or bool(forbidden) or place.proven
        possible = place.costs is not None if settled else None
        return With(place, date=place.slot.date, period=place.slot.period, possible=possible, forbidden_by=forbidden)

    told = With(
        found,
        **named(found.instance, found.lesson.index),
        aims={aim: found.aims[aim] for aim in found.instance.aims},
        places=[place_of(place) for place in found.places],
    )
    return ElsewhereJson.of(told, found.instance).data()
