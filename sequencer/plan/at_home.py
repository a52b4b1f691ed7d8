"""Lessons that belong in school and lie in remote periods: told, since no rule keeps them in school unless they say so."""

from __future__ import annotations

from sequencer.instance.facts import LessonFacts
from sequencer.instance.naming import named
from sequencer.plan.sequence import Laid
from sequencer.words import IN_CLASS, IN_SCHOOL, day_text

_BY_TAG = ("fieldwork", "practical")


def at_home_notes(laid: Laid) -> list[str]:
    """A note for each assessment, fieldwork or practical lesson that is still to come and reaches a class at home.

    What says that it needs to be in school, or demands to be live, is where it is by choice.
    """
    found: dict[tuple[str, str], list[str]] = {}
    for facts in laid.classes:
        for lesson in laid.in_order(facts.index):
            what, taught = _belongs_in_school(lesson), laid.taught(lesson.index)
            if what and taught != IN_CLASS and lesson.delivered is None:
                about = f"{named([lesson])}, {what}", taught
                found.setdefault(about, []).append(f"{facts.id} on {day_text(laid.date(lesson.index))}")
    return [
        f"{lesson}, is {taught} in a remote week: for {', '.join(whom)}. `needs: [{IN_SCHOOL}]` keeps it in school"
        for (lesson, taught), whom in found.items()
    ]


def _belongs_in_school(lesson: LessonFacts) -> str | None:
    """What kind of lesson it is that belongs in school; None where it does not, or says itself where it is to be."""
    if IN_SCHOOL in lesson.needs or lesson.live in ("demand", "prefer"):
        return None
    if lesson.kind == "assessment":
        return "an assessment"
    tag = next((tag for tag in _BY_TAG if tag in lesson.tags), None)
    return f"tagged {tag}" if tag else None
