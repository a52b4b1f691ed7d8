"""What becomes of practices (rule 3) and retrievals (rule 4) in a sequence, in plain Python from the words of the rules."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from sequencer.facts import ClassFacts, LessonFacts, RetrievalNumbers
from sequencer.sequence import Laid

KEPT, LATE, CARRIED, BROKEN = "kept", "late", "carried over", "broken"
_WORSE = {KEPT: (0, 0, 0), LATE: (0, 1, 0), CARRIED: (0, 1, 1), BROKEN: (1, 0, 0)}
"""Broken, then carried over or late, then carried over: late is better than not at all."""


@dataclass(frozen=True)
class Outcome:
    """What became of a practice (rule 3) or of one retrieval (rule 4).

    Parameters
    ----------
    lesson
        The dense lesson, or the lesson to be retrieved.
    what
        ``practice`` or ``retrieval``.
    state
        ``kept``, ``late``, ``carried over``, or ``broken`` when none of these.
    by
        The lesson that serves it; None when carried over or broken.
    distance
        For a retrieval, days between the distance kept and the preferred one; 0 when carried over or broken.
    number
        For a retrieval, which of the lesson's, from 1.
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
    """Rule 4 for every retrieval of every lesson taught: the assignment of dates that breaks, then carries over, least.

    Kept on a date of its window. Where no slot that can still be used lies in the window but later ones exist, the date of the
    first of them is the window (late); for a delivered lesson every later date is. Carried over only where the window ends after
    the class's last slot.
    """
    return tuple(outcome for lesson in laid.taught_so_far() if lesson.retrievals for outcome in _best(laid, lesson))


def unavoidably_broken(lesson: LessonFacts, facts: ClassFacts, dates: Iterable[date]) -> tuple[int, frozenset[int]]:
    """How many retrievals of a delivered lesson are broken even if it is met again on each of the dates, and which in any case.

    Parameters
    ----------
    lesson, facts
        The delivered lesson and its class.
    dates
        All on which something meets it or still could.

    Returns
    -------
    tuple
        The least number, and the numbers (from 1) of those that are broken wherever so few are.
    """
    assert lesson.delivered is not None
    met = {day: number for number, day in enumerate(sorted(set(dates)))}
    options = _Options(lesson, lesson.delivered.date, facts, met, few=True)
    least, always = len(lesson.retrievals) + 1, frozenset[int]()
    for outcomes in options.assignments(0, (), ()):
        broken = frozenset(outcome.number for outcome in outcomes if outcome.state == BROKEN)
        if len(broken) < least:
            least, always = len(broken), broken
        elif len(broken) == least:
            always &= broken
        if not least:
            break
    return least, always


def _best(laid: Laid, lesson: LessonFacts) -> tuple[Outcome, ...]:
    met: dict[date, int] = {}
    for other in laid.met_in.get(lesson.index, ()):
        met.setdefault(laid.date(other), other)
    options = _Options(lesson, laid.date(lesson.index), laid.instance.class_of(lesson), met)
    return min(options.assignments(0, (), ()), key=_badness)


def _badness(outcomes: tuple[Outcome, ...]) -> tuple[int, int, int, int]:
    broken, apart, carried = (sum(_WORSE[outcome.state][place] for outcome in outcomes) for place in range(3))
    return broken, apart, carried, sum(outcome.distance for outcome in outcomes)


class _Options:
    """Every way in which the dates on which a lesson is met again can serve its retrievals.

    ``met`` says for each date what meets it. With ``few``, so many ways that the least number broken is among them: of the dates
    that serve one retrieval, and from which nothing else is counted, as many as there are retrievals are enough.
    """

    def __init__(self, lesson: LessonFacts, taught_on: date, facts: ClassFacts, met: dict[date, int], few: bool = False) -> None:
        self.lesson = lesson
        self.taught_on = taught_on
        self.met = met
        self.few = few
        self.told = lesson.delivered is not None
        self.usable = sorted({slot.date for slot in facts.slots if facts.usable[slot.number]})
        self.last = facts.slots[-1].date if facts.slots else None

    def assignments(self, place: int, found: tuple[Outcome, ...], late_dates: tuple[date, ...]) -> Iterator[tuple[Outcome, ...]]:
        """Outcomes of the retrievals from ``place`` on, after those found; ``late_dates`` are taken by late ones so far."""
        if place == len(self.lesson.retrievals):
            yield found
            return
        numbers = self.lesson.retrievals[place]
        start = self._counted_from(numbers, found)
        if start is None:
            # In a chain, when one is carried over, so are those after it; nothing can be said of what follows a broken one.
            before = found[-1]
            outcome = Outcome(self.lesson.index, "retrieval", before.state, number=place + 1)
            yield from self.assignments(place + 1, (*found, outcome), late_dates)
            return
        taken = {self.on[outcome.by] for outcome in found if outcome.by is not None}
        window = [day for day in (*self.met, *self.usable) if numbers.least <= (day - start).days <= numbers.most]
        state = KEPT
        if not window:
            gone = () if numbers.chained or self.told else late_dates
            later = [day for day in self.usable if (day - start).days > numbers.most and day not in gone]
            # What was delivered cannot be helped, and many may be due on the first date: any that is left will do.
            window, state = later if self.told and not numbers.chained else later[:1], LATE
            late_dates = late_dates if numbers.chained or self.told else (*gone, *window)
        served = [day for day in dict.fromkeys(window) if day in self.met and day not in taken and day > start]
        anchors = place + 1 < len(self.lesson.retrievals) and self.lesson.retrievals[place + 1].chained
        if self.few and not anchors:
            served = served[: len(self.lesson.retrievals)]
        for day in served:
            yield from self.assignments(place + 1, (*found, self._served(place, state, day, start)), late_dates)
        if self.last is not None and numbers.most > (self.last - start).days:
            unserved = Outcome(self.lesson.index, "retrieval", CARRIED, number=place + 1)
        elif served and not self.told:
            return
        else:
            # Of a delivered lesson's retrievals one may have to be given up for another.
            unserved = Outcome(self.lesson.index, "retrieval", BROKEN, number=place + 1)
        yield from self.assignments(place + 1, (*found, unserved), late_dates)

    def _counted_from(self, numbers: RetrievalNumbers, found: tuple[Outcome, ...]) -> date | None:
        """Where a retrieval's days are counted from; None when that is a retrieval which did not take place."""
        if not numbers.chained or not found:
            return self.taught_on
        return None if found[-1].by is None else self.on[found[-1].by]

    @property
    def on(self) -> dict[int | None, date]:
        """The date of each lesson that meets this one again."""
        return {by: day for day, by in self.met.items()}

    def _served(self, place: int, state: str, day: date, start: date) -> Outcome:
        numbers = self.lesson.retrievals[place]
        distance = abs((day - start).days - numbers.preferred)
        return Outcome(self.lesson.index, "retrieval", state, self.met[day], distance, place + 1)
