"""What named changes make of a scenario."""

from __future__ import annotations

from collections.abc import Iterable
from functools import singledispatch
from typing import Any

from sequencer.errors import Problem, UnusableInput
from sequencer.instance.changes.dated_quotas import Spans
from sequencer.instance.changes.edits import GONE, Edit, edited
from sequencer.instance.changes.extra_period import with_period
from sequencer.instance.changes.named_parts import (
    NotThere,
    class_place,
    in_list,
    lesson_path,
    listed_path,
    own_path,
    pattern_place,
    unit_place,
    with_own_entry,
)
from sequencer.instance.changes.rule_numbers import changed_rules
from sequencer.scenario.calendar_schema import Closure
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
from sequencer.scenario.record_schema import RecordEntry
from sequencer.scenario.rules_schema import ClassRules
from sequencer.scenario.schema import Scenario
from sequencer.words import SKIPPED


def changed(scenario: Scenario, changes: Iterable[Change], source: str = "") -> Scenario:
    """The scenario with changes made, one after the other; the checks across entries are not run again.

    Raises
    ------
    UnusableInput
        When a change names what is not there, with its place among the changes.
    """
    for number, change in enumerate(changes):
        try:
            scenario = made(change, scenario)
        except NotThere as missing:
            where = f"changes[{number}].{missing.key}"
            raise UnusableInput((Problem(where, str(missing), f"/changes/{number}/{missing.key}"),), source) from None
    return scenario


@singledispatch
def made(change: object, scenario: Scenario) -> Scenario:
    """The scenario with one change made; the checks across entries are not run again.

    Raises
    ------
    NotThere
        When the change names what is not there.
    """
    raise TypeError(f"no change: {change!r}")


@made.register
def _(change: AddClosure, scenario: Scenario) -> Scenario:
    return scenario.model_copy(update={"closures": (*scenario.closures, change.closure)})


@made.register
def _(change: AddRemoteSpell, scenario: Scenario) -> Scenario:
    return scenario.model_copy(update={"remote_spells": (*scenario.remote_spells, change.spell)})


@made.register
def _(change: ChangeRemoteSpell, scenario: Scenario) -> Scenario:
    stated = {key: value for key in ("taught", "fixed") if (value := getattr(change, key)) is not None}
    places = in_list(scenario.remote_spells, "remote spell", change.name)
    return edited(scenario, [Edit(("remote_spells", place, key), value) for place in places for key, value in stated.items()])


@made.register
def _(change: AddRestrictedDay, scenario: Scenario) -> Scenario:
    return scenario.model_copy(update={"restricted_days": (*scenario.restricted_days, change.day)})


@made.register
def _(change: RemoveClosure, scenario: Scenario) -> Scenario:
    return _without(scenario, "closures", "closure", change.name)


@made.register
def _(change: RemoveRemoteSpell, scenario: Scenario) -> Scenario:
    return _without(scenario, "remote_spells", "remote spell", change.name)


@made.register
def _(change: RemoveRestrictedDay, scenario: Scenario) -> Scenario:
    return _without(scenario, "restricted_days", "restricted day", change.name)


def _without(scenario: Scenario, key: str, what: str, name: str) -> Scenario:
    return edited(scenario, [Edit((key, place)) for place in in_list(getattr(scenario, key), what, name)])


@made.register
def _(change: LosePeriod, scenario: Scenario) -> Scenario:
    class_place(scenario, change.class_)
    lost = Closure(
        name=f"{change.class_} loses period {change.period}", on=(change.date.isoformat(),),  # type: ignore[arg-type]
        classes=(change.class_,), periods=(change.period,),
    )  # fmt: skip
    return scenario.model_copy(update={"closures": (*scenario.closures, lost)})


@made.register
def _(change: GainPeriod, scenario: Scenario) -> Scenario:
    place = class_place(scenario, change.class_)
    timetables = with_period(scenario.classes[place].timetable, change)
    return edited(scenario, [Edit(("classes", place, "timetable"), timetables)])


