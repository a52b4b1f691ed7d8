"""Rules that are preferences, as cost terms of the aim ``wishes``: one function each, weight times each unit of violation."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sequencer.facts import Follows
from sequencer.model.costs import CostTerm
from sequencer.model.gaps import Gap, Measure
from sequencer.model.parts import Parts
from sequencer.model.posting import Statement
from sequencer.model.run_wishes import run_wishes
from sequencer.model.wished_counts import count_wishes
from sequencer.wished import wished_apart


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
        here = parts.days[parts.instance.lessons[follows.before].class_index]
        ends = tuple(slot + parts.instance.lessons[follows.before].length - 1 for slot in range(here.count))
        for unit, before_at, after_at, least, most in (
            ("days", here.day, here.day, window.least_days, window.most_days),
            ("periods", ends, range(here.count), window.least_slots, window.most_slots),
            ("school weeks", here.week, here.week, window.least_weeks, window.most_weeks),
        ):
            gap = _gap(parts, 1, follows, unit, before_at, after_at, window.wish)
            yield from _outside(gap, least, most)


def _feedback(parts: Parts) -> Iterator[CostTerm]:
    """Feedback too soon or too late after what it answers (rule 6), in school days."""
    for follows in parts.instance.follows:
        if follows.because != "answers" or follows.after not in parts.variables.lessons:
            continue
        answered = parts.instance.lessons[follows.before]
        if answered.marking is not None and answered.marking.wish:
            at = parts.days[answered.class_index].school_day
            gap = _gap(parts, 6, follows, "school days", at, at, answered.marking.wish)
            yield from _outside(gap, answered.marking.least, answered.marking.most)


def _gap(parts: Parts, rule: int, follows: Follows, unit: str, before_at: Measure, after_at: Measure, wish: int) -> Gap:
    before, after = parts.variables.lessons[follows.before], parts.variables.lessons[follows.after]
    owner = parts.instance.class_of(before.lesson).id
    statement = Statement(rule, f"{owner}: {unit} from {before.lesson.ref} to {after.lesson.ref}")
    return Gap(parts.posting, statement, before, after, before_at, after_at, wish)


def _outside(gap: Gap, least: int | None, most: int | None) -> Iterator[CostTerm]:
    if not gap.before.starts or not gap.after.starts:
        return
    if least is not None:
        yield from gap.short(least)
    if most is not None:
        yield from gap.over(most)


def _in_step(parts: Parts) -> Iterator[CostTerm]:
    """Parallel lessons too many days apart (rule 11), whichever of the two comes later."""
    for group in parts.instance.parallels:
        lessons = [parts.variables.lessons[index] for index in group if index in parts.variables.lessons]
        for one in lessons:
            for other in lessons:
                asked = wished_apart(one.lesson, other.lesson)
                if one is other or asked is None or not one.starts or not other.starts:
                    continue
                classes = " and ".join(parts.instance.class_of(each.lesson).id for each in (one, other))
                statement = Statement(11, f"{one.lesson.ref}: {classes} in step")
                days = (parts.days[one.lesson.class_index].day, parts.days[other.lesson.class_index].day)
                yield from Gap(parts.posting, statement, one, other, *days, asked[1]).over(asked[0])


def _dates(parts: Parts) -> Iterator[CostTerm]:
    """Days off a lesson's dates, or another period of its date (rule 7): what each of its starts costs."""
    for variables in parts.variables.lessons.values():
        asked = variables.lesson.wished_dates
        if asked is None:
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
