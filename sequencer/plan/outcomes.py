"""What becomes of practices (rule 3) and retrievals (rule 4) in a sequence, in plain Python from the words of the rules."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from sequencer.instance.facts import ClassFacts, LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.words import CARRIED_OVER, DISTANCE, NEXT_PLAN

KEPT, LATE, CARRIED, BROKEN = "kept", "late", "carried over", "broken"
_WORSE = {KEPT: (0, 0, 0), LATE: (0, 1, 0), CARRIED: (0, 1, 1), BROKEN: (1, 0, 0)}
"""Broken; carried over or late; carried over."""


@dataclass(frozen=True)
class Outcome:
    """What became of a practice (rule 3) or of one retrieval (rule 4) of a lesson.

    ``by`` is the lesson that serves it, None when it is carried over or broken. Of a retrieval, ``distance`` is the number of
    days between the distance kept and the preferred one, and ``number`` says which of the lesson's it is, from 1.
    """

    lesson: int
    what: str
    state: str
    by: int | None = None
    distance: int = 0
    number: int = 1


def practices(laid: Laid) -> tuple[Outcome, ...]:
    """Rule 3 for every placed dense lesson: kept by the first practice lesson in its window, carried over, or broken."""
    found = []
    for lesson in laid.all_placed():
        if lesson.practice is None:
            continue
        serving = [other for other in lesson.practised_by if laid.placed(other) and practises_in_time(laid, lesson, other)]
        if serving:
            found.append(Outcome(lesson.index, "practice", KEPT, min(serving, key=laid.pos)))
            continue
        follow = len(laid.instance.slots_for(lesson)) - 1 - laid.end(lesson.index)
        found.append(Outcome(lesson.index, "practice", CARRIED if follow < lesson.practice.within else BROKEN))
    return tuple(found)


def practises_in_time(laid: Laid, dense: LessonFacts, practice: int) -> bool:
    """Whether a placed practice lesson lies in a placed dense lesson's window."""
    numbers = dense.practice
    assert numbers is not None
    if not 1 <= laid.pos(practice) - laid.end(dense.index) <= numbers.within:
        return False
    if numbers.days is not None and laid.days(dense.index, practice) > numbers.days:
        return False
    if numbers.no_new_content:
        held = laid.holders[dense.class_index]
        between = range(laid.end(dense.index) + 1, laid.pos(practice))
        return not any(slot in held and laid.instance.lessons[held[slot]].kind == "teach" for slot in between)
    return True


def retrievals(laid: Laid) -> tuple[Outcome, ...]:
    """Rule 4 for every retrieval of every lesson taught: the assignment of dates that breaks least, then is best for the aims.

    Kept on a date of its window. Where no slot that can still be used lies in the window but later ones exist, the date of the
    first of them is the window (late); for a delivered lesson every later date is. Carried over only where the window ends after
    the class's last slot.
    """
    found: tuple[Outcome, ...] | None = laid.known.get("retrievals")
    if found is None:
        found = tuple(outcome for lesson in laid.taught_so_far() if lesson.retrievals for outcome in _best(laid, lesson))
        laid.known["retrievals"] = found
    return found


def unavoidably_broken(
    lesson: LessonFacts, facts: ClassFacts, taught: Iterable[date], dates: Iterable[date], untouched: bool = False
) -> tuple[int, frozenset[int]]:
    """How many retrievals are broken even if a lesson is met on each of the dates, and which (from 1) in any case.

    ``taught`` is the date on which it was delivered, or all on which it still can be; ``dates`` all on which something meets it
    or still could. Where ``untouched``, it is asked as if no slot of the class had gone by or were taken yet.
    """
    met = {day: number for number, day in enumerate(sorted(set(dates)))}
    fewest, always = len(lesson.retrievals), frozenset(range(1, len(lesson.retrievals) + 1))
    for number, day in enumerate(sorted(set(taught))):
        found = _broken_from(lesson, day, facts, met, untouched)
        fewest, always = min(fewest, found[0]), found[1] if number == 0 else always & found[1]
        if fewest == 0:
            return 0, frozenset()
    return fewest, always


def _broken_from(
    lesson: LessonFacts, day: date, facts: ClassFacts, met: dict[date, int], untouched: bool
) -> tuple[int, frozenset[int]]:
    def broken(kept: int | None = None) -> list[int]:
        outcomes = _Options(lesson, day, facts, met, (), kept, untouched).best()
        return [outcome.number for outcome in outcomes if outcome.state == BROKEN]

    fewest = broken()
    return len(fewest), frozenset(number for number in fewest if number in (other := broken(number)) or len(other) > len(fewest))


def _best(laid: Laid, lesson: LessonFacts) -> tuple[Outcome, ...]:
    met: dict[date, int] = {}
    for other in laid.met_in.get(lesson.index, ()):
        met.setdefault(laid.date(other), other)
    return _Options(lesson, laid.date(lesson.index), laid.instance.class_of(lesson), met, laid.instance.aims).best()


Badness = tuple[int, int, int, int]
"""Retrievals broken, late or carried over, carried over, and days off the preferred distance: small is better."""


def _in_order(aims: tuple[str, ...]) -> Callable[[Badness], tuple[int, ...]]:
    """How ways are compared: broken first, then as the aims ask in their order, `distance` never before `carried over`."""
    at = {aim: place for place, aim in enumerate(aims)}
    carried, left, distance = (at.get(aim, len(aims)) for aim in (CARRIED_OVER, NEXT_PLAN, DISTANCE))
    order = [part for _, part in sorted([(min(carried, distance), 1), (left, 2), (distance, 3)])]
    return lambda badness: (badness[0], *(badness[part] for part in order))


