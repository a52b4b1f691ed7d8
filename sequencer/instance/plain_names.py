"""Lessons and units by their titles: what is said with ids for programs, as people read it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable
from itertools import groupby, takewhile
from operator import itemgetter
from typing import cast

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.scenario.changes.named_parts import lesson_text

Naming = Callable[[str], str]
"""Turns a text into one that a person reads."""


def naming_of(instance: Instance, ids: bool) -> Naming:
    """What leaves a text as it is, with its ids, or what names lessons and units by title alone."""
    return str if ids else by_title(instance)


def by_title(instance: Instance) -> Naming:
    """What names lessons and units by title alone: ``"Meanders"`` in place of ``"Meanders" (rivers/r3)``.

    The unit stands beside the title where lessons of several units have it, the id where several of one unit do.
    """
    if by_title in instance.known:
        return cast("Naming", instance.known[by_title])
    lessons = {lesson.ref: lesson for lesson in instance.lessons}
    titles = Counter(lesson.title for lesson in lessons.values())
    units = {unit.id: unit.title or unit.id for unit in instance.scenario.units}
    in_unit = Counter((units.get(lesson.unit, lesson.unit), lesson.title) for lesson in lessons.values())

    def called(lesson: LessonFacts) -> str:
        unit = units.get(lesson.unit, lesson.unit)
        if in_unit[unit, lesson.title] > 1:
            return f'"{lesson.title}" ({lesson.ref})'
        return f'"{lesson.title}"' + ("" if titles[lesson.title] == 1 else f" ({unit})")

    skipped = [lesson_text(instance.scenario, ref) for _, ref in instance.skipped]
    said = {text: text.rpartition(" (")[0] for text in skipped if " (" in text}
    said |= {f'"{lesson.title}" ({ref})': called(lesson) for ref, lesson in lessons.items()}
    said |= {ref: called(lesson) for ref, lesson in lessons.items()}
    said |= {f'unit "{title}" ({unit})': f'unit "{title}"' for unit, title in units.items()}
    known = re.compile(rf"(?<![\w/])(?:{any_of(said)})(?![\w/-])")
    naming = instance.known[by_title] = lambda text: known.sub(lambda found: said[found[0]], text)
    return naming


def any_of(texts: Iterable[str]) -> str:
    """A pattern of any of some texts, the longest that fits.

    What several begin with stands in it once: else each place of a text would be held against every one of thousands.
    """
    found = []
    for _, alike in groupby(sorted({*texts} - {""}), key=itemgetter(0)):
        group = [*alike]
        alike_so_far = takewhile(lambda pair: pair[0] == pair[1], zip(group[0], group[-1], strict=False))
        begin = "".join(one for one, _ in alike_so_far)
        rests = [each[len(begin) :] for each in group]
        more = any_of(rests)
        found.append(re.escape(begin) + (f"(?:{more})" if more else "") + ("?" if more and "" in rests else ""))
    return "|".join(found)
