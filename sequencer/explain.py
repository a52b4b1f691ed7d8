"""Why there is no sequence, as far as it can be seen without a search."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.check.verdict import named, when
from sequencer.facts import ClassFacts, Instance
from sequencer.model.domains import own_starts, sure_lessons
from sequencer.model.links import ClassDays


def plain_reasons(instance: Instance) -> list[str]:
    """Sentences that each show by themselves that no sequence exists; none does not mean that one does.

    They look at one class's number of periods, at one lesson's own dates, place and length, and at one dense lesson's practice.
    """
    return [
        f"{facts.id}: {reason}"
        for facts in instance.classes
        for reason in (*_too_few(instance, facts), *_homeless(instance, facts))
    ]


def _too_few(instance: Instance, facts: ClassFacts) -> Iterator[str]:
    sure = sure_lessons(instance)
    needed = sum(instance.lessons[index].length for index in facts.lessons if index in sure)
    if needed > len(facts.slots):
        yield f"the lessons that must be taught take {needed} periods, and the class has {len(facts.slots)}"


def _homeless(instance: Instance, facts: ClassFacts) -> Iterator[str]:
    here = ClassDays(instance, facts.index)
    sure = sure_lessons(instance)
    for index in facts.lessons:
        if index not in sure:
            continue
        lesson = instance.lessons[index]
        starts = own_starts(instance, lesson, here)
        if not starts:
            yield f"no period suits {named((lesson,))} in its length, dates, place and way of being taught"
        elif lesson.practice is not None and not lesson.practised_by:
            within = lesson.practice.within
            carried_from = len(facts.slots) - within - lesson.length + 1
            if starts[-1] < carried_from:
                yield (
                    f"{named((lesson,))} is dense and no practice lesson names it; it cannot be carried over, since its last "
                    f"possible period is {when(facts.slots[starts[-1]])}"
                )
