"""What an answer says of distances that come from the published table: where they are from, and what they are worth."""

from __future__ import annotations

from sequencer.instance.exam_distances import SOURCE
from sequencer.instance.facts import ClassFacts, Instance
from sequencer.words import count_text, day_text

LABORATORY = (
    "The distances for the date in exam_date come from a laboratory study of facts met in two sessions: they say which distance "
    "served best there, and promise nothing about anyone's results."
)


def distance_notes(instance: Instance) -> list[str]:
    """For each class with an exam date: the distances taken from the table, and where a window does not reach them."""
    return [note for facts in instance.classes if (note := _note(instance, facts)) is not None]


def takes_distances_from_the_table(instance: Instance) -> bool:
    """Whether any preferred distance does."""
    return any(lesson.exam_distance is not None for lesson in instance.lessons)


def _note(instance: Instance, facts: ClassFacts) -> str | None:
    exam = instance.scenario.classes[facts.index].exam_date
    lessons = [instance.lessons[index] for index in (*facts.earlier, *facts.lessons)]
    own = [lesson for lesson in lessons if lesson.exam_distance is not None]
    if exam is None or not own:
        return None
    asked = sorted({lesson.exam_distance for lesson in own if lesson.exam_distance is not None})
    days = f"{asked[0]} to {count_text(asked[-1], 'day')}" if len(asked) > 1 else count_text(asked[0], "day")
    said = (
        f"{facts.id}: for what is to be known on {day_text(exam)} the preferred distance is {days}, interpolated between best "
        f"observed gaps of {SOURCE}; numbers that the scenario states for `preferred` stand"
    )
    beyond = [lesson for lesson in own if lesson.retrievals[0].preferred != lesson.exam_distance]
    if beyond:
        kept = sorted({lesson.retrievals[0].preferred for lesson in beyond})
        nearest = f"{kept[0]} to {kept[-1]}" if len(kept) > 1 else str(kept[0])
        said += (
            f". The window in days (least, most) of {len(beyond)} of {count_text(len(own), 'lesson')} does not reach "
            f"that: the nearest day in it, {nearest}, is preferred there"
        )
    return said
