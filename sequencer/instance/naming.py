"""Dates, slots, lessons and limits as they stand in messages for people."""

from __future__ import annotations

from collections.abc import Iterable

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import LessonFacts
from sequencer.words import day_text


def when(slot: Slot) -> str:
    """A slot for people: ``Tue 10 Nov 2026, period 3``."""
    return f"{day_text(slot.date)}, period {slot.period}"


def named(lessons: Iterable[LessonFacts]) -> str:
    """Lessons for people: ``"Meanders" (rivers/r3)``, joined with commas."""
    return ", ".join(f'"{lesson.title}" ({lesson.ref})' if lesson.title != lesson.id else lesson.ref for lesson in lessons)


def as_spelt(name: str, known: Iterable[str]) -> str:
    """A name as it is spelt, however its letters were typed, small or capital; as it was typed where that says nothing."""
    names = list(known)
    alike = [each for each in names if each.casefold() == name.strip().casefold()]
    return name if name in names or len(alike) != 1 else alike[0]


def limits_text(least: int | None, most: int | None) -> str:
    """Limits for people: ``at least 2 and at most 4``."""
    limits = (("at least", least), ("at most", most))
    return " and ".join(f"{words} {number}" for words, number in limits if number is not None)
