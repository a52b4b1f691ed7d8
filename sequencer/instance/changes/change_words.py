"""Changes in a teacher's words, with the numbers that stood there before."""

from __future__ import annotations

from datetime import date
from functools import singledispatch
from typing import Any

from sequencer.instance.calendar import dates_of
from sequencer.instance.naming import day_text
from sequencer.scenario.calendar_schema import Spread
from sequencer.scenario.changes_schema import (
    AddClosure,
    AddLesson,
    AddRemoteSpell,
    AddRestrictedDay,
    Change,
    ChangeLeaving,
    ChangeLesson,
    ChangePattern,
    ChangeQuota,
    ChangeRemoteSpell,
    ChangeRequirement,
    ChangeRules,
    ChangeShared,
    ChangeStrict,
    ChangeTeacher,
    ChangeUnit,
    GainPeriod,
    LeaveOut,
    LosePeriod,
    MakeOptional,
    MoveDates,
    RemoveClosure,
    RemoveRemoteSpell,
    RemoveRestrictedDay,
)
from sequencer.scenario.patterns import lessons_of_units
from sequencer.scenario.rules_schema import RuleNumbers
from sequencer.scenario.schema import Scenario
from sequencer.words import count_text


def change_text(change: Change, scenario: Scenario) -> str:
    """A change of a scenario as advice: ``leave out "Meanders" (rivers/meanders) in 10G``."""
    return _said(change, scenario)


def _lesson(scenario: Scenario, ref: str) -> str:
    unit, _, name = ref.partition("/")
    title = next((one.title for one in lessons_of_units(scenario).get(unit, ()) if one.id == name), None)
    return f'"{title}" ({ref})' if title else ref


def _in_class(class_id: str | None) -> str:
    return f" in {class_id}" if class_id is not None else ""


def _days(entries: list[Spread]) -> str:
    days = sorted({day for entry in entries for day in dates_of(entry)})
    if len(days) > 3:
        return f"from {day_text(days[0])} to {day_text(days[-1])}"
    return " and ".join(day_text(day) for day in days)


@singledispatch
def _said(change: object, scenario: Scenario) -> str:
    raise TypeError(f"no change: {change!r}")


@_said.register
def _(change: AddClosure, scenario: Scenario) -> str:
    return f'close for "{change.closure.name}", {_days([change.closure])}'


@_said.register
def _(change: RemoveClosure, scenario: Scenario) -> str:
    closures: list[Spread] = [closure for closure in scenario.closures if closure.name == change.name]
    return f'let classes meet in spite of "{change.name}", {_days(closures)}'


@_said.register
def _(change: AddRemoteSpell, scenario: Scenario) -> str:
    return f'meet remotely for "{change.spell.name}", {_days([change.spell])}'


@_said.register
def _(change: RemoveRemoteSpell, scenario: Scenario) -> str:
    spells: list[Spread] = [spell for spell in scenario.remote_spells if spell.name == change.name]
    return f'meet in school in spite of "{change.name}", {_days(spells)}'


@_said.register
def _(change: ChangeRemoteSpell, scenario: Scenario) -> str:
    parts: list[str] = [change.taught] if change.taught is not None else []
    if change.fixed is not None:
        with_them = f"with {count_text(len(change.fixed), 'other designation')}"
        parts.append(with_them if change.fixed else "without other designations")
    return f'let the periods of "{change.name}" be {" ".join(parts)}'


@_said.register
def _(change: AddRestrictedDay, scenario: Scenario) -> str:
    return f'restrict {_days([change.day])} for "{change.day.name}"'


@_said.register
def _(change: RemoveRestrictedDay, scenario: Scenario) -> str:
    entries: list[Spread] = [entry for entry in scenario.restricted_days if entry.name == change.name]
    return f'teach as usual in spite of "{change.name}", {_days(entries)}'


@_said.register
def _(change: LosePeriod, scenario: Scenario) -> str:
    return f"{change.class_} loses period {change.period} on {day_text(change.date)}"


@_said.register
def _(change: GainPeriod, scenario: Scenario) -> str:
    return f"let {change.class_} meet once more, on {day_text(change.date)} in period {change.period}"


@_said.register
def _(change: AddLesson, scenario: Scenario) -> str:
    title = f'"{change.lesson.title}" ({change.unit}/{change.lesson.id})' if change.lesson.title else change.lesson.id
    return f"add {title} to unit {change.unit}"


