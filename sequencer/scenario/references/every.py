"""Checks across entries: what a scenario's parts say about one another.

They run on the plain data beside the schema's own checks, so that one reading reports both. Each is a function that is given the
outline and adds to the findings, found in its module by that; parts of the wrong type read as absent (``entries.py``).
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from types import ModuleType
from typing import Any

from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import Suggestions
from sequencer.scenario.references import (
    calendar_entries,
    circles,
    lesson_entries,
    met_again,
    names,
    offered_and_counted,
    part_entries,
    recorded,
    rule_numbers_left,
    timetables,
)
from sequencer.scenario.references.entries import Finding, Findings
from sequencer.scenario.references.outline import MOST_LESSONS, Outline
from sequencer.scenario.schema import MOST_WHAT_IFS

MOST_CLASSES = 500
"""No sequence of that many could be worked out."""

ENOUGH = 1_000
"""Findings after which no further check is made: no more problems than half of them are listed anyway."""

Check = Callable[[Outline, Findings], None]

_MODULES = (
    names, offered_and_counted, calendar_entries, timetables, lesson_entries, circles, rule_numbers_left, met_again, recorded,
    part_entries,
)  # fmt: skip
"""Those that hold checks, in the order in which these are made."""


def checks_of(module: ModuleType) -> Iterator[Check]:
    """The checks that a module makes, in its order: its functions that are given the outline and the findings."""
    for name, check in vars(module).items():
        own = inspect.isfunction(check) and check.__module__ == module.__name__ and not name.startswith("_")
        if own and [*inspect.signature(check).parameters] == ["outline", "findings"]:
            yield check


CHECKS = tuple(check for module in _MODULES for check in checks_of(module))


def reference_findings(data: Any, suggestions: Suggestions, limits: Limits = NO_LIMITS) -> tuple[Finding, ...]:
    """Everything the checks across entries find, each once.

    Raises
    ------
    BeyondLimit
        When there is more of something than the limits allow; nothing is looked at further then.
    """
    outline = Outline.of(data)
    findings = Findings(suggestions)
    lessons = sum(len(outline.lessons_of[unit_id]) for taken in outline.units_of.values() for unit_id in taken)
    limits.require("classes", len(outline.classes), "classes")
    limits.require("lessons", lessons, "lessons over all classes")
    # Also those that no class takes, since the checks visit each.
    limits.require("lessons", sum(max(1, len(listed)) for listed in outline.lessons_of.values()), "lessons over all units")
    what_ifs = len(outline.root["what_ifs"].listed())
    if what_ifs <= MOST_WHAT_IFS:  # no scenario may have more, wherever it is read
        limits.require("what_ifs", what_ifs, "what-ifs")
    if len(outline.classes) > MOST_CLASSES:
        findings.add((), f"has {len(outline.classes):,} classes; at most {MOST_CLASSES:,} can be planned together")
    if lessons > MOST_LESSONS:
        findings.add((), f"has {lessons:,} lessons over all classes; at most {MOST_LESSONS:,} can be planned together")
    if not findings.found:
        for check in CHECKS:
            check(outline, findings)
            if len(findings.found) > ENOUGH:
                break
    return tuple(dict.fromkeys(findings.found))
