"""What is left to be met again: windows that go on in the new term, and where each lesson is met."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sequencer.instance.resolve import Resolved
from sequencer.next_term.rolling.standing import ClassStanding, Key
from sequencer.plan.outcomes import CARRIED
from sequencer.scenario.class_schema import TeachingClass
from sequencer.scenario.patterns import pattern_of
from sequencer.scenario.schema import Scenario
from sequencer.scenario.unit_schema import Unit

CATCH_UP = 13
"""Whatever was carried over may be met for two weeks from the class's first day: no window closes while school is out."""

MOST_DAYS = 800
TOGETHER = 3
"""How many lessons a retrieval lesson meets again that is listed for what was carried over."""


@dataclass(frozen=True)
class Window:
    """Dates on which a lesson is to be met again."""

    key: Key
    first: date
    last: date


def numbers_left(standing: ClassStanding, index: int, resumes: date) -> tuple[dict[str, Any], list[tuple[date, date]]]:
    """The retrieval rule of a lesson of which some time to be met again was carried over, and the windows it asks for.

    Those that took place are not asked for again. No window that goes on opens before the class meets again (what was met in
    the old term does not count twice), and none closes sooner than it would have without the days between the terms.
    """
    laid, lesson = standing.laid, standing.laid.instance.lessons[index]
    taught = laid.date(index)
    slots = standing.facts.slots
    away = max(0, (resumes - slots[-1].date).days) if slots else 0
    open_from = (resumes - taught).days
    found: list[dict[str, Any]] = []
    windows: list[tuple[date, date]] = []
    before = None
    for outcome, numbers in zip(standing.retrievals[index], lesson.retrievals, strict=True):
        if outcome.state != CARRIED:
            before = outcome
            continue
        if numbers.chained and before is not None and before.state == CARRIED and found:
            days = {"least": numbers.least, "most": numbers.most, "preferred": numbers.preferred}
            found.append(days | {"counted_from": "retrieval before"})
            start, end = windows[-1]
            windows.append((start + timedelta(numbers.least), end + timedelta(numbers.most)))
        else:
            chained = numbers.chained and before is not None and before.by is not None
            since = (laid.date(before.by) - taught).days if chained and before is not None and before.by is not None else 0
            most = min(MOST_DAYS, max(numbers.most + since + away, open_from + CATCH_UP))
            least = min(most, max(numbers.least + since, open_from))
            preferred = min(max(numbers.preferred + since, least), most)
            found.append({"least": least, "most": most, "preferred": preferred})
            windows.append((taught + timedelta(least), taught + timedelta(most)))
        before = outcome
    rule = found[0]
    if len(lesson.retrievals) > 1 or _then_is_stated(standing):
        rule["then"] = found[1:]
    return rule, windows


def _then_is_stated(standing: ClassStanding) -> bool:
    wide = (standing.laid.instance.scenario.rules, standing.class_.rules)
    return any(rules is not None and rules.retrieval is not None and rules.retrieval.then is not None for rules in wide)


def can_choose(scenario: Scenario, class_: TeachingClass, units: dict[str, Unit]) -> bool:
    """Whether the units that come next give the class room to meet again what the sequence chooses."""
    later = [units[unit] for unit in class_.later_units]
    if later and wide_starters(scenario, class_):
        return True
    for unit in later:
        pattern = pattern_of(scenario, unit)
        if pattern is not None and pattern.retrieval is not None:
            return True
        if any((lesson.room or 0) > len(lesson.revisits) for lesson in unit.lessons):
            return True
    return False


def wide_starters(scenario: Scenario, class_: TeachingClass) -> bool:
    """Whether the starters of all the class's lessons meet earlier ones again, whatever its units."""
    rules = Resolved(scenario.rules, class_.rules)
    return rules.on("starters") and rules.whole("starters", "most", 0) > 0


def grouped(windows: list[Window]) -> list[list[Key]]:
    """Lessons that one retrieval lesson can meet again together: some date lies in the windows of all."""
    groups: list[tuple[list[Key], date, date]] = []
    for window in sorted(windows, key=lambda window: (window.last, window.first)):
        for place, (keys, first, last) in enumerate(groups):
            narrowed = max(first, window.first), min(last, window.last)
            # A week in common, so that the class meets in it.
            if len(keys) < TOGETHER and window.key not in keys and (narrowed[1] - narrowed[0]).days >= 7:
                groups[place] = ([*keys, window.key], *narrowed)
                break
        else:
            groups.append(([window.key], window.first, window.last))
    return [keys for keys, _, _ in groups]
