"""The periods of a class's timetable, in whichever of its short forms it is written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sequencer.scenario.references.entries import Entry
from sequencer.words import EVERY_WEEK, WEEKDAYS


@dataclass(frozen=True)
class Meeting:
    """One period of a class on one weekday.

    Parameters
    ----------
    timetable
        Which of the class's timetables, from 0.
    label
        The label of the week, or ``every``.
    entry
        The period as it stands in the document: a number, or a mapping that says more.
    """

    timetable: int
    label: str
    weekday: str
    entry: Entry

    @property
    def period(self) -> Entry:
        """The period's number and its place."""
        return self.entry["period"] if isinstance(self.entry.value, dict) else self.entry


def labelled_weeks(class_: Entry) -> Iterator[tuple[int, str, Entry]]:
    """Each timetable's number, its labels, and what stands under them."""
    written = class_["timetable"]
    if isinstance(written.value, list):
        for number, timetable in enumerate(written.listed()):
            for label, days in timetable["weeks"].items():
                yield number, label, days
    elif holds_every_week(written):
        yield 0, EVERY_WEEK, written
    elif "weeks" in written and not holds_every_week(written["weeks"]):
        # Written as an entry of a list, which is an error: read so far that nothing else is said of it.
        for label, days in written["weeks"].items():
            yield 0, label, days
    else:
        for label, days in written.items():
            beside_labels = label in WEEKDAYS
            yield 0, EVERY_WEEK if beside_labels else label, Entry({label: days.value}, written.path) if beside_labels else days


def holds_every_week(timetable: Entry) -> bool:
    """Whether a timetable is written as weekdays only."""
    return bool(timetable.items()) and all(key in WEEKDAYS for key, _ in timetable.items())


def meetings(class_: Entry) -> Iterator[Meeting]:
    """Every period of a class's timetables, in the order written."""
    for number, label, days in labelled_weeks(class_):
        for weekday, periods in days.items():
            for entry in periods.listed():
                yield Meeting(number, label, weekday, entry)
