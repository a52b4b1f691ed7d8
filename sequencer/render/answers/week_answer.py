"""A week of a term, as JSON: the term afterwards, what moved, and what was said."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, PlainSerializer

from sequencer.next_term.term import PlanChange, WholeTerm, term_data
from sequencer.next_term.week_of_term import WeekDone
from sequencer.render.answers.base import FormatNumber, Json
from sequencer.render.answers.plan import AnswerJson, answer_json
from sequencer.render.answers.replan import ReplannedJson, replanned_json
from sequencer.render.answers.why import explanation_json
from sequencer.render.explained import Source
from sequencer.scenario.written import model_data

WrittenTerm = Annotated[WholeTerm, PlainSerializer(term_data)]
WrittenPlanChange = Annotated[PlanChange, PlainSerializer(lambda change: model_data(change))]


class WeekJson(Json):
    """What became of a term in a week."""

    format: FormatNumber = Field(description="Version of this form.")
    done: Literal["planned", "planned again", "nothing", "undone", "no sequence", "none found"] = Field(
        description="The first plan was made, or the plan again; nothing happened and nothing was changed; the week before was "
        "brought back; no sequence exists, or none was found in the time."
    )
    term: WrittenTerm = Field(description="The term afterwards; where nothing was planned or undone, as it was.")
    changed: list[WrittenPlanChange] = Field(description="The lessons that moved, fell away or are new.")
    said: list[str] = Field(description="What was done, in sentences.")
    answer: ReplannedJson | AnswerJson | None = Field(
        description="The plan made again, or the first one, as a sequence is answered; null where nothing was looked for."
    )


def week_json(week: WeekDone, source: Source | None = None) -> dict[str, Any]:
    """Return what became of a term, as JSON, with the places of statements in the text that the scenario was read from."""
    answer = None
    if week.again is not None:
        answer = replanned_json(week.again, source)
    elif week.answer is not None:
        why = explanation_json(week.explanation, source) if week.explanation is not None else None
        answer = answer_json(week.answer, why)
    changed = [model_data(each) for each in week.changed]
    told = {"format": 1, "done": week.done, "term": term_data(week.term), "changed": changed}
    return {**told, "said": list(week.said), "answer": answer}