@dataclass(frozen=True)
class _Before:
    """What became of the retrieval before one that is counted from it."""

    state: str
    on: date | None


class _Options:
    """Every way in which the dates on which a lesson is met again can serve its retrievals, the best of them.

    Retrieval by retrieval; what is left to decide depends only on what is counted from the one before and on the dates taken that
    a later one could still want, so each such question is answered once. Of the dates for a retrieval from which nothing is
    counted, as many of the nearest as there are retrievals are enough: one of them is free. ``kept`` is the number of a retrieval
    that should not be broken, whatever else is; ``untouched`` counts every slot of the class as one that can be used.
    """

    def __init__(
        self,
        lesson: LessonFacts,
        taught_on: date,
        facts: ClassFacts,
        met: dict[date, int],
        aims: tuple[str, ...],
        kept: int | None = None,
        untouched: bool = False,
    ) -> None:
        self.lesson = lesson
        self.taught_on = taught_on
        self.met, self._dates = met, {by: day for day, by in met.items()}
        self.kept = kept
        self.in_order = _in_order(aims)
        self.told = lesson.delivered is not None
        self.usable = tuple(dict.fromkeys(slot.date for slot in facts.slots)) if untouched else facts.usable_dates
        self.last = facts.slots[-1].date if facts.slots else None
        self._known: dict[tuple[object, ...], tuple[Badness, tuple[Outcome, ...]]] = {}

    def best(self) -> tuple[Outcome, ...]:
        """Of all ways the one that breaks least, then is best for the aims."""
        return self._from(0, None, frozenset(), ())[1]

    def _from(
        self, place: int, before: _Before | None, taken: frozenset[date], late: tuple[date, ...]
    ) -> tuple[Badness, tuple[Outcome, ...]]:
        """The best outcomes of the retrievals from ``place`` on; ``late`` are the dates that late ones so far have taken."""
        retrievals = self.lesson.retrievals
        if place == len(retrievals):
            return (0, 0, 0, 0), ()
        before = before if retrievals[place].chained else None
        question = (place, before, taken, late)
        if question not in self._known:
            ways = (self._with(this, place, taken, late_then) for this, late_then in self._ways(place, before, taken, late))
            self._known[question] = min(ways, key=lambda way: self.in_order(way[0]))
        return self._known[question]

    def _with(
        self, this: Outcome, place: int, taken: frozenset[date], late: tuple[date, ...]
    ) -> tuple[Badness, tuple[Outcome, ...]]:
        """One outcome and the best of those after it."""
        on = None if this.by is None else self._dates[this.by]
        then = taken if on is None else taken | {on}
        wanted = self._wanted(place + 1, on)
        badness, rest = self._from(place + 1, _Before(this.state, on), frozenset(filter(wanted, then)), late)
        broken, apart, carried = _WORSE[this.state]
        if this.number == self.kept:
            broken *= 1 + len(self.lesson.retrievals)
        sums = zip((broken, apart, carried, this.distance), badness, strict=True)
        return tuple(one + other for one, other in sums), (this, *rest)  # type: ignore[return-value]

    def _wanted(self, place: int, on: date | None) -> Callable[[date], bool]:
        """Whether a date could serve a retrieval from ``place`` on."""
        left = self.lesson.retrievals[place:]
        if not left:
            return lambda day: False
        if any(numbers.chained for numbers in left):
            only_chain = all(numbers.chained for numbers in left)
            return lambda day: not only_chain or on is None or day > on
        least = min(numbers.least for numbers in left)
        return lambda day: (day - self.taught_on).days >= least

    def _ways(
        self, place: int, before: _Before | None, taken: frozenset[date], late: tuple[date, ...]
    ) -> Iterator[tuple[Outcome, tuple[date, ...]]]:
        """What can become of one retrieval, with the dates that late ones have then taken."""
        index, numbers = self.lesson.index, self.lesson.retrievals[place]
        start: date | None = self.taught_on
        if numbers.chained and before is not None:
            start = before.on
        if start is None:
            # In a chain, when one is carried over, so are those after it; nothing can be said of what follows a broken one.
            assert before is not None
            yield Outcome(index, "retrieval", before.state, number=place + 1), late
            return
        window = [day for day in (*self.met, *self.usable) if numbers.least <= (day - start).days <= numbers.most]
        state = KEPT
        if not window:
            gone = () if numbers.chained or self.told else late
            later = [day for day in self.usable if (day - start).days > numbers.most and day not in gone]
            # What was delivered cannot be helped, and many may be due on the first date: any that is left will do.
            window, state = later if self.told and not numbers.chained else later[:1], LATE
            late = late if numbers.chained or self.told else (*gone, *window)
        served = sorted({day for day in window if day in self.met and day not in taken and day > start})
        anchors = place + 1 < len(self.lesson.retrievals) and self.lesson.retrievals[place + 1].chained
        if not anchors:
            served.sort(key=lambda day: abs((day - start).days - numbers.preferred))
            served = sorted(served[: len(self.lesson.retrievals)])
        for day in served:
            distance = abs((day - start).days - numbers.preferred)
            yield Outcome(index, "retrieval", state, self.met[day], distance, place + 1), late
        if self.last is not None and numbers.most > (self.last - start).days:
            yield Outcome(index, "retrieval", CARRIED, number=place + 1), late
        elif not served or self.told:
            # Of a delivered lesson's retrievals one may have to be given up for another.
            yield Outcome(index, "retrieval", BROKEN, number=place + 1), late
