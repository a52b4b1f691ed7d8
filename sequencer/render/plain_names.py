"""Lessons and units by their titles: what is said with ids for programs, as people read it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable

from sequencer.instance.facts import Instance, LessonFacts

Naming = Callable[[str], str]
"""Turns a text into one that a person reads."""


def with_ids(text: str) -> str:
    """The text as it is."""
    return text


def by_title(instance: Instance) -> Naming:
    """What names lessons and units by title alone: ``"Meanders"`` in place of ``"Meanders" (rivers/r3)``.

    The unit stands beside the title where lessons of several units have it, the id where several of one unit do.
    """
    lessons = {lesson.ref: lesson for lesson in instance.lessons}
    titles = Counter(lesson.title for lesson in lessons.values())
    in_unit = Counter((lesson.unit, lesson.title) for lesson in lessons.values())
    units = {unit.id: unit.title or unit.id for unit in instance.scenario.units}

    def called(lesson: LessonFacts) -> str:
        if in_unit[lesson.unit, lesson.title] > 1:
            return f'"{lesson.title}" ({lesson.ref})'
        return f'"{lesson.title}"' + ("" if titles[lesson.title] == 1 else f" ({units.get(lesson.unit, lesson.unit)})")

    said = {f'"{lesson.title}" ({ref})': called(lesson) for ref, lesson in lessons.items()}
    said |= {ref: called(lesson) for ref, lesson in lessons.items() if lesson.title == lesson.id}
    said |= {f'unit "{title}" ({unit})': f'unit "{title}"' for unit, title in units.items()}
    # Longer ones first, since one may be the beginning of another.
    known = re.compile("|".join(rf"(?<![\w/]){re.escape(each)}(?![\w/-])" for each in sorted(said, key=len, reverse=True)))
    return lambda text: known.sub(lambda found: said[found[0]], text)
