"""Which points of a specification a sequence teaches, practises, meets again and assesses, and when; plain Python.

A teach lesson teaches the points it covers, a practice lesson practises its own and those of what it practises, a retrieval
lesson or a starter meets again those of what it revisits, and an assessment assesses its own. Writing that a pattern made
assesses what its unit teaches. Homework that serves as practice practises the points of its lesson on the day it is due. The
starters of rule 4 are part of the sequence and count; those assigned to it afterwards count where they are given.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from sequencer.instance.facts import LessonFacts
from sequencer.plan.notices import homework_of, met_again, practised_in
from sequencer.plan.sequence import Laid
from sequencer.questions.lists.starters.assign import Starters
from sequencer.scenario.coverage_schema import Specification, SpecificationPoint

TAUGHT, PRACTISED, RETRIEVED, ASSESSED = "taught", "practised", "met again", "assessed"
WAYS = (TAUGHT, PRACTISED, RETRIEVED, ASSESSED)

_WAY_OF_KIND = {"teach": TAUGHT, "practice": PRACTISED, "retrieval": RETRIEVED, "assessment": ASSESSED}


@dataclass(frozen=True)
class Met:
    """A lesson in which a point is met, and the day."""

    date: date
    lesson: int


@dataclass(frozen=True)
class PointCoverage:
    """One point for one class: where it is met, in each way, in order of time."""

    point: SpecificationPoint
    met: dict[str, tuple[Met, ...]]

    @property
    def never(self) -> bool:
        """Whether it is met in no way."""
        return not any(self.met.values())


@dataclass(frozen=True)
class ClassCoverage:
    """One specification for one class that follows it."""

    class_index: int
    specification: Specification
    points: tuple[PointCoverage, ...]


def coverage(laid: Laid, starters: Iterable[Starters] | None = None) -> tuple[ClassCoverage, ...]:
    """Every specification for every class that follows it, class by class; what is met again in starters assigned counts too."""
    found = []
    opened = {each.question.class_index: each for each in starters or ()}
    for facts in laid.classes:
        meetings: dict[tuple[str, str], set[tuple[date, int]]] = {}
        for code, way, day, lesson in _meetings(Laid(laid.instance, laid.sequence, (facts.index,))):
            meetings.setdefault((code, way), set()).add((day, lesson))
        for code, day, lesson in _met_in_starters(laid, opened[facts.index]) if facts.index in opened else ():
            meetings.setdefault((code, RETRIEVED), set()).add((day, lesson))
        for specification in laid.instance.scenario.specifications:
            if not specification.classes or facts.id in specification.classes:
                points = tuple(
                    PointCoverage(
                        point,
                        {way: tuple(Met(*each) for each in sorted(meetings.get((point.code, way), ()))) for way in WAYS},
                    )
                    for point in specification.points
                )
                found.append(ClassCoverage(facts.index, specification, points))
    return tuple(found)


def _meetings(laid: Laid) -> Iterator[tuple[str, str, date, int]]:
    """Every meeting of a point with one class, as (code, way, day, lesson)."""
    lessons = laid.instance.lessons
    again, practised = met_again(laid), practised_in(laid)
    for lesson in laid.taught_so_far():
        day = laid.date(lesson.index)
        own = _WAY_OF_KIND.get(lesson.kind)
        for code in lesson.covers if own is not None else ():
            yield code, own or "", day, lesson.index
        for way, others in (
            (PRACTISED, practised.get(lesson.index, ())),
            (RETRIEVED, tuple(met.lesson for met in again.get(lesson.index, ()))),
            (ASSESSED, lesson.made_for if lesson.made == "writing" and lesson.kind == "assessment" else ()),
        ):
            for code in _codes(lessons[other] for other in others if laid.placed(other)):
                yield code, way, day, lesson.index
        homework = homework_of(laid, lesson) if not lesson.earlier else None
        if homework is not None and homework.serves and homework.due is not None:
            for code in lesson.covers:
                yield code, PRACTISED, homework.due, lesson.index


def _met_in_starters(laid: Laid, starters: Starters) -> Iterator[tuple[str, date, int]]:
    """Every meeting of a point in a starter that was assigned, as (code, day, lesson that opens with it)."""
    asked = starters.question
    for each in starters.assigned:
        opening = asked.openings[each.opening]
        for code in laid.instance.lessons[asked.topics[each.topic].lesson].covers:
            yield code, opening.date, opening.lesson


def _codes(lessons: Iterable[LessonFacts]) -> dict[str, None]:
    return dict.fromkeys(code for lesson in lessons for code in lesson.covers)