@_said.register
def _(change: LeaveOut, scenario: Scenario) -> str:
    return f"leave out {_lesson(scenario, change.lesson)}{_in_class(change.class_)}"


@_said.register
def _(change: MakeOptional, scenario: Scenario) -> str:
    return f"let {_lesson(scenario, change.lesson)} be left out{_in_class(change.class_)}"


@_said.register
def _(change: MoveDates, scenario: Scenario) -> str:
    says = {
        "not_before": "come from {} on",
        "not_after": "come as late as {}",
        "on": "be on {}",
        "period": "be in period {}",
        "report_deadline": "have its reports due on {}",
    }
    free = {
        "not_before": "come as early as it likes",
        "not_after": "come as late as it likes",
        "on": "have no fixed date",
        "period": "be in any period of its date",
        "report_deadline": "have no report deadline",
    }
    parts = []
    window = change.on == "off" and isinstance(change.not_before, date) and isinstance(change.not_after, date)
    if window:
        assert isinstance(change.not_before, date) and isinstance(change.not_after, date)
        parts = [f"lie anywhere from {day_text(change.not_before)} to {day_text(change.not_after)}"]
    for key in says if not window else ():
        value = getattr(change, key)
        if value is not None:
            said = day_text(value) if isinstance(value, date) else value
            parts.append(free[key] if value == "off" else says[key].format(said))
    return f"let {_lesson(scenario, change.lesson)}{_in_class(change.class_)} {' and '.join(parts)}"


@_said.register
def _(change: ChangeRequirement, scenario: Scenario) -> str:
    lesson, other = _lesson(scenario, change.lesson), change.requires
    unit = change.lesson.partition("/")[0]
    other = _lesson(scenario, other if "/" in other else f"{unit}/{other}")
    if change.off:
        return f"let {lesson} come before {other}"
    words = {"days": "day", "slots": "period", "weeks": "school week"}
    parts = []
    for key in ("least_days", "most_days", "least_slots", "most_slots", "least_weeks", "most_weeks"):
        number = getattr(change, key)
        if number is not None:
            least, _, what = key.partition("_")
            parts.append("at any distance after" if number == "off" else f"at {least} {count_text(number, words[what])} after")
    return f"let {lesson} come {' and '.join(parts)} {other}"


@_said.register
def _(change: ChangeUnit, scenario: Scenario) -> str:
    parts = []
    if change.in_order is not None:
        parts.append(f"teach unit {change.unit} in {'the order listed' if change.in_order else 'any order'}")
    if change.not_after is not None:
        parts.append(f"let unit {change.unit} begin before {change.not_after} has ended")
    if change.no_strand is not None:
        parts.append(f"let anybody teach what is tagged {change.no_strand} in unit {change.unit}")
    return " and ".join(parts)


@_said.register
def _(change: ChangeLesson, scenario: Scenario) -> str:
    lesson = _lesson(scenario, change.lesson)
    parts = []
    if change.length is not None:
        parts.append(f"teach {lesson} in {count_text(change.length, 'period')}")
    if change.needs is not None:
        needs = " and ".join(change.needs)
        parts.append(f"teach {lesson} with {needs} alone" if needs else f"teach {lesson} without what it needs")
    if change.teacher is not None:
        parts.append(f"let {'anybody' if change.teacher == 'off' else change.teacher} teach {lesson}")
    if change.live is not None:
        parts.append(f"let {lesson}{_in_class(change.class_)} be live or set work")
    if change.no_longer_names is not None:
        parts.append(f"let {lesson} do without {change.no_longer_names}")
    return " and ".join(parts)


_RULES = {
    "prerequisites": "prerequisites",
    "consecutive_high_load": "hard lessons in a row",
    "practice_after_dense": "practice",
    "practice_before_assessment": "practice before assessments",
    "retrieval": "being met again",
    "starters": "starters",
    "marking": "marking",
    "dates": "dates",
    "place": "needs and places",
    "in_step": "days between parallel classes",
    "week": "a week",
    "caps": "caps on tags",
    "threads": "threads",
    "live_quotas": "live quotas",
}

_UNITS = {
    ("consecutive_high_load", "most"): ("at most {} in a row", "hard lesson"),
    ("practice_after_dense", "within"): ("practice within {}", "period"),
    ("practice_after_dense", "days"): ("practice within {}", "day"),
    ("retrieval", "least"): ("met again from {} on", "day"),
    ("retrieval", "most"): ("met again within {}", "day"),
    ("marking", "least"): ("{} for marking", "school day"),
    ("marking", "most"): ("talked through within {}", "school day"),
    ("in_step", "days"): ("parallel classes within {} of one another", "day"),
    ("week", "least_lessons"): ("at least {} a week", "lesson"),
    ("week", "most_lessons"): ("at most {} a week", "lesson"),
    ("week", "least_load"): ("at least a load of {} a week", None),
    ("week", "most_load"): ("at most a load of {} a week", None),
}
"""How a rule's number is said, and what it is a number of; None where it is one of nothing."""


