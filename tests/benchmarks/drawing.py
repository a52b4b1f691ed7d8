"""How the units of random scenarios are drawn: so many lessons, dense ones practised, all met again, a test and its feedback."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from tests.benchmarks.names import TOPICS, lesson_title
from tests.builders import Data

LOADS = (2, 2, 3, 3, 3, 4, 5)
"""Loads of teach lessons, dealt out like cards so that no unit has them all high; 4 and 5 are high."""


AIMS = (
    *("left out", "carried over", "left for the next plan", "wishes"),
    *("dense as set work", "distance", "even load", "early finish"),
)
"""The aims in the order in which the families were first measured, so that their values stand."""


def aims(patterns: object) -> list[str]:
    """The aims, and that of made lessons where there are patterns."""
    return [*AIMS[:3], *(["made lessons"] if patterns else []), *AIMS[3:]]


@dataclass(frozen=True)
class Recipe:
    """What a unit holds.

    Parameters
    ----------
    lessons
        How many, all kinds together.
    pattern
        The pattern that makes practice and retrieval instead of listed ones; None when they are listed.
    test
        Whether it ends with a test and feedback.
    floating
        Whether the test may lie anywhere after the last teach lesson, or within two school weeks of it.
    marking
        School days to the feedback.
    a_group
        How many lessons a retrieval lesson revisits.
    """

    lessons: int
    pattern: str | None = None
    test: bool = True
    floating: bool = True
    marking: Data | None = None
    a_group: int = 4
    minutes: int = 0


def unit(draw: Random, number: int, recipe: Recipe) -> Data:
    """One unit of the recipe; the number chooses its topic and makes its id unique."""
    topic, title = TOPICS[number % len(TOPICS)]
    id = topic if number < len(TOPICS) else f"{topic}-{number // len(TOPICS) + 1}"
    left = recipe.lessons - (2 if recipe.test else 0)
    taught: list[str] = []
    lessons: list[Data] = []
    quizzes = 0
    deck: list[int] = []
    while True:
        deck = deck or draw.sample(LOADS, len(LOADS))
        load = deck.pop()
        listed = recipe.pattern is None
        quizzes_then = -(-(len(taught) + 1) // recipe.a_group) if listed else 0
        takes = 1 + (listed and load >= 4)
        if len(lessons) + takes + quizzes_then > left and listed:
            if len(lessons) + 1 + quizzes_then > left:
                break
            load = 3
        elif len(lessons) + 1 > left:
            break
        name = f"t{len(taught) + 1}"
        lessons.append({"id": name, "title": lesson_title(title, len(taught)), "load": load, **minutes(draw, recipe)})
        if listed and load >= 4:
            lessons.append({"id": f"{name}-task", "kind": "practice", "load": draw.choice((2, 3)), "practises": name})
        taught.append(name)
    if recipe.pattern is None:
        quizzes = -(-len(taught) // recipe.a_group)
        # Not "the first four, the next four": what was taught together is shared out evenly.
        sizes = [len(taught) // quizzes + (place < len(taught) % quizzes) for place in range(quizzes)]
        waiting = list(taught)
        for place, size in enumerate(sizes):
            group, waiting = waiting[:size], waiting[size:]
            lessons.append({"id": f"again-{place + 1}", "kind": "retrieval", "load": 1, "revisits": group})
    spare = left - len(lessons)
    lessons += [{"id": f"write-{at + 1}", "kind": "practice", "load": 3, "practises": taught[-1 - at]} for at in range(spare)]
    if recipe.test:
        last: str | Data = taught[-1] if recipe.floating else {"lesson": taught[-1], "most_weeks": 2}
        test: Data = {"id": "test", "kind": "assessment", "load": 4, "requires": [last]}
        if recipe.marking is not None:
            test["rules"] = {"marking": recipe.marking}
        if recipe.minutes:
            test["marking_minutes"] = recipe.minutes
        lessons += [test, {"id": "talk", "kind": "feedback", "load": 2, "answers": "test"}]
    found: Data = {"id": id, "title": title, "in_order": True, "lessons": lessons}
    if recipe.pattern is not None:
        found["pattern"] = recipe.pattern
    return found


def minutes(draw: Random, recipe: Recipe) -> Data:
    """Preparation for some lessons, where the teacher's week is limited."""
    return {"preparation_minutes": draw.choice((20, 30, 40))} if recipe.minutes and draw.random() < 0.25 else {}


def shares(total: int, parts: int) -> list[int]:
    """A number in parts that differ by 1 at most."""
    return [total // parts + (place < total % parts) for place in range(parts)]
