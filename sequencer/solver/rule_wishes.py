"""Rules that are preferences, as cost terms of the aim ``wishes``: one function each, weight times each unit of violation."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sequencer.aims.base import CostTerm
from sequencer.instance.facts import LessonFacts
from sequencer.instance.wished import wished_apart
from sequencer.solver.count_wishes import count_wishes
from sequencer.solver.gaps import Gap
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Statement
from sequencer.solver.run_wishes import run_wishes
from sequencer.solver.variables import LessonVariables

Number = Callable[[LessonFacts, int], int]
"""What a distance is counted in: the number of a lesson's start, which never falls over its starts."""


def rule_wishes(parts: Parts) -> Iterator[CostTerm]:
    """What every rule that is a preference adds to the aim."""
    for wishes in _WISHES:
        yield from wishes(parts)


def _prerequisite_windows(parts: Parts) -> Iterator[CostTerm]:
    """Windows on top of prerequisites (rule 1): days, slots and school weeks outside, each by itself."""
    for follows in parts.instance.follows:
        window = follows.window
        if window is None or not window.wish or follows.after not in parts.variables.lessons:
            continue
        before, after = parts.variables.lessons[follows.before], parts.variables.lessons[follows.after]
        if after.lesson.earlier:
            continue
        here = parts.days[after.lesson.class_index]
        yield from _apart(
            parts, 1, before, after, "days", (here.day_of, here.day_of), (window.least_days, window.most_days), window.wish
        )
        if before.lesson.earlier:
            continue  # only days count from what was taught before the first slot
        slots = (lambda lesson, start: start + lesson.length - 1), (lambda lesson, start: start)
        weeks = (lambda lesson, start, here=here: here.week[start],) * 2
        yield from _apart(parts, 1, before, after, "periods", slots, (window.least_slots, window.most_slots), window.wish)
        yield from _apart(parts, 1, before, after, "school weeks", weeks, (window.least_weeks, window.most_weeks), window.wish)


def _feedback(parts: Parts) -> Iterator[CostTerm]:
    """Feedback too soon or too late after what it answers (rule 6), in school days."""
    for follows in parts.instance.follows:
        marking = parts.instance.lessons[follows.before].marking
        if follows.because != "answers" or marking is None or not marking.wish or follows.after not in parts.variables.lessons:
            continue
        before, after = parts.variables.lessons[follows.before], parts.variables.lessons[follows.after]
        if not after.lesson.earlier:
            at = parts.days[after.lesson.class_index].school_day_of
            limits = (marking.least, marking.most)
            yield from _apart(parts, 6, before, after, "school days", (at, at), limits, marking.wish, nearest=0)


def _in_step(parts: Parts) -> Iterator[CostTerm]:
    """Parallel lessons too many days apart (rule 11), whichever of the two comes later."""
    for group in parts.instance.parallels:
        lessons = [parts.variables.lessons[index] for index in group if index in parts.variables.lessons]
        for one in lessons:
            for other in lessons:
                asked = wished_apart(one.lesson, other.lesson)
                if one is not other and asked is not None:
                    days = (parts.days[one.lesson.class_index].day_of, parts.days[other.lesson.class_index].day_of)
                    yield from _apart(parts, 11, one, other, "days", days, (None, asked[0]), asked[1])


def _apart(
    parts: Parts,
    rule: int,
    before: LessonVariables,
    after: LessonVariables,
    unit: str,
    numbers: tuple[Number, Number],
    limits: tuple[int | None, int | None],
    wish: int,
    nearest: int | None = None,
) -> Iterator[CostTerm]:
    """What it costs that ``after`` lies less than the least or more than the most beyond ``before``.

    Where one of them was delivered, each start of the other has its cost. That may be a start before the other's, which counts
    as ``nearest``; otherwise ``after`` comes after ``before`` where it has one.
    """
    owners = " and ".join(dict.fromkeys(parts.instance.class_of(each.lesson).id for each in (before, after)))
    statement = Statement(rule, f"{owners}: {unit} from {before.lesson.ref} to {after.lesson.ref}")
    least, most = limits
    if not before.starts or not after.starts:
        return
    if before.lesson.delivered is not None or after.lesson.delivered is not None:
        fixed = before.lesson.delivered is not None
        moved = after if fixed else before
        for start in moved.starts:
            starts = (before.starts[0], start) if fixed else (start, after.starts[0])
            distance = numbers[1](after.lesson, starts[1]) - numbers[0](before.lesson, starts[0])
            distance = distance if nearest is None else max(nearest, distance)
            short = 0 if least is None else least - distance
            over = 0 if most is None else distance - most
            if max(short, over) > 0:
                yield CostTerm(moved.at(start), max(short, over) * wish, f"{statement.label}: outside what is wished")
        return
    at = [
        tuple(number(each.lesson, start) for start in each.starts) for number, each in zip(numbers, (before, after), strict=True)
    ]
    if nearest is not None and before.starts[0] + before.lesson.length > after.starts[-1]:
        # It is too late for the two to come in their order, which is not asked for then.
        at = [(0,) * len(before.starts), (nearest,) * len(after.starts)]
    gap = Gap(parts.posting, statement, before, after, at[0], at[1], wish)
    if least is not None:
        yield from gap.short(least)
    if most is not None:
        yield from gap.over(most)


def _dates(parts: Parts) -> Iterator[CostTerm]:
    """Days off a lesson's dates, or another period of its date (rule 7): what each of its starts costs."""
    for variables in parts.variables.lessons.values():
        asked = variables.lesson.wished_dates
        if asked is None or variables.lesson.earlier:
            continue
        slots = parts.instance.slots_for(variables.lesson)
        for start in variables.starts:
            if units := asked.units(slots[start]):
                yield CostTerm(variables.at(start), units * asked.wish, f"{variables.lesson.ref} off its dates")


_WISHES: tuple[Callable[[Parts], Iterator[CostTerm]], ...] = (
    _prerequisite_windows,
    run_wishes,
    _feedback,
    _dates,
    _in_step,
    count_wishes,
)
