"""Lessons that make no difference: nothing that is kept says that they are taught, and they serve none that is.

Whatever may be left out can be: a sequence without such a lesson is one with it too, unless a least number of lessons is asked
for, and then nothing is called idle. So the search need not look at them, and small conflicts are small scenarios.
"""

from __future__ import annotations

from collections.abc import Iterable

from sequencer.questions.explaining.statement import Statement
from sequencer.questions.explaining.statements import Stated
from sequencer.scenario.changes.edits import Edit


def idle_lessons(stated: Stated, kept: Iterable[Statement]) -> list[Edit]:
    """What takes the idle lessons out of the units, where only some statements are kept."""
    kept = tuple(kept)
    instance = stated.instance
    if any(one.kind in ("week", "quota", "strict") and "most" not in one.about[-1:][0] for one in kept if one.about):
        return []
    needed = {index for one in kept if one.kind in ("lesson", "made", "requires") for index in one.lessons}
    stated_of = {index for one in stated.statements if one.kind == "lesson" for index in one.lessons}
    needed |= {
        lesson.index
        for lesson in instance.lessons
        if lesson.delivered is not None or (lesson.certain and lesson.index not in stated_of)
    }
    for one in kept:
        for index in one.lessons if one.kind in ("practice", "retrieval") else ():
            lesson = instance.lessons[index]
            needed.update(lesson.practised_by if one.kind == "practice" else lesson.revisited_by)
            if lesson.chosen and one.kind == "retrieval":
                needed.update(other.index for other in instance.lessons if other.chooses)
    waiting = list(needed)
    while waiting:  # what a made lesson was made for goes with it, and without it
        for index in instance.lessons[waiting.pop()].made_for:
            if index not in needed:
                needed.add(index)
                waiting.append(index)
    names = {(instance.lessons[index].unit, instance.lessons[index].role) for index in needed}
    return [
        Edit(("units", place, "lessons", number))
        for place, unit in enumerate(stated.scenario.units)
        for number, lesson in enumerate(unit.lessons)
        if (unit.id, lesson.id) not in names
    ]
