"""The fixed words of the scenario language and of answers, in the order in which they are listed to people."""

from __future__ import annotations

from datetime import date

KINDS = ("teach", "practice", "retrieval", "feedback", "assessment")
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
LIVE_WISHES = ("demand", "prefer", "avoid", "refuse")

IN_CLASS, LIVE, SET_WORK, OPEN = "in class", "live", "set work", "open"
TAUGHT_CHOICES = (OPEN, LIVE, SET_WORK)
"""How a remote slot may be fixed; ``open`` leaves it to the sequence."""

TAUGHT = (IN_CLASS, LIVE, SET_WORK)
"""How a placed lesson is taught."""

IN_SCHOOL = "in school"
"""The need that every slot in class offers and no remote one does unless its spell says so."""

EVERY_WEEK = "every"
"""Key of a timetable that holds in every week of the cycle."""

LEFT_OUT, CARRIED_OVER, NEXT_PLAN = "left out", "carried over", "left for the next plan"
MADE_LESSONS, WISHES, EARLY_FINISH = "made lessons", "wishes", "early finish"
DENSE_SET_WORK, DISTANCE = "dense as set work", "distance"
EVEN_LOAD, EVEN_WEEK = "even load", "even week"
AIMS = (
    LEFT_OUT, CARRIED_OVER, NEXT_PLAN, MADE_LESSONS, WISHES, EARLY_FINISH, DENSE_SET_WORK, DISTANCE, EVEN_LOAD, EVEN_WEEK,
)  # fmt: skip
"""The order in which they are made small where a scenario lists none, without the last."""

DISRUPTION = "disruption"
"""What is made small before every aim where a sequence is to stay near another one; no scenario names it."""

OPTIMAL, FEASIBLE, INFEASIBLE, UNKNOWN = "optimal", "feasible", "infeasible", "unknown"

DELIVERED, PART_TAUGHT, NEEDS_ANOTHER, SKIPPED, LOST = "delivered", "part-taught", "needs another", "skipped", "lost"
HAPPENED = (DELIVERED, PART_TAUGHT, NEEDS_ANOTHER, SKIPPED, LOST)
"""What became of a lesson, as a record says."""

DID_NOT_TAKE_PLACE = (
    "did not take place", "didnt take place", "not taken place", "not held", "no lesson", "cancelled", "lost", "period lost",
)  # fmt: skip
"""What people write of a lesson whose period was lost, in small letters; the first is offered."""

OFFERED = (DELIVERED, PART_TAUGHT, NEEDS_ANOTHER, SKIPPED, DID_NOT_TAKE_PLACE[0])
"""What became of a lesson, as a sheet offers it."""

REMAINS = {PART_TAUGHT: "rest", NEEDS_ANOTHER: "again"}
"""How the id of the lesson that remains ends."""

BEFORE = "before"
"""The unit that holds what a class was taught before the term."""

BASE = "base"
"""What the scenario as it stands is called beside its what-ifs."""


def count_text(number: int, noun: str) -> str:
    """A number of things, the noun agreeing with it: ``1 school day``, ``3 classes``."""
    if number == 1:
        return f"1 {noun}"
    if noun.endswith(("s", "ch", "sh")):
        return f"{number:,} {noun}es"
    if noun.endswith("y") and noun[-2] not in "aeiou":
        return f"{number:,} {noun[:-1]}ies"
    return f"{number:,} {noun}s"


def day_text(day: date) -> str:
    """A date for people: ``Tue 10 Nov 2026``."""
    return f"{day:%a} {day.day} {day:%b %Y}"
