"""Checks across entries: what a scenario's parts say about one another.

They run on the plain data beside the schema's own checks, so that one reading reports both. Each is a function that is
given the outline and adds to the findings; parts of the wrong type read as absent (``entries.py``).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import Suggestions
from sequencer.scenario.references.calendar_entries import CALENDAR_CHECKS
from sequencer.scenario.references.circles import ORDER_CHECKS
from sequencer.scenario.references.entries import Finding, Findings
from sequencer.scenario.references.lesson_entries import LESSON_CHECKS
from sequencer.scenario.references.met_again import RETRIEVAL_CHECKS
from sequencer.scenario.references.names import NAME_CHECKS
from sequencer.scenario.references.offered_and_counted import CARRIED_CHECKS
from sequencer.scenario.references.outline import MOST_LESSONS, Outline
from sequencer.scenario.references.part_entries import PART_CHECKS
from sequencer.scenario.references.recorded import RECORD_CHECKS
from sequencer.scenario.references.rule_numbers_left import RULE_CHECKS
from sequencer.scenario.references.timetables import TIMETABLE_CHECKS
from sequencer.scenario.schema import MOST_WHAT_IFS

MOST_CLASSES = 500
"""No sequence of that many could be worked out."""

ENOUGH = 1_000
"""Findings after which no further check is made: no more problems than half of them are listed anyway."""

CHECKS: tuple[Callable[[Outline, Findings], None], ...] = (
    *NAME_CHECKS,
    *CARRIED_CHECKS,
    *CALENDAR_CHECKS,
    *TIMETABLE_CHECKS,
    *LESSON_CHECKS,
    *ORDER_CHECKS,
    *RULE_CHECKS,
    *RETRIEVAL_CHECKS,
    *RECORD_CHECKS,
    *PART_CHECKS,
)


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
