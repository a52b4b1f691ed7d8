"""Which numbers of lessons are preferences: the weights of wishes, resolved as the numbers are."""

from __future__ import annotations

from dataclasses import replace

from sequencer.instance.facts import LessonFacts, WishedDates
from sequencer.instance.resolve import Resolved


def with_wishes(lesson: LessonFacts, rules: Resolved) -> LessonFacts:
    """The lesson with the weights of its wishes (0: hard); dates that are a wish are no longer among its hard ones."""
    weighed = replace(
        lesson,
        marking=replace(lesson.marking, wish=rules.wish("marking")) if lesson.marking is not None else None,
        run_wish=rules.wish("consecutive_high_load") if lesson.run_cap is not None else 0,
        wished_cap=rules.wished("consecutive_high_load", "most") if lesson.run_cap is not None else None,
        wished_cap_weight=rules.wished("consecutive_high_load", "weight") or 1,
        in_step_wish=rules.wish("in_step") if lesson.in_step is not None else 0,
    )
    dates = (lesson.not_before, lesson.not_after, lesson.on, lesson.period)
    if not rules.wish("dates") or dates == (None,) * 4:
        return weighed
    wished = WishedDates(*dates, wish=rules.wish("dates"))
    return replace(weighed, not_before=None, not_after=None, on=None, period=None, wished_dates=wished)


def most_apart(one: LessonFacts, other: LessonFacts) -> int | None:
    """Rule 11 between two parallel lessons: the smaller of their hard numbers; None where there is none, or one is off."""
    return min((days for days, wish in _in_step(one, other) if not wish), default=None)


def wished_apart(one: LessonFacts, other: LessonFacts) -> tuple[int, int] | None:
    """Rule 11 as a wish between two parallel lessons: the smaller of their wished numbers, and the greater of the weights."""
    wished = [(days, wish) for days, wish in _in_step(one, other) if wish]
    return (min(days for days, _ in wished), max(wish for _, wish in wished)) if wished else None


def _in_step(*lessons: LessonFacts) -> list[tuple[int, int]]:
    """The numbers and weights of two lessons that both keep in step; nothing where the rule is off for one."""
    stated = [(lesson.in_step, lesson.in_step_wish) for lesson in lessons]
    return [] if any(days is None for days, _ in stated) else [(days, wish) for days, wish in stated if days is not None]
