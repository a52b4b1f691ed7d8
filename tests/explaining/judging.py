"""An explanation judged from outside: every question is asked of a whole solve, of plain data that is edited here.

Nothing is taken from the search that found the conflicts: not its way of taking statements away, nor its way of asking.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from sequencer import Explanation, Scenario, SolveSettings, Statement, apply_changes, solve
from sequencer.questions.explaining.statements import take_apart
from sequencer.scenario.changes.edits import GONE
from sequencer.scenario.guards import with_tuples

SECONDS = 30.0


@dataclass(frozen=True)
class Judged:
    """What an explanation is worth.

    Parameters
    ----------
    not_minimal
        Conflicts that are none, or of which a statement could be taken away; in words.
    not_proved
        Conflicts that the explanation itself does not call proven.
    failing
        Repairs that do not give a sound sequence.
    left
        Whether the scenario without the statements of all conflicts is impossible still.
    """

    not_minimal: tuple[str, ...]
    not_proved: int
    failing: tuple[int, ...]
    left: bool


def judged(scenario: Scenario, explanation: Explanation) -> Judged:
    """Every conflict taken apart, every repair made and solved."""
    stated = take_apart(scenario)
    plain = stated.spread.model_dump(mode="json", by_alias=True, exclude_unset=True)
    everything = stated.statements
    wrong = []
    for number, conflict in enumerate(explanation.conflicts):
        kept = {statement.key for statement in conflict.statements}
        others = [statement for statement in everything if statement.key not in kept]
        if has_sequence(taken_away(plain, others)):
            wrong.append(f"conflict {number} is none")
        for statement in conflict.statements:
            if not has_sequence(taken_away(plain, [*others, statement])):
                wrong.append(f"conflict {number} does not need {statement.text}")
    all_of_them = [statement for conflict in explanation.conflicts for statement in conflict.statements]
    failing = []
    for number, repair in enumerate(explanation.repairs):
        answer = solve(apply_changes(scenario, repair.changes), SolveSettings(seconds=SECONDS / 10))
        if answer.sequence is None or answer.verdict is None or not answer.verdict.sound:
            failing.append(number)
    return Judged(
        tuple(wrong),
        sum(not conflict.proven for conflict in explanation.conflicts),
        tuple(failing),
        not has_sequence(taken_away(plain, all_of_them)),
    )


def has_sequence(data: dict[str, Any]) -> bool:
    """Whether a whole solve finds one; that it runs out of time is a failure."""
    answer = solve(Scenario.model_validate(with_tuples({**data, "aims": []})), SolveSettings(seconds=SECONDS))
    assert answer.status != "unknown", "time ran out"
    return answer.sequence is not None


def taken_away(plain: dict[str, Any], statements: list[Statement]) -> dict[str, Any]:
    """The plain data without some statements."""
    edits = {edit.path: edit.value for statement in statements for edit in statement.edits}
    edited: dict[str, Any] = _walk(plain, (), edits)
    return edited


def _walk(node: Any, path: tuple[Any, ...], edits: dict[tuple[Any, ...], Any]) -> Any:
    if isinstance(node, dict):
        keys = [*node, *(edit[-1] for edit in edits if edit[:-1] == path and edit[-1] not in node)]
        walked = {key: _part(node.get(key), (*path, key), edits) for key in keys}
        return {key: value for key, value in walked.items() if value is not GONE}
    if isinstance(node, list):
        items = [_part(value, (*path, place), edits) for place, value in enumerate(node)]
        return [value for value in items if value is not GONE]
    return node


def _part(value: Any, path: tuple[Any, ...], edits: dict[tuple[Any, ...], Any]) -> Any:
    return _plain(edits[path]) if path in edits else _walk(value, path, edits)


def _plain(value: Any) -> Any:
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json", by_alias=True, exclude_unset=True)
    return [_plain(entry) for entry in value] if isinstance(value, tuple) else value
