"""A new plan held to the language: what its parts say wrongly about one another is left out and listed."""

from __future__ import annotations

from typing import Any

from sequencer.errors import Problem, UnusableInput
from sequencer.instance.load import scenario_from_data
from sequencer.scenario.places import Path, Suggestions, where_text
from sequencer.scenario.references.every import reference_findings
from sequencer.scenario.schema import Scenario

_AS_A_WHOLE = ("live_quotas", "strands", "teachers", "caps", "threads", "taught_before", "record")
"""Lists whose entries go as a whole: without one of their keys they would say something else."""

_NEVER = ("id", "kind", "units", "lessons", "timetable", "classes", "term", "format")


def settled(data: dict[str, Any], misfits: list[str]) -> Scenario:
    """The scenario, once everything has been left out that does not fit what is there.

    Raises
    ------
    UnusableInput
        When something does not fit that cannot be left out.
    """
    while True:
        findings = reference_findings(data, Suggestions())
        if not findings:
            return scenario_from_data(data)
        targets = {_target(find.path): find for find in findings}
        if None in targets:
            raise UnusableInput(tuple(Problem(where_text(find.path), find.message) for find in findings))
        # From the end, so that places in lists stay what they were.
        for path in sorted((path for path in targets if path is not None), key=_sortable, reverse=True):
            find = targets[path]
            value = _removed(data, path)
            misfits.append(f"{where_text(find.path)}{_said(value)}: left out, since it {find.message}")


def _target(path: Path) -> Path | None:
    """What goes when something is wrong at a place."""
    for number, part in enumerate(path[:-1]):
        if part in _AS_A_WHOLE and isinstance(path[number + 1], int):
            return path[: number + 2]
    entry = path.index("lessons") + 2 if "lessons" in path else 2 if path[:1] in (("units",), ("classes",)) else 0
    if len(path) <= entry:
        return None
    if path[0] == "restricted_days":
        return path[:2]
    key = next((part for part in reversed(path) if isinstance(part, str)), "")
    return None if key in _NEVER else path


def _sortable(path: Path) -> tuple[tuple[int, str], ...]:
    return tuple((part, "") if isinstance(part, int) else (-1, part) for part in path)


def _removed(data: Any, path: Path) -> Any:
    above, holders = data, []
    for part in path[:-1]:
        holders.append((above, part))
        above = above[part]
    value = above.pop(path[-1])
    for holder, part in reversed(holders):
        if holder[part] != {} or not isinstance(holder, dict):
            break
        del holder[part]
    return value


def _said(value: Any) -> str:
    """What stood there, when it is short."""
    if isinstance(value, dict):
        text = ", ".join(f"{key}: {inner}" for key, inner in value.items() if not isinstance(inner, dict | list))
        return f" ({text})" if text else ""
    return f" ({value})" if isinstance(value, str | int) else ""
