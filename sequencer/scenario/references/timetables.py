"""Each class's timetable: labels, dates and period numbers."""

from __future__ import annotations

from collections.abc import Collection

from sequencer.scenario.periods import holds_every_week, labelled_weeks, meetings
from sequencer.scenario.places import shown
from sequencer.scenario.references.entries import Entry, Findings
from sequencer.scenario.references.outline import SPREAD_OUT, Outline
from sequencer.words import EVERY_WEEK, WEEKDAYS


def timetables_have_their_form(outline: Outline, findings: Findings) -> None:
    """A timetable that is one mapping holds weekdays or labels, not both, and nothing else."""
    for class_ in outline.root["classes"].mappings():
        timetable = class_["timetable"]
        keys = [key for key, _ in timetable.items()]
        labels = cycle_labels(outline)
        if {"weeks", "first"}.intersection(keys).difference(labels):
            findings.add(timetable, "must be a list when it says weeks: put a dash before its first key", explains=True)
        elif keys and not holds_every_week(timetable):
            _labels_are_known(timetable, labels, findings)


def listed_timetables_have_labels(outline: Outline, findings: Findings) -> None:
    """A timetable in a list names labels of the cycle."""
    for class_ in outline.root["classes"].mappings():
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
    for class_ in outline.root["classes"].mappings():
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
            if outline.last is not None and first.day > outline.last:
                findings.add(first, f"lies after the end of term, {outline.last} (got {first.text})")
            before = first.day


def periods_are_given_once(outline: Outline, findings: Findings) -> None:
    """A class does not meet twice in one period of one day, also not through `every` and a label together."""
    for class_ in outline.root["classes"].mappings():
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
    for class_ in outline.root["classes"].mappings():
        timetable = class_["timetable"]
        well_formed = all(isinstance(days.value, dict) for _, _, days in labelled_weeks(class_))
        written = isinstance(timetable.value, dict) or bool(timetable.mappings())
        if written and well_formed and next(meetings(class_), None) is None:
            findings.add(timetable, "has no periods")


def periods_have_bell_times(outline: Outline, findings: Findings) -> None:
    """Where bell times are given, every period number that is used has one."""
    root = outline.root
    bells = {bell["number"].number for bell in root["periods"].mappings()}
    if not bells or None in bells:
        return
    used = [meeting.period for class_ in root["classes"].mappings() for meeting in meetings(class_)]
    spread_out = [entry for key in SPREAD_OUT for entry in root[key].mappings()]
    fixed = [entry for spell in root["remote_spells"].mappings() for entry in spell["fixed"].mappings()]
    used += [period for entry in spread_out + fixed for period in entry["periods"].listed()]
    used += [period for pair in root["adjacent_periods"].listed() for period in pair.listed()]
    used += [lesson["period"] for unit in root["units"].mappings() for lesson in unit["lessons"].mappings()]
    used += [entry["period"] for entry in root["record"].mappings()]
    used += [said["period"] for class_ in root["classes"].mappings() for _, said in class_["lessons"].items()]
    for period in used:
        if period.number is not None and period.number not in bells:
            findings.add(period, f"is a period without a bell time under periods (got {shown(period.number)})")


def classes_leave_in_term(outline: Outline, findings: Findings) -> None:
    """The date a class leaves lies in term."""
    for class_ in outline.root["classes"].mappings():
        leaves = class_["leaves"]
        if leaves.day and outline.first and outline.last and not outline.first <= leaves.day <= outline.last:
            findings.add(leaves, f"must lie in term, {outline.first} to {outline.last} (got {leaves.text})")


TIMETABLE_CHECKS = (
    timetables_have_their_form,
    listed_timetables_have_labels,
    timetables_follow_one_another,
    periods_are_given_once,
    classes_meet,
    periods_have_bell_times,
    classes_leave_in_term,
)
