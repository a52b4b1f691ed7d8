"""The referee of starters: what an assignment breaks, and how well it serves each topic; plain Python, and nothing of the model.

How well a topic is served is counted in per cent: for each day it is due, the days from there to the nearest day on which it is
met, as a share of the days since it was taught. To have been taught counts as met, so that a topic never met again is off by
100. A topic's number is the mean over the days it is due, rounded up; 0 is best. What is owed one meeting only has 0 with it and
100 without.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import combinations

from sequencer.questions.lists.starters.question import FORGOTTEN, OFF, PREREQUISITES, USED, WORST, Assigned, Due, Question


def breaches(question: Question, assigned: tuple[Assigned, ...]) -> list[str]:
    """What an assignment breaks, in sentences; nothing when it is sound."""
    return [*_places(question, assigned), *_too_soon(question, assigned)]


def _places(question: Question, assigned: tuple[Assigned, ...]) -> Iterator[str]:
    for number, opening in enumerate(question.openings):
        taken = [each.topic for each in assigned if each.opening == number]
        if len(taken) > opening.places:
            yield f"opening {number} takes {len(taken)} topics and has {opening.places} places"
        if len(taken) > len(set(taken)):
            yield f"opening {number} takes a topic twice"


def _too_soon(question: Question, assigned: tuple[Assigned, ...]) -> Iterator[str]:
    for number, topic in enumerate(question.topics):
        own = sorted(question.openings[each.opening].date for each in assigned if each.topic == number)
        for day in own:
            if (day - topic.taught).days < question.soonest:
                yield f"topic {number} is met again on {day}, too soon after {topic.taught}, when it was taught"
            for meeting in topic.meetings:
                if abs((day - meeting).days) < question.soonest:
                    yield f"topic {number} is met again on {day}, too near to {meeting}"
        for earlier, later in combinations(own, 2):
            if (later - earlier).days < question.soonest:
                yield f"topic {number} is met again on {earlier} and on {later}"


def met_on(question: Question, assigned: tuple[Assigned, ...], topic: int) -> tuple[date, ...]:
    """The days on which a topic is met again, in order."""
    chosen = {question.openings[each.opening].date for each in assigned if each.topic == topic}
    return tuple(sorted(chosen | set(question.topics[topic].meetings)))


def nearest(question: Question, assigned: tuple[Assigned, ...], topic: int, due: Due) -> date:
    """Of the days on which a topic was taught or is met again, the one nearest to a day on which it is due."""
    days = (question.topics[topic].taught, *met_on(question, assigned, topic))
    return min(days, key=lambda day: (abs((day - due.date).days), day))


def is_forgotten(question: Question, assigned: tuple[Assigned, ...], topic: int) -> bool:
    """Whether a topic is owed a meeting and has none from the first opening on."""
    first = question.openings[0].date if question.openings else date.max
    return question.topics[topic].owed and not any(day >= first for day in met_on(question, assigned, topic))


def served(question: Question, assigned: tuple[Assigned, ...], topic: int) -> int:
    """How well a topic is served, in per cent off; 0 is best, 100 is never met again."""
    asked = question.topics[topic]
    if not asked.dues:
        return 100 if is_forgotten(question, assigned, topic) else 0
    shares = 0
    for due in asked.dues:
        off = abs((nearest(question, assigned, topic, due) - due.date).days)
        shares += -(-100 * off // (due.date - asked.taught).days)
    return -(-shares // len(asked.dues))


def starter_aims(question: Question, assigned: tuple[Assigned, ...]) -> dict[str, int]:
    """The aims' values, by name."""
    topics = range(len(question.topics))
    met = {(each.opening, each.topic) for each in assigned}
    kept = {
        (number, topic)
        for number, opening in enumerate(question.openings)
        for topic in opening.prerequisites
        if question.topics[topic].lesson in opening.kept
    }
    required = {(number, topic) for number, opening in enumerate(question.openings) for topic in opening.prerequisites}
    off = sum(
        question.topics[topic].load * abs((nearest(question, assigned, topic, due) - due.date).days)
        for topic in topics
        for due in question.topics[topic].dues
    )
    return {
        WORST: max((served(question, assigned, topic) for topic in topics), default=0),
        FORGOTTEN: sum(is_forgotten(question, assigned, topic) for topic in topics),
        PREREQUISITES: len(required - met - kept),
        OFF: off,
        USED: len(assigned),
    }
