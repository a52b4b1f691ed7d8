"""The outlines of all lessons of a sequence: exercises chosen, parts in order, and why not where there is none."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import date, timedelta

from sequencer.errors import UnusableSettings
from sequencer.outlines.exercises import Before, with_exercises
from sequencer.outlines.inside import Inside
from sequencer.outlines.laid_outline import LaidOutline, LessonOutline, laid_outlines
from sequencer.outlines.no_outline import NoOutline, why_no_outline
from sequencer.outlines.outline_aims import AIMS
from sequencer.outlines.outline_search import OutlinesFound, best_outlines
from sequencer.outlines.part_rule import Broken
from sequencer.outlines.part_rules import judged
from sequencer.outlines.settled_parts import insides
from sequencer.plan.sequence import Laid

SOON = timedelta(days=7)

AT_ONCE = 2
"""Lessons that are outlined side by side."""


@dataclass(frozen=True)
class OutlinedLesson:
    """One lesson with its outline, or with why it has none.

    ``values`` are what the aims come to for it; ``broken`` is what of its wishes is not granted, and of its rules, where a
    hand made it, what is broken. ``best`` is the best outline, beside one that a hand made or begun.
    """

    inside: Inside
    laid: LaidOutline | None
    proven: bool
    why_not: NoOutline | None = None
    best: OutlinedLesson | None = None

    @property
    def broken(self) -> list[Broken]:
        """What is not kept."""
        return judged(self.laid) if self.laid is not None else []

    @property
    def values(self) -> dict[str, int]:
        """What each aim comes to."""
        return {aim.name: aim.value(self.laid) for aim in AIMS} if self.laid is not None else {}


@dataclass(frozen=True)
class Outlines:
    """The outlines of a sequence's lessons, class by class in order of time; ``proven`` says whether all are proven best."""

    lessons: tuple[OutlinedLesson, ...]
    proven: bool


@dataclass
class _Known:
    """Outlines worked out already, by lessons that are alike."""

    found: dict[tuple[Inside, ...], OutlinesFound] = field(default_factory=dict)

    def __call__(self, lessons: Sequence[Inside]) -> OutlinesFound:
        key = tuple(inside.alike for inside in lessons)
        if key not in self.found:
            self.found[key] = best_outlines(lessons)
        return self.found[key]


def outline_sequence(
    laid: Laid,
    lesson: str | None = None,
    minutes: int | None = None,
    before: Before | None = None,
    on: date | None = None,
) -> Outlines:
    """Outline the lessons of a sequence that have parts and are still to come.

    Only the ``lesson`` named is told (a class, a colon, and its title, id or unit/id). Periods have ``minutes`` instead of those
    stated, on that day alone where one is given. Exercises in outlines made ``before`` stay in lessons of the first 7 days.

    Raises
    ------
    UnusableSettings
        When there is no such lesson with parts.
    RefereeDisagrees
        When the referee rejects an outline of ours: a defect.
    """
    solve = _Known()
    by_class: dict[str, list[Inside]] = {}
    for inside in insides(laid, minutes, on):
        by_class.setdefault(inside.class_id, []).append(inside)
    scenario = laid.instance.scenario
    soon = _soon(laid, [inside for lessons in by_class.values() for inside in lessons], before or {})

    def of_class(lessons: list[Inside]) -> list[OutlinedLesson]:
        alone = [not any(place in group and len(group) > 1 for group in _joined(lessons)) for place in range(len(lessons))]
        ready, best = with_exercises(scenario, lessons, alone, solve, soon)
        return _outlined(ready, best, solve)

    with ThreadPoolExecutor(AT_ONCE) as threads:
        found = [each for lessons in threads.map(of_class, by_class.values()) for each in lessons]
    return only(found, lesson)


def only(found: Sequence[OutlinedLesson], lesson: str | None) -> Outlines:
    """Outlines of lessons; of one alone where it is named.

    Raises
    ------
    UnusableSettings
        When there is no such lesson with parts.
    """
    if lesson is not None:
        found = [each for each in found if is_meant(each.inside, lesson)]
        if not found:
            raise UnusableSettings([f"there is no lesson {lesson} with parts that is still to come: give CLASS:TITLE"])
    return Outlines(tuple(found), all(each.proven for each in found))


def _soon(laid: Laid, lessons: Sequence[Inside], before: Before) -> Before:
    """What was outlined before of the lessons of the first 7 days, which are copied already: from today, or from the first on."""
    dates = {(each.class_id, each.ref): laid.first_slot(each.lesson).date for each in lessons}
    first = laid.instance.scenario.today or min(dates.values(), default=date.max)
    return {key: parts for key, parts in before.items() if key in dates and dates[key] - first < SOON}


def is_meant(inside: Inside, lesson: str) -> bool:
    """Whether a lesson is the one named: a class, a colon, and the lesson's title, id or unit/id."""
    class_id, _, name = lesson.partition(":")
    names = (inside.title.casefold(), inside.ref.casefold(), inside.ref.partition("/")[2].casefold())
    return inside.class_id.casefold() == class_id.strip().casefold() and name.strip().casefold() in names


def _joined(lessons: Sequence[Inside]) -> list[list[int]]:
    """Positions of lessons that are one model: each may leave something to the next of its unit."""
    groups: list[list[int]] = []
    latest: dict[str, list[int]] = {}
    for place, inside in enumerate(lessons):
        group = latest.get(inside.unit)
        if group is not None and inside.joined and lessons[group[-1]].may_carry:
            group.append(place)
        else:
            groups.append([place])
            latest[inside.unit] = groups[-1]
    return groups


def _outlined(lessons: list[Inside], best: bool, solve: _Known) -> list[OutlinedLesson]:
    outlines: dict[int, LessonOutline] = {}
    proven: dict[int, bool] = {}
    why: dict[int, NoOutline] = {}
    for group in _joined(lessons):
        found = solve([lessons[place] for place in group])
        for place in group:
            each = found
            if not found.outlines and len(group) > 1:  # one of them that has none keeps none of the others from theirs
                each = solve([lessons[place]])
            if each.outlines:
                outlines[place] = each.outlines[group.index(place) if each is found else 0]
            elif each.proven:
                later = [lessons[other] for other in range(place + 1, len(lessons)) if lessons[place].unit == lessons[other].unit]
                why[place] = why_no_outline(lessons[place], later)
            proven[place] = each.proven and (best or not lessons[place].rules["lesson_threads"])
    placed = sorted(outlines)
    laid = dict(
        zip(placed, laid_outlines([lessons[place] for place in placed], [outlines[place] for place in placed]), strict=True)
    )
    return [OutlinedLesson(inside, laid.get(place), proven[place], why.get(place)) for place, inside in enumerate(lessons)]
