"""The record beside the calendar: each class met in the periods it names, and one lesson was taught in each.

These checks need every class's periods, so they run on a scenario in which nothing else is wrong.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise

from sequencer.instance.calendar import Slot, slots_of, taught_together
from sequencer.instance.listing import listed_lessons
from sequencer.scenario.patterns import lessons_of_units
from sequencer.scenario.places import Path, Suggestions
from sequencer.scenario.record_schema import RecordEntry
from sequencer.scenario.references.entries import Finding, Findings
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import school_calendar
from sequencer.scenario.unit_schema import Lesson
from sequencer.words import BEFORE, IN_CLASS, LIVE, LOST, OPEN, REMAINS, SET_WORK, SKIPPED

_AS = {IN_CLASS: (IN_CLASS,), LIVE: (LIVE,), SET_WORK: (SET_WORK,), OPEN: (LIVE, SET_WORK)}
"""How a lesson can have been taught, by what its periods allow."""

Key = tuple[str, str]
"""A unit's id and a lesson's."""


def period_findings(scenario: Scenario) -> tuple[Finding, ...]:
    """What is wrong with the dates and periods of the record, and with the dates of what was taught before."""
    findings = Findings(Suggestions())
    entries: dict[str, list[tuple[int, RecordEntry]]] = {}
    for number, entry in enumerate(scenario.record):
        entries.setdefault(entry.class_, []).append((number, entry))
    calendar = school_calendar(scenario)
    of_units = lessons_of_units(scenario) if entries else {}
    without_record = scenario.model_copy(update={"record": ()})
    for place, class_ in enumerate(scenario.classes):
        own = entries.get(class_.id, [])
        if not own and not class_.taught_before:
            continue
        slots = slots_of(without_record, calendar, class_)
        for number, topic in enumerate(class_.taught_before):
            if slots and topic.date >= slots[0].date:
                message = f"must lie before the first date on which class {class_.id} meets, {slots[0].date} (got {topic.date})"
                findings.add(("classes", place, "taught_before", number, "date"), message)
        lessons = {each.key: each.lesson for each in listed_lessons(scenario, place, slots, of_units)[0]} if own else {}
        _ClassRecord(scenario, class_.id, slots, lessons, findings).check(own)
    return tuple(findings.found)


@dataclass(frozen=True)
class _Taught:
    """A lesson as it was taught: its place in the record, its date, and its slots where it has any."""

    number: int
    date: date
    slots: tuple[Slot, ...]

    def ends_before(self, other: _Taught) -> bool:
        """Whether it was over when another began; on one date before the class's first slot, it may have been."""
        if self.date != other.date or not self.slots or not other.slots:
            return self.date <= other.date
        return self.slots[-1].number < other.slots[0].number


