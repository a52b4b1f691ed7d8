"""What is told of one class's starters: what each lesson opens with, how long ago that was, and what is not met when due."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from sequencer.questions.lists.starters.assign import Starters
from sequencer.questions.lists.starters.question import Due
from sequencer.questions.lists.starters.starter_referee import is_forgotten, nearest
from sequencer.scenario.school_weeks import monday_of

LAST_LESSON, THIS_WEEK, LAST_WEEK, WEEKS_AGO = "last topic", "this week", "last week", "{} weeks ago"
THIS_TERM, EARLIER_TERM, EARLIER_YEAR = "this term", "earlier term", "earlier year"

FORTNIGHT = timedelta(days=14)
"""What was taught longer ago is not called the last topic, whatever came between."""

YEAR_BEGINS = 9
"""The month in which a school year begins."""


@dataclass(frozen=True)
class OpensWith:
    """A topic that a lesson opens with, when and how long before it was taught; the lesson may require it, or rule 4 put it."""

    lesson: int
    taught: date
    days: int
    when: str
    required: bool
    kept: bool


@dataclass(frozen=True)
class NotMet:
    """A topic that is not met on the day it is due, the nearest day on which it is met (None: not again), and how far off."""

    topic: int
    due: Due
    met: date | None
    off: int


def opens_with(starters: Starters, opening: int, term_begins: date) -> tuple[OpensWith, ...]:
    """What a lesson opens with: what it requires first, then what was taught last."""
    asked = starters.question
    here = asked.openings[opening]
    required = {asked.topics[topic].lesson for topic in here.prerequisites}
    chosen = {asked.topics[each.topic].lesson for each in starters.assigned if each.opening == opening}
    last = max((topic.taught for topic in asked.topics if topic.taught < here.date), default=None)
    found = [
        OpensWith(
            topic.lesson,
            topic.taught,
            (here.date - topic.taught).days,
            LAST_LESSON if topic.taught == last and here.date - last <= FORTNIGHT else when(topic.taught, here.date, term_begins),
            topic.lesson in required,
            topic.lesson in here.kept,
        )
        for topic in asked.topics
        if topic.lesson in chosen or topic.lesson in here.kept
    ]
    return tuple(sorted(found, key=lambda each: (not each.required, -each.taught.toordinal(), each.lesson)))


def when(taught: date, day: date, term_begins: date) -> str:
    """How long before a day something was taught, in words: up to a month in weeks from Monday to Sunday."""
    weeks = (monday_of(day) - monday_of(taught)).days // 7
    if weeks <= 1:
        return LAST_WEEK if weeks else THIS_WEEK
    if (day - taught).days <= 31:
        return WEEKS_AGO.format(weeks)
    if taught >= term_begins:
        return THIS_TERM
    return EARLIER_TERM if _school_year(taught) == _school_year(day) else EARLIER_YEAR


def _school_year(day: date) -> int:
    return day.year if day.month >= YEAR_BEGINS else day.year - 1


def not_met(starters: Starters) -> tuple[NotMet, ...]:
    """Every day on which a topic is due and not met, the furthest off first."""
    return tuple(sorted(_not_met(starters), key=lambda each: (-each.off, each.due.date, each.topic)))


def _not_met(starters: Starters) -> Iterator[NotMet]:
    asked = starters.question
    for number, topic in enumerate(asked.topics):
        for due in topic.dues:
            day = nearest(asked, starters.assigned, number, due)
            if day != due.date:
                yield NotMet(number, due, None if day == topic.taught else day, abs((day - due.date).days))


def forgotten(starters: Starters) -> tuple[int, ...]:
    """Topics that are owed a meeting and have none."""
    return tuple(
        number for number in range(len(starters.question.topics)) if is_forgotten(starters.question, starters.assigned, number)
    )
