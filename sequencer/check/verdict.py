"""What the referee says of a sequence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sequencer.calendar import Slot
from sequencer.facts import LessonFacts

RULES = (
    "shape",
    "prerequisites",
    "runs and threads",
    "practice after dense",
    "retrieval",
    "live quotas",
    "feedback",
    "dates",
    "place",
    "weekly shape",
    "teacher's week",
    "in step",
    "optional lessons",
    "shared class",
)
"""Names of the rules by number."""


@dataclass(frozen=True)
class Breach:
    """One instance of a rule that a sequence breaks.

    Parameters
    ----------
    rule
        Number of the rule, 0 to 13.
    class_ids
        Classes concerned.
    lessons
        Positions in ``Instance.lessons`` of the lessons concerned.
    slots
        Slots concerned.
    message
        The breach in a sentence, with names, dates and periods.
    past
        Whether delivered lessons and ``today`` make it wherever the rest is placed: it is reported, and blocks nothing.
    """

    rule: int
    class_ids: tuple[str, ...]
    lessons: tuple[int, ...]
    slots: tuple[Slot, ...]
    message: str
    past: bool = False

    @property
    def name(self) -> str:
        """The rule's name."""
        return RULES[self.rule]


@dataclass(frozen=True)
class Verdict:
    """The referee's judgement: every breach, and every aim's value.

    Parameters
    ----------
    breaches
        Broken instances in the order of the rules; only past ones when the sequence is sound.
    aims
        Value of every aim by name.
    """

    breaches: tuple[Breach, ...]
    aims: dict[str, int]

    @property
    def sound(self) -> bool:
        """Whether no rule is broken, but for what cannot be mended any more."""
        return all(breach.past for breach in self.breaches)


def day_text(day: date) -> str:
    """A date for people: ``Tue 10 Nov 2026``."""
    return f"{day:%a} {day.day} {day:%b %Y}"


def when(slot: Slot) -> str:
    """A slot for people: ``Tue 10 Nov 2026, period 3``."""
    return f"{day_text(slot.date)}, period {slot.period}"


def named(lessons: Iterable[LessonFacts]) -> str:
    """Lessons for people: ``"Meanders" (rivers/r3)``, joined with commas."""
    return ", ".join(f'"{lesson.title}" ({lesson.ref})' if lesson.title != lesson.id else lesson.ref for lesson in lessons)
