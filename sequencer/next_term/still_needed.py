"""What the new plan still needs of the old term: lessons that stay, class by class, and windows in which some are met again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sequencer.instance.resolve import Resolved
from sequencer.next_term.standing import GONE, OPEN, TAUGHT, ClassStanding, Key
from sequencer.plan.outcomes import CARRIED
from sequencer.scenario.class_schema import TeachingClass
from sequencer.scenario.patterns import pattern_of
from sequencer.scenario.schema import Scenario
from sequencer.scenario.unit_schema import Lesson, Requirement, Unit
from sequencer.words import BEFORE

SERVING = {"practice": "practises", "retrieval": "revisits", "feedback": "answers"}
"""What a lesson of a kind must name."""


CATCH_UP = 13
"""Whatever was carried over may be met for two weeks from the class's first day: no window closes while school is out."""

MOST_DAYS = 800
TOGETHER = 3
"""How many lessons a retrieval lesson meets again that is listed for what was carried over."""


class Kept:
    """The lessons that stay in their units, and which of the classes that go on still takes which of these units."""

    def __init__(self, scenario: Scenario, standings: list[ClassStanding], tail: date) -> None:
        self.standings = standings
        self.later = {unit for standing in standings for unit in standing.class_.later_units}
        """Units that are new to some class: they stay whole."""
        self.takes: dict[str, set[str]] = {standing.class_.id: set() for standing in standings}
        self.keys: set[Key] = set()
        self.topics: dict[str, set[str]] = {standing.class_.id: set() for standing in standings}
        """What was taught before the old term and is named by lessons that stay."""
        for standing in standings:
            for each in standing.lessons.values():
                if each.key[0] != BEFORE and self._matters(standing, each.key, tail):
                    self._add(standing, each.key)
        self._close(scenario)

    def of_class(self, class_id: str, key: Key) -> bool:
        """Whether the class still has the lesson in its units."""
        return key[0] in self.takes[class_id] and (key in self.keys or key[0] in self.later)

    def takers(self, unit: str) -> list[ClassStanding]:
        """The classes that still take a unit of the old term."""
        return [standing for standing in self.standings if unit in self.takes[standing.class_.id]]

    def is_open(self, key: Key) -> bool:
        """Whether some class has still to be taught the lesson."""
        return any(standing.lessons[key].state == OPEN for standing in self.takers(key[0]) if key in standing.lessons)

    def _matters(self, standing: ClassStanding, key: Key, tail: date) -> bool:
        each = standing.lessons[key]
        if each.state == OPEN:
            return True
        taught = [part for part in each.parts if standing.laid.placed(part.index)]
        if any(standing.laid.date(part.index) >= tail for part in taught):
            return True
        if each.state != TAUGHT or each.facts.in_step is None:
            return False
        others = (other.lessons.get(key) for other in self.standings)
        return any(other is not None and other.state == OPEN for other in others)

    def _add(self, standing: ClassStanding, key: Key) -> bool:
        if key[0] == BEFORE:
            known = self.topics[standing.class_.id]
            new = key[1] not in known
            known.add(key[1])
            return new
        new = key not in self.keys or key[0] not in self.takes[standing.class_.id]
        self.keys.add(key)
        self.takes[standing.class_.id].add(key[0])
        return new

    def _close(self, scenario: Scenario) -> None:
        """Keep what the kept lessons, and those of later units, still name."""
        units = {unit.id: unit for unit in scenario.units}
        growing = True
        while growing:
            growing = False
            for standing in self.standings:
                for lesson_key, lesson in self._lessons_of(standing):
                    for target in self._named(standing, lesson_key, lesson):
                        growing = self._add(standing, target) or growing
                for unit_id in standing.class_.later_units:
                    for lesson in units[unit_id].lessons:
                        for ref in still_named(lesson):
                            named = standing.find(ref, unit_id)
                            if named is not None and standing.lessons[named].state != GONE:
                                growing = self._add(standing, named) or growing

    def _lessons_of(self, standing: ClassStanding) -> list[tuple[Key, Lesson]]:
        takes = self.takes[standing.class_.id]
        keys = sorted(self.keys) + [key for key in standing.lessons if key[0] in self.later and key not in self.keys]
        return [(key, standing.lessons[key].lesson) for key in keys if key[0] in takes and key in standing.lessons]

    def _named(self, standing: ClassStanding, key: Key, lesson: Lesson) -> Iterator[Key]:
        """What a lesson names and must go on naming."""
        refs = list(still_named(lesson)) if self.is_open(key) or key[0] in self.later else []
        targets = [target for ref in refs if (target := standing.find(ref, key[0])) is not None]
        yield from (target for target in targets if standing.lessons[target].state != GONE)
        if not refs and lesson.kind in SERVING:
            # A lesson that was taught names one of those that it served, or it would be none of its kind.
            served = self.served(standing, key)
            if served and not any(target in self.keys for target in served):
                yield served[-1]

    def served(self, standing: ClassStanding, key: Key) -> list[Key]:
        """The lessons of its unit, or of others, that a taught lesson names or, where a pattern made it, met or practised."""
        each = standing.lessons[key]
        named = [standing.find(ref, key[0]) for ref in getattr(each.lesson, SERVING[each.lesson.kind])]
        if each.parts and each.lesson.kind == "retrieval":
            parts = {part.index for part in each.parts}
            met_here = [index for index, met in standing.laid.met_in.items() if not parts.isdisjoint(met)]
            named += [standing.key_of[index] for index in met_here if index in standing.key_of]
        found = [target for target in named if target is not None and standing.lessons[target].state == TAUGHT]
        own = [target for target in found if target[0] == key[0]]
        return list(dict.fromkeys(own or [target for target in found if target[0] != BEFORE]))


def still_named(lesson: Lesson) -> Iterator[str]:
    """What a lesson that is still to be taught names, where what is named must be known for more than that it came before."""
    yield from (*lesson.practises, *lesson.answers, *lesson.revisits, *lesson.starter)
    yield from (requirement.lesson for requirement in lesson.requires if has_window(requirement))


def has_window(requirement: Requirement) -> bool:
    """Whether a requirement says more than that one lesson comes before the other."""
    return len(requirement.model_dump(exclude_defaults=True)) > 1


@dataclass(frozen=True)
class OpenWindow:
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
    numbers = rules.numbers("starters")
    return numbers is not None and bool(numbers.most)


def grouped(windows: list[OpenWindow]) -> list[list[Key]]:
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
