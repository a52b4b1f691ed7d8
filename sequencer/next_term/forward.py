"""From a term's scenario and its sequence, the next term's: a skeleton to be filled in, with nothing lost that is left."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from sequencer.errors import UnusableSettings
from sequencer.instance.build import build_instance
from sequencer.instance.naming import named
from sequencer.instance.plain_names import by_title
from sequencer.next_term.class_forward import OWN_UNIT, ClassWriter
from sequencer.next_term.draft import Draft
from sequencer.next_term.standing import ClassStanding
from sequencer.next_term.still_needed import Kept
from sequencer.next_term.tail import NewDates, calendar_data, first_meeting, tail_start, with_calendar
from sequencer.next_term.units_forward import put_in_order, units_data
from sequencer.plan.sequence import Laid, Sequence
from sequencer.rules.verdict import day_text
from sequencer.scenario.places import Path
from sequencer.scenario.references.entries import Finding
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import Calendar, school_calendar

_OF_ONE_TERM = frozenset(
    (
        "format",
        "title",
        "term",
        "holidays",
        "closures",
        "remote_spells",
        "restricted_days",
        "today",
        "record",
        "units",
        "classes",
        "what_ifs",
    )
)
"""Keys of a scenario that are made anew for a term; all others hold in every term."""

LONGEST_TERM = 400
"""Days; the language allows no more between two dates that it counts."""


@dataclass(frozen=True)
class NextTerm:
    """The next term's scenario, as far as this term's says what it is: it reads back and can be solved.

    In sentences: what was carried over from this term, what a teacher has still to say, what of this term's was left out.
    """

    scenario: Scenario
    carried: tuple[str, ...]
    to_fill_in: tuple[str, ...]
    no_longer_fits: tuple[str, ...]


def next_term(scenario: Scenario, sequence: Sequence, first: date, last: date) -> NextTerm:
    """Roll a scenario, with a record of what happened where there is one, and its sequence forward to the next term.

    Whatever the sequence places is taken as taught; ``first`` and ``last`` are days of the next term.

    Raises
    ------
    UnusableSettings
        When the next term does not begin after this one, or ends before it begins.
    """
    _check_dates(scenario, first, last)
    laid = Laid(build_instance(scenario), sequence)
    naming = by_title(laid.instance)
    misfits = [
        f"{named((laid.instance.lessons[stray.lesson],))}, {day_text(stray.date)}, period {stray.period}: not taught then, since "
        f"class {laid.instance.class_of(laid.instance.lessons[stray.lesson]).id} does not meet"
        for stray in sequence.strays
    ]
    standings = []
    for facts, class_ in zip(laid.instance.classes, scenario.classes, strict=True):
        if class_.leaves is not None and class_.leaves < first:
            misfits.append(f"class {class_.id}: left out, since it leaves on {day_text(class_.leaves)}")
        else:
            standings.append(ClassStanding(laid, facts.index))
    if not standings:
        raise UnusableSettings(["no class is left: all have left before the next term begins"])
    dates = NewDates(tail_start(laid, standings, first), first, last)
    data: dict[str, Any] = {"format": 1}
    if scenario.title is not None:
        data["title"] = f"After: {scenario.title}"[:200]
    data |= calendar_data(laid, dates)
    on_it = with_calendar(scenario, data)
    calendar = school_calendar(on_it)

    kept = Kept(scenario, standings, dates.tail)
    stated = scenario.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    data |= {key: value for key, value in stated.items() if key not in _OF_ONE_TERM}
    _drop_spans(data.get("rules", {}), first, misfits)
    data["today"] = first.isoformat()
    units = units_data(scenario, laid, kept, first, misfits)
    classes, record, carried = _classes(scenario, kept, dates, on_it, calendar, units, misfits)
    order = put_in_order(scenario, kept, units)
    if not units:
        units.append({"id": "first-unit", "lessons": [{"id": "first-lesson", "optional": True}]})
    data |= {"record": record, "units": units, "classes": classes}
    _forget_classes(data, {standing.class_.id for standing in standings})
    draft = Draft({key: value for key, value in data.items() if value != []}, naming)

    def told(find: Finding, path: Path, key: str, value: Any) -> str:
        stood = f" {value}" if isinstance(value, str | int) else ""
        return f"{draft.subject(path)}{key and f', {key}{stood}'}: left out, since it {find.message}"

    new, _ = draft.settled(told)
    misfits += [misfit.text for misfit in draft.misfits]
    said = [tuple(map(naming, each)) for each in (carried, [*_to_fill_in(new, dates), *order], misfits)]
    return NextTerm(new, *said)


def _check_dates(scenario: Scenario, first: date, last: date) -> None:
    problems = []
    if first <= scenario.term.last:
        problems.append(f"the next term must begin after this one ends, on {day_text(scenario.term.last)} (got {first})")
    if last < first:
        problems.append(f"the next term must not end before it begins, on {day_text(first)} (got {last})")
    elif (last - first).days > LONGEST_TERM or (first - scenario.term.last).days > LONGEST_TERM:
        problems.append(f"the next term must begin, and be over, within {LONGEST_TERM} days each (got {first} to {last})")
    if problems:
        raise UnusableSettings(problems)


def _classes(
    scenario: Scenario,
    kept: Kept,
    dates: NewDates,
    on_it: Scenario,
    calendar: Calendar,
    units: list[dict[str, Any]],
    misfits: list[str],
) -> tuple[list[dict[str, Any]], list[dict[str, Any]], list[str]]:
    classes, record, carried = [], [], []
    for standing in kept.standings:
        resumes = first_meeting(on_it, calendar, standing.facts.index, dates.first) or dates.first
        writer = ClassWriter(scenario, kept, standing, dates, resumes)
        classes.append(writer.data(units, misfits))
        _drop_spans(classes[-1].get("rules", {}), dates.first, misfits)
        record += writer.record()
        carried += writer.carried
    return classes, record, carried


def _drop_spans(rules: dict[str, Any], first: date, misfits: list[str]) -> None:
    """Quotas over a span of dates that is over are left out."""
    kept = []
    for quota in rules.get("live_quotas", ()):
        if "last" in quota and date.fromisoformat(quota["last"]) < first:
            misfits.append(f"live quota from {quota['first']} to {quota['last']}: left out, since that is over")
        else:
            kept.append(quota)
    if "live_quotas" in rules:
        rules["live_quotas"] = kept


def _forget_classes(data: dict[str, Any], known: set[str]) -> None:
    """Take classes that are gone out of what names them; an entry that named no other goes."""

    def forget(of: dict[str, Any], key: str) -> None:
        for entry in of.get(key, ()):
            if "classes" in entry:
                entry["classes"] = [name for name in entry["classes"] if name in known]
        if key in of:
            of[key] = [entry for entry in of[key] if entry.get("classes") != []]

    for key in ("closures", "remote_spells", "restricted_days", "specifications"):
        forget(data, key)
    for spell in data["remote_spells"]:
        forget(spell, "fixed")
    for cohort in data.get("cohorts", ()):
        for subject in cohort["subjects"]:
            subject["classes"] = [name for name in subject.get("classes", ()) if name in known]
        cohort["subjects"] = [
            {key: value for key, value in subject.items() if value != []}
            for subject in cohort["subjects"]
            if subject["classes"] or subject.get("fixed_assessments")
        ]
    if "cohorts" in data:
        data["cohorts"] = [each for each in data["cohorts"] if any("classes" in subject for subject in each["subjects"])]


def _to_fill_in(new: Scenario, dates: NewDates) -> list[str]:
    found = []
    without = [class_.id for class_ in new.classes if not _has_new(new, class_.id)]
    if without:
        found.append(f"new lessons of {', '.join(without)}: none is listed for the term")
    found.append(f"days off and remote weeks from {day_text(dates.first)} to {day_text(dates.last)}")
    found.append("later units, where it is known what comes after this term")
    return found


def _has_new(new: Scenario, class_id: str) -> bool:
    """Whether a class takes a unit of which nothing is in the record."""
    class_ = next(each for each in new.classes if each.id == class_id)
    recorded = {entry.unit for entry in new.record if entry.class_ == class_id}
    return any(unit not in recorded and not unit.endswith(OWN_UNIT) for unit in class_.units)