@_said.register
def _(change: ChangeRules, scenario: Scenario) -> str:
    parts = []
    for rule in type(change.rules).model_fields:
        numbers = getattr(change.rules, rule)
        if numbers is None:
            continue
        if not isinstance(numbers, RuleNumbers):
            parts += [_listed(rule, entry) for entry in numbers]
            continue
        if numbers.off:
            parts.append(f"without the rule on {_RULES[rule]}")
        for name in sorted(numbers.model_fields_set - {"off", "preferred"}):
            value: Any = getattr(numbers, name)
            if isinstance(value, RuleNumbers):
                parts += _wished(rule, value)
            else:
                parts.append(_limit(rule, name, value))
    where = _lesson(scenario, change.lesson) if change.lesson is not None else ""
    where += f" in {change.class_}" if where and change.class_ is not None else change.class_ or ""
    where = where or (f"unit {change.unit}" if change.unit is not None else "all classes")
    return f"{', '.join(parts)}, for {where}"


def _limit(rule: str, name: str, value: Any) -> str:
    says, noun = _UNITS.get((rule, name), (f"{_RULES[rule]}: {name.replace('_', ' ')} {{}}", None))
    return says.format(value if noun is None else count_text(value, noun))


def _wished(rule: str, numbers: RuleNumbers) -> list[str]:
    """What is wished beside hard numbers, in words."""
    if numbers.off:
        return [f"nothing wished beside the numbers of {_RULES[rule]}"]
    stated = {name: getattr(numbers, name) for name in sorted(numbers.model_fields_set - {"off", "weight"})}
    wished = [f"{_limit(rule, name, number)}, wished" for name, number in stated.items() if number is not None]
    weight = getattr(numbers, "weight", None)
    return wished if weight is None else [*wished, f"weight {weight} for what is wished"]


def _listed(rule: str, entry: Any) -> str:
    limits = [f"at {name} {getattr(entry, name)}" for name in ("least", "most") if getattr(entry, name, None) is not None]
    if rule == "live_quotas":
        return f"{' and '.join(limits)} live per {entry.per}"
    return f"{' and '.join(limits)} of any {count_text(entry.of, 'period')} in a row for {entry.tag}"


@_said.register
def _(change: ChangeQuota, scenario: Scenario) -> str:
    limits = []
    for name in ("least", "most"):
        number = getattr(change, name)
        if number is not None:
            none = number == "off" or (name, number) == ("least", 0)
            limits.append(f"no {name} number of lessons" if none else f"at {name} {count_text(number, 'lesson')}")
    who = change.teacher or change.class_
    return f"ask of {who} {' and '.join(limits)} live from {day_text(change.first)} to {day_text(change.last)}"


@_said.register
def _(change: ChangeTeacher, scenario: Scenario) -> str:
    words = {
        "dense_a_day": ("dense lesson", "a day"),
        "live_a_day": ("lesson", "live a day"),
        "marking_a_week": ("minute", "of marking a week"),
        "preparation_a_week": ("minute", "of preparation a week"),
    }
    parts = []
    for key, (noun, when) in words.items():
        number = getattr(change, key)
        if number is not None:
            parts.append(f"{f'any number of {noun}s' if number == 'off' else f'up to {count_text(number, noun)}'} {when}")
    return f"let {change.name} have {' and '.join(parts)}"


@_said.register
def _(change: ChangeShared, scenario: Scenario) -> str:
    return f"have {change.capacity} of {change.name} in one period"


@_said.register
def _(change: ChangePattern, scenario: Scenario) -> str:
    return f"do without the {change.no_longer_makes} lesson of pattern {change.pattern}"


@_said.register
def _(change: ChangeLeaving, scenario: Scenario) -> str:
    until = "the end of term" if change.leaves == "off" else day_text(change.leaves)
    return f"let {change.class_} meet until {until}"


@_said.register
def _(change: ChangeStrict, scenario: Scenario) -> str:
    return "hold least numbers in short weeks too" if change.strict else "let least numbers be cut in short weeks"
