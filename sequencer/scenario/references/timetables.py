"""Each class's timetable, in any of its short forms: its periods, and whether its labels, dates and numbers fit."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from sequencer.scenario.places import shown
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.outline import SPREAD_OUT, Outline
from sequencer.words import EVERY_WEEK, WEEKDAYS


@dataclass(frozen=True)
class TimetabledPeriod:
    """One period of a class on one weekday: in which of its timetables, from 0, under which label, and how it is written."""

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


def meetings(class_: Entry) -> Iterator[TimetabledPeriod]:
    """Every period of a class's timetables, in the order written."""
    for number, label, days in labelled_weeks(class_):
        for weekday, periods in days.items():
            for entry in periods.listed():
                yield TimetabledPeriod(number, label, weekday, entry)


def timetables_have_their_form(outline: Outline, findings: Findings) -> None:
    """A timetable that is one mapping holds weekdays or labels, not both, and nothing else."""
    for class_ in outline.root.all("classes"):
        timetable = class_["timetable"]
        keys = [key for key, _ in timetable.items()]
        labels = cycle_labels(outline)
        if {"weeks", "first"}.intersection(keys).difference(labels):
            findings.add(timetable, "must be a list when it says weeks: put a dash before its first key", explains=True)
        elif keys and not holds_every_week(timetable):
            _labels_are_known(timetable, labels, findings)


def listed_timetables_have_labels(outline: Outline, findings: Findings) -> None:
    """A timetable in a list names labels of the cycle."""
    for class_ in outline.root.all("classes"):
        if isinstance(class_["timetable"].value, list):
            for timetable in class_["timetable"].mappings():
                _labels_are_known(timetable["weeks"], cycle_labels(outline), findings)


def cycle_labels(outline: Outline) -> list[str]:
    """The labels of the cycle, each once; one week, A, unless stated."""
    cycle = outline.root["term"]["cycle"]
    return list(dict.fromkeys(word for word, _ in cycle.words())) if cycle.stated else ["A"]


def _labels_are_known(weeks: Entry, labels: Collection[str], findings: Findings) -> None:
    for key, days in weeks.items():
        if key == EVERY_WEEK or key in labels:
            continue
        known = [*labels, EVERY_WEEK]
        message = f"is not every or a label of the cycle, {', '.join(labels)}"
        if key in WEEKDAYS:
            message = f"is a weekday beside labels: put it under every, or under {' or '.join(labels)}"
            findings.add(days, message, on_key=True, explains=True)
        elif isinstance(days.value, dict):
            findings.unknown(days, key, message, known, on_key=True)
        else:
            hint = findings.suggestions.hint(key, [*WEEKDAYS, *known])
            findings.add(days, f"is neither a weekday nor a label of the cycle{hint}", on_key=True, explains=True)


def timetables_follow_one_another(outline: Outline, findings: Findings) -> None:
    """Of several timetables each but the first says from when it holds, later than the one before and within term."""
    for class_ in outline.root.all("classes"):
        timetables = class_["timetable"].mappings() if isinstance(class_["timetable"].value, list) else []
        before = None
        for number, timetable in enumerate(timetables):
            first = timetable["first"]
            if not first.stated and number > 0:
                findings.add(timetable, "must say from when it holds (first), since it is not the first timetable")
            if first.day is None:
                continue
            if before is not None and first.day <= before:
                findings.add(first, f"must be later than that of the timetable before (got {first.text})")
            findings.over(first, outline.last)
            before = first.day


def periods_are_given_once(outline: Outline, findings: Findings) -> None:
    """A class does not meet twice in one period of one day, also not through `every` and a label together."""
    for class_ in outline.root.all("classes"):
        met: dict[tuple[int, str, int], list[str]] = {}
        for meeting in meetings(class_):
            number = meeting.period.number
            if number is None:
                continue
            labels = met.setdefault((meeting.timetable, meeting.weekday, number), [])
            if meeting.label in labels:
                findings.add(meeting.period, f"is given twice for {meeting.weekday} (period {number})")
            elif labels and (EVERY_WEEK in labels or meeting.label == EVERY_WEEK):
                message = f"is given for {meeting.weekday} under {labels[0]} already (period {number})"
                findings.add(meeting.period, message)
            else:
                labels.append(meeting.label)


def classes_meet(outline: Outline, findings: Findings) -> None:
    """Every class has at least one period."""
    for class_ in outline.root.all("classes"):
        timetable = class_["timetable"]
        well_formed = all(isinstance(days.value, dict) for _, _, days in labelled_weeks(class_))
        written = isinstance(timetable.value, dict) or bool(timetable.mappings())
        if written and well_formed and next(meetings(class_), None) is None:
            findings.add(timetable, "has no periods")


def periods_have_bell_times(outline: Outline, findings: Findings) -> None:
    """Where bell times are given, every period number that is used has one."""
    root = outline.root
    bells = {bell["number"].number for bell in root.all("periods")}
    if not bells or None in bells:
        return
    used = [meeting.period for class_ in root.all("classes") for meeting in meetings(class_)]
    lists = root.each(f"{SPREAD_OUT}.periods", "remote_spells.fixed.periods") + root["adjacent_periods"].listed()
    used += [period for periods in lists for period in periods.listed()]
    used += root.each("units.lessons.period", "record.period", "classes.lessons.*.period")
    for period in used:
        if period.number is not None and period.number not in bells:
            findings.add(period, f"is a period without a bell time under periods (got {shown(period.number)})")


def classes_leave_in_term(outline: Outline, findings: Findings) -> None:
    """The date a class leaves, and those of a cohort's fixed assessments, lie in term."""
    fixed = outline.root.each("cohorts.subjects.fixed_assessments")
    days = [*outline.root.each("classes.leaves"), *(day for dates in fixed for day in dates.listed())]
    findings.outside(days, outline.first, outline.last)
