"""Titles of invented geography units and lessons."""

from __future__ import annotations

TOPICS = (
    ("rivers", "River landscapes"),
    ("coasts", "Coastal landscapes"),
    ("weather", "Weather and climate"),
    ("ice", "Landscapes of ice"),
    ("cities", "Growing cities"),
    ("forests", "Forests of the world"),
    ("hazards", "Living with hazards"),
    ("food", "From field to plate"),
    ("energy", "Energy for a country"),
    ("deserts", "Life in dry places"),
    ("trade", "An unequal world"),
    ("water", "Water and carbon"),
    ("people", "People on the move"),
    ("oceans", "Oceans and islands"),
    ("soils", "Soils and rocks"),
    ("work", "Work and where it goes"),
    ("maps", "Maps and what they hide"),
    ("borders", "Borders and neighbours"),
)
"""Ids and titles of units."""

ASPECTS = (
    "first questions", "where in the world", "how it works", "seen on a map", "what the figures say", "two places compared",
    "who gains, who loses", "change over time", "a closer look", "causes sorted", "effects weighed", "what can be done",
    "one place in depth", "old answers, new doubts", "a model and its limits", "looking ahead",
)  # fmt: skip
"""What the lessons of a unit are about, in turn."""


def lesson_title(topic: str, number: int) -> str:
    """Title of the n-th lesson of a unit, from 0."""
    turn, place = divmod(number, len(ASPECTS))
    return f"{topic}: {ASPECTS[place]}" + (f" ({turn + 1})" if turn else "")
