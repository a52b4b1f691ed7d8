"""What else of a scenario does not fit a new calendar: pins without a period, needs that nothing offers, people who are gone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from sequencer.errors import Problem, UnusableInput
from sequencer.instance.build import build_instance
from sequencer.instance.facts import ClassFacts, Instance, LessonFacts
from sequencer.instance.load import scenario_from_data
from sequencer.next_term.redating.draft import Draft
from sequencer.next_term.redating.entry_names import subject
from sequencer.next_term.redating.moved_dates import Dated, leave_out, lessons_meant
from sequencer.rules.verdict import day_text
from sequencer.scenario.new_calendar import REPLACED
from sequencer.scenario.places import Path, Suggestions, where_text
from sequencer.scenario.references.entries import Finding
from sequencer.scenario.references.every import reference_findings
from sequencer.scenario.rules_schema import LiveQuota
from sequencer.scenario.schema import Scenario
from sequencer.solver.day_numbers import ClassDays
from sequencer.solver.starts import has_own_start
from sequencer.words import EVERY_WEEK

_AS_A_WHOLE = ("live_quotas", "strands", "teachers", "caps", "threads", "timetable", "taught_before")
"""Lists whose entries go as a whole: without one of their keys they would say something else."""

_NEVER = ("id", "kind", "units", "lessons", "timetable")
"""Keys without which nothing is left of a unit, a lesson or a class."""


def fitted(scenario: Scenario, draft: Draft) -> tuple[Scenario, dict[Path, Path]]:
    """Leave out of a draft, and list, whatever no period of the new calendar suits, until the rest can be read.

    Returns
    -------
    tuple[Scenario, dict[Path, Path]]
        The new scenario, and the path in it of each path of the old one.
    """
    while True:
        new, places = _readable(scenario, draft)
        instance = build_instance(new)
        days = [ClassDays(instance, facts.index) for facts in instance.classes]
        left_out = len(draft.misfits)
        for path, reasons in _homeless_pins(scenario, draft, instance, days).items():
            leave_out(scenario, draft, path, "; ".join(reasons))
        for path in _idle_spans(scenario, draft, instance):
            leave_out(scenario, draft, path, "nobody whom it counts meets remotely then in the new calendar")
        if len(draft.misfits) == left_out:
            return new, places


# -- what the checks across entries find -------------------------------------------------------------------------------


def _readable(scenario: Scenario, draft: Draft) -> tuple[Scenario, dict[Path, Path]]:
    """The draft as a scenario, without what the checks across entries find in it."""
    while True:
        data, origins = draft.read()
        for place, class_ in enumerate(data["classes"]):
            if "timetable" not in class_:
                message = f"the new calendar leaves class {class_['id']} without a timetable: give it a new one under classes"
                raise UnusableInput((Problem("", message),))
            assert scenario.classes[place].id == class_["id"]
        findings = reference_findings(data, Suggestions())
        if not findings:
            return scenario_from_data(data), {old: new for new, old in origins.items()}
        left_out = len(draft.misfits)
        for find in findings:
            _leave_out_found(scenario, draft, find, origins)
        if len(draft.misfits) == left_out:
            raise UnusableInput(tuple(Problem(where_text(find.path), find.message) for find in findings))


def _leave_out_found(scenario: Scenario, draft: Draft, find: Finding, origins: dict[Path, Path]) -> None:
    path = find.path
    while path not in origins:
        path = path[:-1]
    path = origins[path]
    for number, part in enumerate(path[:-1]):
        if part in _AS_A_WHOLE and isinstance(path[number + 1], int):
            draft.leave_out(path[: number + 2], f"{subject(scenario, path)}: left out, since it {find.message}")
            return
    key = next((part for part in reversed(path) if isinstance(part, str)), "")
    entry = path.index("lessons") + 2 if "lessons" in path else 2
    if len(path) > entry and key not in _NEVER and path[0] not in REPLACED and draft.get(path) is not None:
        draft.drop(path)
        # A list of words may be written as one word, so that the list is the place that is sure to be there.
        where = path[:-1] if isinstance(path[-1], int) else path
        draft.note(where, f"{subject(scenario, path)}, {key}: left out, since it {find.message}")


# -- pins and spans ----------------------------------------------------------------------------------------------------


def _homeless_pins(scenario: Scenario, draft: Draft, instance: Instance, days: list[ClassDays]) -> dict[Dated, list[str]]:
    """Dates on which a lesson must lie and cannot, with the reason in each class; other reasons aside."""
    found: dict[Dated, list[str]] = {}
    for lesson in instance.lessons:
        here = days[lesson.class_index]
        if lesson.on is None or has_own_start(instance, lesson, here):
            continue
        if has_own_start(instance, replace(lesson, on=None, period=None), here):
            pin = _pin_of(scenario, draft, lesson)
            if pin is not None:
                found.setdefault(pin, []).append(_why_homeless(instance.classes[lesson.class_index], lesson))
    return found


def _pin_of(scenario: Scenario, draft: Draft, lesson: LessonFacts) -> Dated | None:
    """Where the date of a lesson comes from: its class, or else its unit."""
    stated = scenario.classes[lesson.class_index].lessons
    for ref in (lesson.id, lesson.ref):
        path: Path = ("classes", lesson.class_index, "lessons", ref, "on")
        said = stated.get(ref)
        if said is not None and said.on is not None and draft.get(path) is not None:
            return Dated(path, said.on)
    for path in lessons_meant(scenario, lesson.class_index, lesson.ref):
        if draft.get((*path, "on")) is not None:
            day = scenario.units[int(path[1])].lessons[int(path[3])].on
            return Dated((*path, "on"), day) if day is not None else None
    return None


def _why_homeless(facts: ClassFacts, lesson: LessonFacts) -> str:
    assert lesson.on is not None
    met = [slot for slot in facts.slots if slot.date == lesson.on]
    if not met:
        return f"{facts.id} does not meet on {day_text(lesson.on)}"
    if lesson.period is not None and lesson.period not in [slot.period for slot in met]:
        return f"{facts.id} does not meet in period {lesson.period} on {day_text(lesson.on)}"
    return f"no period of {facts.id} on {day_text(lesson.on)} suits it"


def _idle_spans(scenario: Scenario, draft: Draft, instance: Instance) -> Iterator[Dated]:
    """Live quotas over a span of dates in which nobody whom they count meets remotely."""
    spans: list[tuple[Path, LiveQuota, list[ClassFacts]]] = [
        (("rules", "live_quotas", place), quota, list(instance.classes))
        for place, quota in enumerate(scenario.rules.live_quotas or ())
    ]
    for facts, class_ in zip(instance.classes, scenario.classes, strict=True):
        quotas = class_.rules.live_quotas if class_.rules is not None else None
        spans += [
            (("classes", facts.index, "rules", "live_quotas", place), quota, [facts]) for place, quota in enumerate(quotas or ())
        ]
    for path, quota, owners in spans:
        now = draft.get(path)
        if now is None or quota.first is None:
            continue
        slots = [slot for facts in owners for slot in facts.slots if slot.remote and quota.teacher in (None, slot.teacher)]
        if not any(now["first"] <= slot.date.isoformat() <= now["last"] for slot in slots):
            yield Dated((*path, "first"), quota.first)


def idle_weeks(scenario: Scenario, new: Scenario, changes: dict[Path, object], draft: Draft) -> None:
    """List the classes whose timetable, which is kept, says nothing of a week that the new cycle has and the old one had not."""
    for place, class_ in enumerate(scenario.classes):
        path: Path = ("classes", place, "timetable")
        labels = {label for timetable in class_.timetable for label in timetable.weeks}
        if path in changes or EVERY_WEEK in labels:
            continue
        for label in new.term.cycle:
            if label not in scenario.term.cycle and label not in labels:
                text = (
                    f"timetable of {class_.id}: kept, though it has no periods in week {label}; the calendar can give a new one"
                )
                draft.note(path, text)
