"""A check as JSON: the verdict, the aims beside the best, and how a part is completed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import Field

from sequencer.plan.sequence import Laid
from sequencer.questions.explaining.completing import Completion
from sequencer.questions.solve import Answer
from sequencer.render.answers.base import BreachJson, Json, VerdictJson
from sequencer.render.answers.plan import PlacedLessonJson, placed_lessons
from sequencer.render.answers.why import ExplanationJson, explained
from sequencer.words import INFEASIBLE


class BesideAimJson(Json):
    """An aim of the sequence, and of the best one."""

    aim: str = Field(description="Name of the aim.")
    value: int = Field(description="As the sequence given has it.")
    best: int = Field(description="As the best sequence found has it.")
    proven: bool = Field(description="Whether that is proven best.")


class CompletionJson(Json):
    """Whether what was given can be completed, each lesson where it lies."""

    possible: bool | None = Field(description="Whether it can; null when that was not settled in time.")
    at_odds: bool = Field(description="Whether a lesson is given twice, or for a period in which its class does not meet.")
    lessons: list[PlacedLessonJson] = Field(description="The best way to complete it; empty where there is none.")
    breaches: list[BreachJson] = Field(
        description="Rules that the lessons break where they are given, whatever is placed beside them."
    )
    explanation: ExplanationJson | None = Field(
        description="What keeps it from being completed; places are those within the scenario, the dates given among them."
    )


class CheckedJson(VerdictJson):
    """The referee's judgement of a sequence and, on request, what could come of it."""

    beside_best: list[BesideAimJson] | None = Field(None, description="With `best`; empty where no best sequence was found.")
    completion: CompletionJson | None = Field(None, description="With `complete`.")


def beside_json(aims: Mapping[str, int], best: Answer) -> list[dict[str, Any]]:
    """Return each aim of a sequence, and what the best sequence has, as JSON; empty where there is none."""
    if best.sequence is None:
        return []
    return [BesideAimJson(aim=aim.aim, value=aims[aim.aim], best=aim.value, proven=aim.proven).data() for aim in best.aims]


def completion_json(found: Completion) -> dict[str, Any]:
    """Return whether a sequence can be completed (null: not settled in time), and how, or what prevents that, as JSON."""
    answer = found.answer
    sequence = answer.sequence if answer is not None and not found.breaches else None
    settled = sequence is not None or bool(found.breaches) or answer is None or answer.status == INFEASIBLE
    parts = {
        "possible": sequence is not None if settled else None,
        "at_odds": answer is None,
        "lessons": placed_lessons(Laid(answer.instance, sequence)) if answer is not None and sequence is not None else (),
        "breaches": found.breaches if answer is not None else (),
        "explanation": explained(found.explanation),
    }
    return CompletionJson.of(parts, answer.instance if answer is not None else None).data()