@made.register
def _(change: AddLesson, scenario: Scenario) -> Scenario:
    unit = unit_place(scenario, change.unit)
    lessons = scenario.units[unit].lessons
    if any(lesson.id == change.lesson.id for lesson in lessons_of_units(scenario)[change.unit]):
        raise NotThere("lesson", f"is the name of a lesson of unit {change.unit} already: {change.lesson.id}")
    place = len(lessons)
    if change.after is not None:
        place = next((number for number, lesson in enumerate(lessons, 1) if lesson.id == change.after), 0)
        if not place:
            raise NotThere("after", f"is not listed in unit {change.unit}: {change.after}")
    return edited(scenario, [Edit(("units", unit, "lessons"), (*lessons[:place], change.lesson, *lessons[place:]))])


@made.register
def _(change: LeaveOut, scenario: Scenario) -> Scenario:
    path = lesson_path(scenario, change.lesson)
    unit, _, lesson = change.lesson.partition("/")
    takers = [one.id for one in scenario.classes if unit in one.units and change.class_ in (None, one.id)]
    if change.class_ is not None and not takers:
        class_place(scenario, change.class_)
        raise NotThere("class", f"does not take unit {unit}: {change.class_}")
    assert path
    skipped = tuple(
        RecordEntry.model_validate({"class": taker, "unit": unit, "lesson": lesson, "what": SKIPPED}) for taker in takers
    )
    return scenario.model_copy(update={"record": (*scenario.record, *skipped)})


@made.register
def _(change: MakeOptional, scenario: Scenario) -> Scenario:
    if change.class_ is None:
        return edited(scenario, [Edit((*listed_path(scenario, change.lesson), "optional"), True)])
    lesson_path(scenario, change.lesson)
    scenario = with_own_entry(scenario, change.class_, change.lesson)
    return edited(scenario, [Edit((*own_path(scenario, change.class_, change.lesson), "optional"), True)])


@made.register
def _(change: MoveDates, scenario: Scenario) -> Scenario:
    if change.class_ is None:
        path = listed_path(scenario, change.lesson)
    else:
        lesson_path(scenario, change.lesson)
        scenario = with_own_entry(scenario, change.class_, change.lesson)
        path = own_path(scenario, change.class_, change.lesson)
    stated = {key: value for key in _DATES if (value := getattr(change, key)) is not None}
    if stated.get("on") == "off":
        stated["period"] = "off"
    return edited(scenario, [Edit((*path, key), _or_none(value)) for key, value in stated.items()])


_DATES = ("not_before", "not_after", "on", "period", "report_deadline")


def _or_none(value: Any) -> Any:
    return None if value == "off" else value


@made.register
def _(change: ChangeRequirement, scenario: Scenario) -> Scenario:
    path = listed_path(scenario, change.lesson, _LIST_IT)
    lesson = scenario.units[unit_place(scenario, change.lesson.partition("/")[0])].lessons[int(path[-1])]
    places = [place for place, one in enumerate(lesson.requires) if one.lesson == change.requires]
    if not places:
        raise NotThere("requires", f"is not required by {change.lesson}: {change.requires}")
    if change.off:
        return edited(scenario, [Edit((*path, "requires", place)) for place in places])
    numbers = {key: value for key in _WINDOW if (value := getattr(change, key)) is not None}
    return edited(
        scenario, [Edit((*path, "requires", place, key), _or_none(value)) for place in places for key, value in numbers.items()]
    )


_LIST_IT = "list it in its unit to say more of it"
_WINDOW = ("least_days", "most_days", "least_slots", "most_slots", "least_weeks", "most_weeks")


@made.register
def _(change: ChangeUnit, scenario: Scenario) -> Scenario:
    place = unit_place(scenario, change.unit)
    unit = scenario.units[place]
    edits = [Edit(("units", place, "in_order"), change.in_order)] if change.in_order is not None else []
    if change.not_after is not None:
        if change.not_after not in unit.after:
            raise NotThere("not_after", f"does not come before unit {unit.id}: {change.not_after}")
        edits.append(Edit(("units", place, "after", unit.after.index(change.not_after)), GONE))
    for number, strand in enumerate(unit.strands):
        if strand.tag == change.no_strand:
            edits.append(Edit(("units", place, "strands", number)))
    return edited(scenario, edits)


