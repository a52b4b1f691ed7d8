"""What a check answers on request beside its verdict, as JSON: the aims beside the best, and how a part is completed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sequencer.questions.explaining.completing import Completion
from sequencer.questions.solve import Answer
from sequencer.render.answer import answer_json, breach_json
from sequencer.render.explained import explanation_json


def beside_json(aims: Mapping[str, int], best: Answer) -> list[dict[str, Any]]:
    """Each aim of a sequence, and what the best sequence has; empty where there is none."""
    if best.sequence is None:
        return []
    return [{"aim": aim.aim, "value": aims[aim.aim], "best": aim.value, "proven": aim.proven} for aim in best.aims]


def completion_json(found: Completion) -> dict[str, Any]:
    """Whether a sequence can be completed (null: not settled in time), and how, or what keeps it from being so."""
    done = found.answer is not None and found.answer.sequence is not None and not found.breaches
    settled = done or bool(found.breaches) or found.answer is None or found.answer.status == "infeasible"
    return {
        "possible": done if settled else None,
        "at_odds": found.answer is None,
        "lessons": answer_json(found.answer)["lessons"] if done and found.answer is not None else [],
        "breaches": [breach_json(found.answer.instance, breach) for breach in found.breaches] if found.answer is not None else [],
        "explanation": explanation_json(found.explanation) if found.explanation is not None else None,
    }
