"""Rule 4, word for word: on which dates lessons are met again, and the best choice of what is met where.

`outcome` says what becomes of the retrievals of one lesson that is met on given dates. `best_choice` tries, over all lessons of
a class together, every choice for which there is room.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import NamedTuple

from tests.crosscheck.facts import ClassFacts, Facts, Key, Lesson
from tests.crosscheck.past import places, places_once
from tests.crosscheck.placing import Assignment, date_of, end, is_earlier, placed_lessons, pos
from tests.crosscheck.slots import Raw

Stated = frozenset[tuple[Key, Key]]
"""Lessons met again by choice, each with the lesson that meets it."""


class Outcome(NamedTuple):
    """How many retrievals of a lesson are broken, carried over or late, carried over; days from the preferred distances."""

    broken: int = 0
    apart: int = 0
    carried: int = 0
    distance: int = 0
    dates: frozenset[date] = frozenset()
    """The dates taken."""

    def plus(self, other: Outcome) -> Outcome:
        sums = (one + another for one, another in zip(self[:4], other[:4], strict=True))
        return Outcome(*sums, self.dates | other.dates)


@dataclass(frozen=True)
class Calendar:
    """What rule 4 must know of a class: the dates that can still be used, and the last on which it meets."""

    usable: tuple[date, ...]
    last: date

    @classmethod
    def of(cls, group: ClassFacts) -> Calendar:
        return cls(tuple(sorted({slot.day for slot in group.slots if slot.usable})), group.slots[-1].day)


def outcomes(
    retrievals: Sequence[Raw], taught_on: date, met: frozenset[date], calendar: Calendar, told: bool
) -> Iterator[Outcome]:
    """Every way in which the dates on which a lesson is met can serve its retrievals; one delivered is late on any date."""

    def serve(place: int, before: date | str, taken: frozenset[date], late: frozenset[date]) -> Iterator[Outcome]:
        if place == len(retrievals):
            yield Outcome()
            return
        numbers = retrievals[place]
        start = before if numbers["chained"] else taught_on
        if isinstance(start, str):
            # In a chain, when one is carried over, so are those after it.
            this = Outcome(broken=1) if start == "broken" else Outcome(apart=1, carried=1)
            yield from (this.plus(rest) for rest in serve(place + 1, start, taken, late))
            return
        gap = {day: (day - start).days for day in {*calendar.usable, *met}}
        window = [day for day in gap if numbers["least"] <= gap[day] <= numbers["most"]]
        lateness = 0
        if not window:
            beyond = [day for day in calendar.usable if gap[day] > numbers["most"]]
            if not numbers["chained"] and not told:
                beyond = [day for day in beyond if day not in late]
            window, lateness = beyond if told and not numbers["chained"] else beyond[:1], 1
            if not numbers["chained"] and not told:
                late = late.union(window)
        serving = [day for day in window if day in met and day not in taken]
        for day in serving:
            this = Outcome(apart=lateness, distance=abs(gap[day] - numbers["preferred"]), dates=frozenset([day]))
            yield from (this.plus(rest) for rest in serve(place + 1, day, taken | {day}, late))
        if (calendar.last - start).days < numbers["most"]:
            yield from (Outcome(apart=1, carried=1).plus(rest) for rest in serve(place + 1, "carried over", taken, late))
        else:
            yield from (Outcome(broken=1).plus(rest) for rest in serve(place + 1, "broken", taken, late))

    return serve(0, taught_on, frozenset(), frozenset())


Rank = Callable[[Outcome], tuple[int, ...]]
"""What makes one outcome better than another: the less, the better."""


def outcome(
    rank: Rank, retrievals: Sequence[Raw], taught_on: date, met: frozenset[date], calendar: Calendar, told: bool
) -> list[Outcome]:
    """The best of them, all that are equally good: fewest broken, then what the aims ask for."""
    found = list(outcomes(retrievals, taught_on, met, calendar, told))
    least = min((each.broken, *rank(each), *each[:4]) for each in found)
    return [each for each in found if (each.broken, *rank(each), *each[:4]) == least]


# -- what is met ---------------------------------------------------------------------------------------------------------


def taught(group: ClassFacts, placed: Assignment) -> list[Lesson]:
    """The lessons placed and those taught before the first slot."""
    return [*group.earlier, *placed_lessons(group, placed)]


def _is_after(meeting: Lesson, lesson: Lesson, placed: Assignment) -> bool:
    return is_earlier(lesson) or pos(meeting, placed) > end(lesson, placed)


def listed_dates(group: ClassFacts, lesson: Lesson, placed: Assignment) -> frozenset[date]:
    """On which the lesson is met again where that is listed."""
    meetings = [y for y in placed_lessons(group, placed) if lesson.key in y.revisits]
    return frozenset(date_of(group, y, placed) for y in meetings if _is_after(y, lesson, placed))


def unmendable(facts: Facts, group: ClassFacts, lesson: Lesson, calendar: Calendar) -> int:
    """How many retrievals of a lesson are broken whatever meets it on the dates that are left, wherever it may still lie.

    Of one that is still to be placed only where that was otherwise before slots were lost.
    """
    fewest = _fewest_broken(facts, group, lesson, calendar, places)
    if lesson.done is not None or not fewest:
        return fewest
    whole = Calendar(tuple(sorted({slot.day for slot in group.slots})), calendar.last)
    return fewest if _fewest_broken(facts, group, lesson, whole, places_once) < fewest else 0


def _fewest_broken(
    facts: Facts, group: ClassFacts, lesson: Lesson, calendar: Calendar, where: Callable[[Facts, ClassFacts, Lesson], list[int]]
) -> int:
    meetings = [y for y in group.lessons if lesson.key in y.revisits or (lesson.chosen and y.choices)]
    days = {group.slots[number].day for meeting in meetings for number in where(facts, group, meeting)}
    done = [lesson.done.day] if lesson.done is not None else []
    broken = []
    for start in done or [group.slots[number].day for number in where(facts, group, lesson)]:
        met = frozenset(day for day in days if day > start)
        broken.append(outcome(_of_dates(facts), lesson.retrievals, start, met, calendar, lesson.done is not None)[0].broken)
    return min(broken, default=len(lesson.retrievals))


# -- choosing ------------------------------------------------------------------------------------------------------------


class Choice(NamedTuple):
    """What becomes of all retrievals of a class, and on which dates which lessons are met by choice."""

    apart: int
    carried: int
    distance: int
    met: tuple[tuple[Key, date], ...]


def _options(
    facts: Facts, group: ClassFacts, lesson: Lesson, placed: Assignment, calendar: Calendar, room: dict[date, int]
) -> list[tuple[Outcome, frozenset[date]]]:
    """What can become of one lesson, each with the dates on which it is then met by choice."""
    taught_on, listed = date_of(group, lesson, placed), listed_dates(group, lesson, placed)
    allowed = unmendable(facts, group, lesson, calendar)
    open_dates = [day for day in sorted(room) if day > taught_on and day not in listed] if lesson.chosen else []
    found, rank = [], _of_dates(facts)
    for number in range(min(len(lesson.retrievals), len(open_dates)) + 1):
        for dates in combinations(open_dates, number):
            chosen = frozenset(dates)
            for each in outcome(rank, lesson.retrievals, taught_on, listed | chosen, calendar, lesson.done is not None):
                # A date that serves nothing is not chosen.
                if each.broken <= allowed and chosen <= each.dates:
                    found.append((each, chosen))
                    break
    return found


def best_choice(facts: Facts, group: ClassFacts, placed: Assignment) -> Choice | None:
    """The best choice by the order of the aims; None when every choice breaks the rule.

    On every date there is room for so many lessons; a retrieval lesson that a pattern made meets one at least.
    """
    calendar = Calendar.of(group)
    room: dict[date, int] = {}
    needed: dict[date, int] = {}
    for lesson in placed_lessons(group, placed):
        day = date_of(group, lesson, placed)
        if lesson.choices:
            room[day] = room.get(day, 0) + lesson.choices
        if lesson.made == "retrieval" and lesson.done is None:
            needed[day] = needed.get(day, 0) + 1
    rank = _ranking(facts)
    each_lesson = []
    for lesson in taught(group, placed):
        if lesson.retrievals:
            options = sorted(_options(facts, group, lesson, placed, calendar, room), key=lambda option: rank(option[0]))
            if not options:
                return None
            each_lesson.append((lesson.key, options))
    best: list[tuple[tuple[int, ...], Outcome, tuple[tuple[Key, date], ...]]] = []

    def choose(place: int, so_far: Outcome, met: tuple[tuple[Key, date], ...]) -> None:
        if best and _at_least(rank, so_far, each_lesson[place:]) >= best[0][0]:
            return
        if place == len(each_lesson):
            if all(sum(day == on for _, on in met) >= number for day, number in needed.items()):
                best[:] = [(rank(so_far), so_far, met)]
            return
        key, options = each_lesson[place]
        for found, dates in options:
            if all(sum(day == on for _, on in met) < room[day] for day in dates):
                choose(place + 1, so_far.plus(found), (*met, *((key, day) for day in sorted(dates))))

    choose(0, Outcome(), ())
    if not best:
        return None
    _, found, met = best[0]
    return Choice(found.apart, found.carried, found.distance, met)


def _at_least(
    rank: Rank,
    so_far: Outcome,
    rest: Sequence[tuple[Key, list[tuple[Outcome, frozenset[date]]]]],
) -> tuple[int, ...]:
    found = so_far
    for _, options in rest:
        found = found.plus(options[0][0])
    return rank(found)


def _ranking(facts: Facts) -> Rank:
    """What counts of an outcome, in the order of the aims."""
    return _by(facts.aims)


def _of_dates(facts: Facts) -> Rank:
    """What counts where the dates are settled: as few as can be are carried over or late, whenever distance is looked at."""
    aims = list(facts.aims)
    if "distance" in aims and "carried over" not in aims[: aims.index("distance")]:
        aims.insert(aims.index("distance"), "carried over")
    return _by(aims)


def _by(aims: Sequence[str]) -> Rank:
    counted: dict[str, Callable[[Outcome], int]] = {
        "carried over": lambda found: found.apart,
        "left for the next plan": lambda found: found.carried,
        "distance": lambda found: found.distance,
    }
    asked = [counted[aim] for aim in aims if aim in counted]
    return lambda found: tuple(count(found) for count in asked)


# -- a choice that is stated ---------------------------------------------------------------------------------------------


def stated_choice(facts: Facts, group: ClassFacts, placed: Assignment, stated: Stated) -> Choice | str:
    """What becomes of the retrievals with a choice that a sequence states, or what is wrong with it."""
    calendar = Calendar.of(group)
    lessons = {lesson.key: lesson for lesson in taught(group, placed)}
    mine = [(x, y) for x, y in stated if x[0] == group.id]
    for x, y in mine:
        if x not in lessons or y not in placed or not lessons[x].chosen or not _is_after(lessons[y], lessons[x], placed):
            return f"{x} cannot be met in {y}"
    for lesson in lessons.values():
        times = sum(y == lesson.key for _, y in mine)
        if times > lesson.choices:
            return f"{lesson.key} has no room for {times}"
    total = Outcome()
    served: dict[Key, frozenset[date]] = {}
    for lesson in lessons.values():
        if lesson.retrievals:
            met = listed_dates(group, lesson, placed) | {date_of(group, lessons[y], placed) for x, y in mine if x == lesson.key}
            taught_on = date_of(group, lesson, placed)
            ways = outcome(_of_dates(facts), lesson.retrievals, taught_on, met, calendar, lesson.done is not None)
            found = ways[0]
            if found.broken > unmendable(facts, group, lesson, calendar):
                return f"{lesson.key} is not met again"
            total = total.plus(found)
            served[lesson.key] = frozenset().union(*(way.dates for way in ways))
    for y in placed_lessons(group, placed):
        here = date_of(group, y, placed)
        serves = any(by == y.key and here in served.get(x, ()) for x, by in mine)
        if y.made == "retrieval" and y.done is None and not serves:
            return f"{y.key} meets nothing in time"
    return Choice(total.apart, total.carried, total.distance, ())
