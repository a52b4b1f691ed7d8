"""What is asked of one class's starters, settled from its sequence: openings with places, topics with days they are due again.

Openings are the lessons still to be taught, assessments aside. Topics are teach lessons, and what was taught before; not those
for which rule 4 is off. Practice lessons, retrieval lessons and the starters that rule 4 chose meet a topic already: such
meetings stay, and the latter take up places.

A topic is due on the day of the class that lies nearest to each of its distances. A distance that ends before the first opening
is over, and one that ends after the last is for the next plan. What was taught before the first opening is owed one meeting even
if none of its distances ends in time.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from sequencer.instance.facts import ClassFacts, LessonFacts
from sequencer.plan.notices import IN_STARTER, met_again, practised_in
from sequencer.plan.sequence import Laid
from sequencer.scenario.openings_schema import Openings

WORST, FORGOTTEN, PREREQUISITES, OFF, USED = "worst served", "forgotten", "prerequisites not met", "days off", "places used"
STARTER_AIMS = (WORST, FORGOTTEN, PREREQUISITES, OFF, USED)
"""The aims of starters, most important first."""


@dataclass(frozen=True)
class Opening:
    """The start of one lesson: its free places, what rule 4 has put there, which topics the lesson requires."""

    lesson: int
    date: date
    places: int
    kept: tuple[int, ...]
    prerequisites: tuple[int, ...]


@dataclass(frozen=True)
class Due:
    """A day on which a topic is due again, and the distance that it stands for."""

    date: date
    distance: int


@dataclass(frozen=True)
class Topic:
    """Something that was taught and is to be met again.

    ``meetings`` are the days on which practice, retrieval lessons or the starters of rule 4 meet it; of its ``dues`` each lies on
    a day of its own; it is ``owed`` when it is to be met from the first opening on at all.
    """

    lesson: int
    taught: date
    load: int
    meetings: tuple[date, ...]
    dues: tuple[Due, ...]
    owed: bool


@dataclass(frozen=True)
class Question:
    """Which topics each opening of a class is to take. Openings and topics stand in order of time."""

    class_index: int
    openings: tuple[Opening, ...]
    topics: tuple[Topic, ...]
    soonest: int

    def may_meet(self, topic: int, opening: int) -> bool:
        """Whether a topic can be put into a starter: not too soon after it was taught, nor too near to a meeting that stays."""
        day, asked = self.openings[opening].date, self.topics[topic]
        if not self.openings[opening].places or (day - asked.taught).days < self.soonest:
            return False
        return all(abs((day - meeting).days) >= self.soonest for meeting in asked.meetings)


@dataclass(frozen=True)
class Assigned:
    """A topic put into an opening: positions in ``Question.topics`` and ``Question.openings``."""

    topic: int
    opening: int


def question(laid: Laid, facts: ClassFacts) -> Question:
    """What is asked of the starters of one class, the only one that need be looked at in ``laid``."""
    scenario = laid.instance.scenario
    stated = scenario.classes[facts.index].openings or scenario.openings or Openings()
    lessons = [lesson for lesson in laid.in_order(facts.index) if lesson.delivered is None and lesson.kind != "assessment"]
    taught = _taught(laid, facts)
    place = {lesson.index: number for number, lesson in enumerate(taught)}
    again = met_again(laid)
    requires: dict[int, set[int]] = {}
    for follows in laid.instance.follows:
        if follows.demands_placement:
            requires.setdefault(follows.after, set()).add(follows.before)
    openings = []
    for lesson in lessons:
        kept = tuple(met.lesson for met in again.get(lesson.index, ()) if met.how == IN_STARTER)
        required = requires.get(lesson.index, set())
        openings.append(
            Opening(
                lesson.index,
                laid.date(lesson.index),
                max(0, stated.places - len(kept)),
                kept,
                tuple(place[index] for index in sorted(required & place.keys(), key=place.__getitem__)),
            )
        )
    met = _meetings(laid)
    topics = tuple(_topic(laid, lesson, stated, openings, met.get(lesson.index, set())) for lesson in taught)
    return Question(facts.index, tuple(openings), topics, stated.soonest)


def _taught(laid: Laid, facts: ClassFacts) -> list[LessonFacts]:
    """Teach lessons of the class by date; of one that was part-taught, or needs another, what was taught last stands for all."""
    last: dict[tuple[str, str], LessonFacts] = {}
    for index in (*facts.earlier, *facts.lessons):
        lesson = laid.instance.lessons[index]
        if lesson.kind == "teach" and lesson.may_return and laid.placed(index):
            last[lesson.unit, lesson.role] = lesson
    return sorted(last.values(), key=lambda lesson: (laid.date(lesson.index), laid.pos(lesson.index), lesson.index))


def _meetings(laid: Laid) -> dict[int, set[date]]:
    """The days on which practice, retrieval lessons and starters of rule 4 meet each lesson."""
    found: dict[int, set[date]] = {}
    for index, meeting in laid.met_in.items():
        found.setdefault(index, set()).update(laid.date(by) for by in meeting)
    for by, practised in practised_in(laid).items():
        for index in practised:
            found.setdefault(index, set()).add(laid.date(by))
    return found


def _topic(laid: Laid, lesson: LessonFacts, stated: Openings, openings: list[Opening], met: set[date]) -> Topic:
    taught = laid.date(lesson.index)
    meetings = tuple(sorted(day for day in met if day > taught))
    distances = sorted({*stated.distances, *(stated.heavier if lesson.high_load else ())})
    first_day = taught + timedelta(stated.soonest)
    days = sorted({opening.date for opening in openings if opening.places and opening.date >= first_day} | set(meetings))
    dues: dict[date, Due] = {}
    for distance in distances if days else ():
        wanted = taught + timedelta(distance)
        if openings[0].date <= wanted <= openings[-1].date:
            nearest = min(days, key=lambda day: (abs((day - wanted).days), day))
            dues.setdefault(nearest, Due(nearest, distance))
    earlier = bool(openings) and taught < openings[0].date
    return Topic(
        lesson.index, taught, lesson.load, meetings, tuple(dues[day] for day in sorted(dues)), owed=bool(dues) or earlier
    )  # fmt: skip