@dataclass
class _ClassRecord:
    """One class's part of the record beside its slots, those lost included."""

    scenario: Scenario
    class_id: str
    slots: tuple[Slot, ...]
    lessons: dict[Key, Lesson]
    findings: Findings
    lost: dict[int, int] = field(default_factory=dict)
    """Slots that were lost, and where the record says so."""
    taken: dict[int, int] = field(default_factory=dict)
    """Slots in which a lesson was taught, and where the record says so."""
    taught: dict[Key, _Taught] = field(default_factory=dict)

    def check(self, entries: list[tuple[int, RecordEntry]]) -> None:
        """Report what cannot have been: first of periods lost, then of lessons taught."""
        for number, entry in entries:
            slot = self._slot(number, entry) if entry.what == LOST else None
            if slot is not None and self.lost.setdefault(slot.number, number) != number:
                self._report(number, "date", f"and its period are lost already (record[{self.lost[slot.number]}])")
        taught = [(number, entry, self._key(entry)) for number, entry in entries if entry.what not in (LOST, SKIPPED)]
        for each in taught:
            self._was_taught(*each)
        for each in taught:
            self._lies_after(*each)

    def _key(self, entry: RecordEntry) -> Key:
        return next(key for key in self.lessons if key[1] == entry.lesson and entry.unit in (None, key[0]))

    def _was_taught(self, number: int, entry: RecordEntry, key: Key) -> None:
        assert entry.date is not None
        if not self.slots or entry.date < self.slots[0].date:
            self.taught[key] = _Taught(number, entry.date, ())
            return
        slot = self._slot(number, entry)
        if slot is None:
            return
        length = self.lessons[key].length
        slots = self.slots[slot.number : slot.number + length]
        if len(slots) < length or not all(self._adjacent(*pair) for pair in pairwise(slots)):
            message = f"leaves no room for {entry.lesson}, which takes {length} adjacent periods of one date"
            self._report(number, "period", message)
            return
        self.taught[key] = _Taught(number, entry.date, slots)
        for each in slots:
            if each.number in self.lost:
                self._report(number, "period", f"puts {entry.lesson} where a period was lost (record[{self.lost[each.number]}])")
                return
            if self.taken.setdefault(each.number, number) != number:
                other = self.taken[each.number]
                lesson = self.scenario.record[other].lesson
                self._report(number, "period", f"puts {entry.lesson} where {lesson} was taught (record[{other}])")
                return
        self._taught_as_the_periods_allow(number, entry, slots)

    def _taught_as_the_periods_allow(self, number: int, entry: RecordEntry, slots: tuple[Slot, ...]) -> None:
        together = taught_together(slots)
        if together is None:
            self._report(number, "period", f"spreads {entry.lesson} over periods that are not taught in one way")
        elif entry.taught is not None and entry.taught not in _AS[together]:
            self._report(number, "taught", f"must be {' or '.join(_AS[together])} in that period (got {entry.taught})")

    def _lies_after(self, number: int, entry: RecordEntry, key: Key) -> None:
        """What remains of a lesson comes after it, and what was met again was taught by then."""
        here = self.taught.get(key)
        if here is None:
            return
        for whole, before in self._remains_of(key):
            if not before.ends_before(here):
                message = f"must lie after {whole}, which was taught on {before.date} (record[{before.number}])"
                self._report(number, "date", message)
        for place, ref in enumerate(entry.revisits):
            unit, slash, lesson = ref.partition("/")
            met = (unit, lesson) if slash else (key[0], ref)
            if met[0] != BEFORE and (met not in self.taught or not self.taught[met].ends_before(here)):
                self.findings.add(("record", number, "revisits", place), f"names {ref}, which was not taught by then")

    def _remains_of(self, key: Key) -> Iterator[tuple[str, _Taught]]:
        """The lesson that this one remains of, when it does."""
        for what, ending in REMAINS.items():
            whole = key[0], key[1].removesuffix(f"-{ending}")
            if whole != key and whole in self.taught and self.scenario.record[self.taught[whole].number].what == what:
                yield whole[1], self.taught[whole]

    def _slot(self, number: int, entry: RecordEntry) -> Slot | None:
        """The slot that an entry names; when there is none, that is reported."""
        assert entry.date is not None
        met = [slot for slot in self.slots if slot.date == entry.date]
        periods = _periods([slot.period for slot in met])
        if not met:
            self._report(number, "date", f"is a date on which class {self.class_id} does not meet{self._nearest(entry.date)}")
        elif entry.period is None and entry.what == LOST and len(met) == 1:
            return met[0]
        elif entry.period is None:
            message = f"must say the period: class {self.class_id} meets in {periods} on {entry.date}"
            self.findings.add(("record", number), message)
        else:
            slot = next((slot for slot in met if slot.period == entry.period), None)
            if slot is None:
                message = (
                    f"is none in which class {self.class_id} meets on {entry.date}: it meets in {periods} (got {entry.period})"
                )
                self._report(number, "period", message)
            return slot
        return None

    def _nearest(self, day: date) -> str:
        """The dates on either side on which the class meets."""
        dates = sorted({slot.date for slot in self.slots})
        place = bisect_left(dates, day)
        near = dates[max(0, place - 1) : place + 1]
        return f": the nearest {'are' if len(near) > 1 else 'is'} {' and '.join(map(str, near))}" if near else ""

    def _adjacent(self, first: Slot, second: Slot) -> bool:
        pairs = self.scenario.adjacent_periods
        follows = second.period - first.period == 1 if pairs is None else (first.period, second.period) in pairs
        return first.date == second.date and follows

    def _report(self, number: int, key: str, message: str) -> None:
        path: Path = ("record", number, key)
        self.findings.add(path, message)


def _periods(numbers: list[int]) -> str:
    listed = " and ".join(map(str, numbers))
    return f"period{'s' if len(numbers) > 1 else ''} {listed}"
