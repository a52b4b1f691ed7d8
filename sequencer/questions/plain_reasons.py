"""Why there is no sequence, as far as it can be seen without a search."""

from __future__ import annotations

from collections.abc import Iterator

from sequencer.instance.facts import ClassFacts, Instance, LessonFacts
from sequencer.rules.verdict import named
from sequencer.solver.day_numbers import class_days
from sequencer.solver.domains import sure_lessons
from sequencer.solver.starts import StartsAlone, starts_alone
from sequencer.words import DENSE_SET_WORK, OPEN, WISHES, count_text


def plain_reasons(instance: Instance) -> list[str]:
    """Sentences that each show by themselves that no sequence exists; none does not mean that one does.

    They look at one class's number of periods, and at one lesson's own dates, place and length.
    """
    alone = starts_alone(instance, class_days(instance))
    sure = sure_lessons(instance, alone)
    found = []
    for facts in instance.classes:
        lessons = [instance.lessons[index] for index in facts.lessons if index in sure]
        # Of a class that never meets, the number of its periods says it all.
        reasons = (*_too_few(facts, lessons), *(_homeless(alone, lessons) if facts.slots else ()))
        found += [f"{facts.id}: {reason}" for reason in reasons]
    return found


def _too_few(facts: ClassFacts, lessons: list[LessonFacts]) -> Iterator[str]:
    needed = sum(lesson.length for lesson in lessons)
    if needed > len(facts.slots):
        yield f"the lessons that must be taught take {count_text(needed, 'period')}, and the class has {len(facts.slots)}"


def _homeless(alone: StartsAlone, lessons: list[LessonFacts]) -> Iterator[str]:
    for lesson in lessons:
        if not alone[lesson.index]:
            yield f"no period suits {named((lesson,))} in its length, dates, place and way of being taught"


def unheard_wishes(instance: Instance) -> list[str]:
    """That preferences are stated while the aim that counts them is not listed."""
    if WISHES in instance.aims or not _states_a_wish(instance.scenario.model_dump()):
        return []
    return ["preferences (wish) are stated, but aims does not list wishes: they are neither kept nor counted"]


def unheard_density(instance: Instance) -> list[str]:
    """That dense lessons may be set work in periods that could be live, since the aim that counts them is not listed."""
    open_ = {facts.index for facts in instance.classes for slot in facts.slots if slot.taught == OPEN}
    could_be = any(each.better_live and each.live is None and each.class_index in open_ for each in instance.lessons)
    if DENSE_SET_WORK in instance.aims or not could_be:
        return []
    return ["dense lessons may be set work where they could be live: aims does not list dense as set work"]


def _states_a_wish(part: object) -> bool:
    if isinstance(part, dict):
        return bool(part.get("wish")) or any(_states_a_wish(value) for value in part.values())
    return isinstance(part, tuple) and any(_states_a_wish(value) for value in part)


def unpractised(instance: Instance) -> list[str]:
    """Dense lessons that no practice lesson names: each can only lie so near the end that its practice is carried over."""
    return [
        f"{instance.class_of(lesson).id}: {named((lesson,))} is dense and no practice lesson names it, so it fits only where its "
        f"practice is left to the next plan; add a practice lesson, or say practice_after_dense: off"
        for lesson in instance.lessons
        if lesson.practice is not None and not lesson.practised_by
    ]
