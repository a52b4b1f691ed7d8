"""Classes of which only the school week of each lesson matters: one start per week stands for all of its slots.

Where no rule or aim tells the slots of a week apart, a lesson needs one variable per week and a week a count of its lessons;
which slot each has is settled afterwards, in an order that the links within the week ask for (``found.spread``).
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from itertools import groupby

from sequencer.instance.facts import ClassFacts, LessonFacts
from sequencer.solver.domains import Domains
from sequencer.solver.links import Link
from sequencer.solver.model import Prepared
from sequencer.words import EVEN_LOAD, LEFT_OUT, MADE_LESSONS

Week = tuple[int, int]
"""First and last slot of a class's school week."""


def by_weeks(prepared: Prepared) -> Prepared:
    """The same with one start per week, in the classes that allow it."""
    instance = prepared.instance
    firsts: list[tuple[int, ...] | None] = [None] * len(instance.classes)
    links = {id(link): link for link in (*prepared.links, *prepared.twins)}
    starts = list(prepared.domains.starts)
    for facts in instance.classes if set(instance.aims) <= {EVEN_LOAD, LEFT_OUT, MADE_LESSONS} else ():
        weeks = _weeks(facts)
        own = [link for link in links.values() if instance.lessons[link.before].class_index == facts.index]
        if not _only_weeks_matter(prepared, facts, weeks):
            continue
        found = {id(link): _link_by_weeks(link, weeks) for link in own}
        if not all(found.values()):
            continue
        first_of = tuple(first for first, last in weeks for _ in range(first, last + 1))
        firsts[facts.index] = first_of
        links |= {key: link for key, link in found.items() if link is not None}
        for index in facts.lessons:
            starts[index] = tuple(dict.fromkeys(first_of[start] for start in starts[index]))
    if not any(firsts):
        return prepared
    return replace(
        prepared,
        links=tuple(links[id(link)] for link in prepared.links),
        twins=tuple(links[id(link)] for link in prepared.twins),
        domains=Domains(tuple(starts), prepared.domains.sure),
        week_starts=tuple(firsts),
    )


def _weeks(facts: ClassFacts) -> tuple[Week, ...]:
    numbers = [[slot.number for slot in slots] for _, slots in groupby(facts.slots, key=lambda slot: slot.week)]
    return tuple((week[0], week[-1]) for week in numbers)


def _only_weeks_matter(prepared: Prepared, facts: ClassFacts, weeks: tuple[Week, ...]) -> bool:
    """Whether every rule but those between two lessons sees only in which week a lesson of the class is."""
    instance = prepared.instance
    lessons = [instance.lessons[index] for index in facts.lessons]
    members = set(facts.lessons)
    counted = any(class_index == facts.index for count in instance.live_counts for class_index, _ in count.slots)
    limited = any(teacher.limited and any(here == facts.index for here, _ in teacher.slots) for teacher in instance.teachers)
    shared = any(len(thing.users) > thing.capacity and members & set(thing.users) for thing in instance.shared)
    return (
        not (facts.earlier or facts.caps or facts.threads or counted or limited or shared)
        and not any(slot.remote for slot in facts.slots)
        and not any(link.before in members or link.after in members for link in prepared.steps)
        and all(_plain(lesson) for lesson in lessons)
        and all(_whole_weeks(prepared.alone[lesson.index], weeks) for lesson in lessons)
    )


def _plain(lesson: LessonFacts) -> bool:
    return (
        lesson.length == 1
        and lesson.delivered is None
        and lesson.run_cap is None
        and lesson.practice is None
        and not lesson.retrievals
        and not lesson.chooses
    )


def _whole_weeks(starts: tuple[int, ...], weeks: tuple[Week, ...]) -> bool:
    """Whether a lesson could be in all slots of a week or in none."""
    own = set(starts)
    return all(len(own.intersection(range(first, last + 1))) in (0, last + 1 - first) for first, last in weeks)


def _link_by_weeks(link: Link, weeks: tuple[Week, ...]) -> Link | None:
    """The link between the weeks' first slots; None where it tells the slots of a week apart by more than their order."""
    windows = _windows_by_weeks(link.low, link.high, weeks)
    return replace(link, low=windows[0], high=windows[1]) if windows is not None else None


@lru_cache(maxsize=256)
def _windows_by_weeks(
    all_lows: tuple[int, ...], all_highs: tuple[int, ...], weeks: tuple[Week, ...]
) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
    low, high = list(all_lows), list(all_highs)
    for number, (first, last) in enumerate(weeks):
        lows, highs = all_lows[first : last + 1], all_highs[first : last + 1]
        soonest = next((place for place, (begins, _) in enumerate(weeks) if begins >= max(lows)), len(weeks))
        latest = next((place for place in reversed(range(len(weeks))) if weeks[place][1] <= min(highs)), -1)
        in_order = lows == tuple(range(first + 1, last + 2))  # in the week of `before` itself, after it
        if in_order and soonest == number + 1 and latest >= number:
            soonest = number
        elif soonest > 0 and weeks[soonest - 1][1] >= min(lows):
            return None
        if latest + 1 < len(weeks) and weeks[latest + 1][0] <= max(highs):
            return None
        begins = weeks[soonest][0] if soonest < len(weeks) else len(low)
        ends = weeks[latest][0] if latest >= 0 else -1
        low[first : last + 1] = [begins] * (last + 1 - first)
        high[first : last + 1] = [ends] * (last + 1 - first)
    return tuple(low), tuple(high)