@made.register
def _(change: ChangeLesson, scenario: Scenario) -> Scenario:
    of_class = change.class_ is not None and change.model_fields_set <= {"change", "lesson", "class_", "live"}
    path = lesson_path(scenario, change.lesson) if of_class else listed_path(scenario, change.lesson, _LIST_IT)
    edits = []
    for key in ("length", "needs"):
        if getattr(change, key) is not None:
            edits.append(Edit((*path, key), getattr(change, key)))
    if change.teacher is not None:
        edits.append(Edit((*path, "teacher"), _or_none(change.teacher)))
    if change.live is not None and change.class_ is None:
        edits.append(Edit((*path, "live"), _or_none(change.live)))
    if change.no_longer_names is not None:
        lesson = scenario.units[int(path[1])].lessons[int(path[3])]
        for key in ("practises", "revisits", "starter", "answers"):
            for place, ref in enumerate(getattr(lesson, key)):
                if ref == change.no_longer_names:
                    edits.append(Edit((*path, key, place)))
    scenario = edited(scenario, edits)
    if change.live is not None and change.class_ is not None:
        scenario = with_own_entry(scenario, change.class_, change.lesson)
        own = own_path(scenario, change.class_, change.lesson)
        scenario = edited(scenario, [Edit((*own, "live"), _or_none(change.live))])
    return scenario


@made.register
def _(change: ChangeRules, scenario: Scenario) -> Scenario:
    return changed_rules(change, scenario)


@made.register
def _(change: ChangeQuota, scenario: Scenario) -> Scenario:
    spans = Spans(scenario)
    wide = scenario.rules.live_quotas or ()
    if change.teacher is not None:
        stated, path = tuple(quota for quota in wide if quota.teacher == change.teacher), ("rules", "live_quotas")
    else:
        if change.class_ is None:
            raise NotThere("class", "must name a class, or teacher a teacher")
        place = class_place(scenario, change.class_)
        own = scenario.classes[place].rules
        theirs = own.live_quotas if own is not None else None
        stated = theirs if theirs is not None else tuple(quota for quota in wide if quota.teacher is None)
        if own is None:
            scenario = edited(scenario, [Edit(("classes", place, "rules"), ClassRules())])
        path = ("classes", place, "rules", "live_quotas")  # type: ignore[assignment]
    numbers = {key: _or_none(value) for key in ("least", "most") if (value := getattr(change, key)) is not None}
    found = []
    for quota in spans.of_all(stated):
        assert quota.first is not None and quota.last is not None
        inside = change.first <= quota.first and quota.last <= change.last
        quota = quota.model_copy(update=numbers) if inside else quota
        if quota.least is not None or quota.most is not None:
            found.append(quota)
    others = tuple(quota for quota in wide if quota.teacher != change.teacher) if change.teacher is not None else ()
    return edited(scenario, [Edit(path, (*others, *found))])


@made.register
def _(change: ChangeTeacher, scenario: Scenario) -> Scenario:
    (place,) = in_list(scenario.teachers, "teacher with limits", change.name)[:1]
    keys = ("dense_a_day", "live_a_day", "marking_a_week", "preparation_a_week")
    numbers = {key: value for key in keys if (value := getattr(change, key)) is not None}
    return edited(scenario, [Edit(("teachers", place, key), _or_none(value)) for key, value in numbers.items()])


@made.register
def _(change: ChangeShared, scenario: Scenario) -> Scenario:
    (place,) = in_list(scenario.shared, "shared thing", change.name)[:1]
    return edited(scenario, [Edit(("shared", place, "capacity"), change.capacity)])


@made.register
def _(change: ChangePattern, scenario: Scenario) -> Scenario:
    return edited(scenario, [Edit(("patterns", pattern_place(scenario, change.pattern), change.no_longer_makes), None)])


@made.register
def _(change: ChangeLeaving, scenario: Scenario) -> Scenario:
    return edited(scenario, [Edit(("classes", class_place(scenario, change.class_), "leaves"), _or_none(change.leaves))])


@made.register
def _(change: ChangeStrict, scenario: Scenario) -> Scenario:
    return scenario.model_copy(update={"strict": change.strict})
