"""Changes of rules: other numbers for a level, live quotas over some dates, what teachers and shared things can serve."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import Annotated, Any, Literal

from pydantic import Field

from sequencer.scenario.base_schema import BaseScenario
from sequencer.scenario.changes.calendar_changes import Off
from sequencer.scenario.changes.edits import Edit, edited, part_at
from sequencer.scenario.changes.lesson_changes import CountOrOff
from sequencer.scenario.changes.named_parts import (
    NamedChange,
    NotThere,
    class_place,
    in_list,
    lesson_text,
    or_none,
    place_of,
    spoken_of,
    unit_place,
)
from sequencer.scenario.class_schema import TeacherWeek
from sequencer.scenario.fields import ClassId, Day, Ident, LessonRef, Minutes, Text, TitleOrId
from sequencer.scenario.numbers import numbers_of
from sequencer.scenario.places import Path
from sequencer.scenario.rules_schema import ClassRules, CohortRules, LessonRules, LiveQuota, RuleKeys, RuleNumbers
from sequencer.scenario.school_weeks import dates_of, monday_of, school_calendar
from sequencer.words import count_text, day_text

MinutesOrOff = Minutes | Off


class ChangeRules(NamedChange):
    """Rules have other numbers: of the scenario, a class, a cohort, a unit, a lesson, a class's lesson, number by number."""

    change: Literal["rules"] = Field(description="What is changed.")
    class_: ClassId | None = Field(None, alias="class", description="The class.")
    cohort: Ident | None = Field(None, description="The cohort.")
    unit: TitleOrId | None = Field(None, description="The unit.")
    lesson: LessonRef | None = Field(None, description="The lesson, as unit/id.")
    rules: ClassRules = Field(
        description="The numbers, as a scenario states them; caps, threads, weekdays and quotas replace those stated."
    )

    def made(self, scenario: BaseScenario) -> BaseScenario:
        scenario, path, level = self._level(scenario)
        node = part_at(scenario, path)
        stated = node if node is not None else level()
        updates = {}
        for name in ClassRules.model_fields:
            new = getattr(self.rules, name)
            if new is None:
                continue
            if name not in level.model_fields:
                whose = "not for cohorts" if level is CohortRules else "not for single lessons or units"
                raise NotThere("rules", f"holds for whole classes, {whose}: {name}")
            updates[name] = merged(getattr(stated, name), new)
        return edited(scenario, [Edit(path, stated.model_copy(update=updates))])

    def _level(self, scenario: BaseScenario) -> tuple[BaseScenario, Path, type[RuleKeys]]:
        if self.lesson is not None:
            scenario, path = spoken_of(scenario, self.class_, self.lesson)
            return scenario, (*path, "rules"), LessonRules
        if self.unit is not None:
            return scenario, ("units", unit_place(scenario, self.unit), "rules"), LessonRules
        if self.cohort is not None:
            return scenario, ("cohorts", place_of(scenario.cohorts, "cohort", self.cohort), "rules"), CohortRules
        if self.class_ is not None:
            return scenario, ("classes", class_place(scenario, self.class_), "rules"), ClassRules
        return scenario, ("rules",), ClassRules

    def said(self, scenario: BaseScenario) -> str:
        parts: list[str] = []
        for rule in ClassRules.model_fields:
            numbers = getattr(self.rules, rule)
            if isinstance(numbers, RuleNumbers):
                parts += _numbers_said(rule, numbers)
            elif numbers is not None:
                parts += [entry.said() for entry in numbers]
        where = lesson_text(scenario, self.lesson, self.class_) if self.lesson is not None else self.class_
        cohort = next((each.title or each.id for each in scenario.cohorts if each.id == self.cohort), self.cohort)
        where = where or cohort or (f"unit {self.unit}" if self.unit is not None else "all classes")
        return f"{', '.join(parts)}, for {where}"


def merged(old: Any, new: Any) -> Any:
    """What a level says of a rule, put on top of what a wider one says: number by number, lists as wholes."""
    if new is None or old is None or not isinstance(new, RuleNumbers) or new.off:
        return old if new is None else new
    stated = ((name, getattr(new, name)) for name in new.model_fields_set)
    numbers = {name: merged(getattr(old, name), value) for name, value in stated if value is not None}
    return old.model_copy(update={"off": False, **numbers})


def _numbers_said(rule: str, numbers: RuleNumbers) -> Iterator[str]:
    topic = numbers.topic or rule.replace("_", " ")
    known = numbers_of(type(numbers))

    def said(name: str, value: Any) -> str:
        return known[name].change_text(value) if name in known else f"{topic}: {name.replace('_', ' ')} {value}"

    if numbers.off:
        yield f"without the rule on {topic}"
    for name in sorted(numbers.model_fields_set - {"off", "preferred"}):
        value: Any = getattr(numbers, name)
        if not isinstance(value, RuleNumbers):
            yield said(name, value)
        elif value.off:
            yield f"nothing wished beside the numbers of {topic}"
        else:
            wished = {each: getattr(value, each) for each in sorted(value.model_fields_set - {"off", "weight"})}
            yield from (f"{said(each, number)}, wished" for each, number in wished.items() if number is not None)
            weight = getattr(value, "weight", None)
            if weight is not None:
                yield f"weight {weight} for what is wished"


class DatedQuotas:
    """Live quotas per week or cycle as quotas over dates, so that one week can be spoken of by itself."""

    def __init__(self, scenario: BaseScenario) -> None:
        remote = {monday_of(day) for spell in scenario.remote_spells for day in dates_of(spell)}
        self._all = school_calendar(scenario).weeks
        self._weeks = tuple(week for week in self._all if week.monday in remote)

    def of_all(self, quotas: Iterable[LiveQuota]) -> tuple[LiveQuota, ...]:
        """Quotas that together mean the same, each over the dates of one week or cycle with a remote day."""
        return tuple(dated for quota in quotas for dated in self._of(quota))

    def _of(self, quota: LiveQuota) -> Iterator[LiveQuota]:
        if quota.per == "span":
            yield quota
        elif quota.per == "week":
            for week in self._weeks:
                yield _over(quota, [week.monday])
        else:
            for cycle in dict.fromkeys(week.cycle for week in self._weeks):
                yield _over(quota, [week.monday for week in self._all if week.cycle == cycle])


def _over(quota: LiveQuota, mondays: list[date]) -> LiveQuota:
    return quota.model_copy(update={"per": "span", "first": mondays[0], "last": mondays[-1] + timedelta(days=6)})


class ChangeQuota(NamedChange):
    """Live quotas are other ones over some dates."""

    change: Literal["live quota"] = Field(description="What is changed.")
    class_: ClassId | None = Field(None, alias="class", description="The class whose quota it is.")
    teacher: Text | None = Field(None, description="The teacher whose quota it is, instead of a class's.")
    first: Day = Field(description="First date concerned.")
    last: Day = Field(description="Last date concerned.")
    least: CountOrOff | None = Field(None, description="At least this many lessons live.")
    most: CountOrOff | None = Field(None, description="At most this many lessons live.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        dated = DatedQuotas(scenario)
        wide = scenario.rules.live_quotas or ()
        path: Path = ("rules", "live_quotas")
        if self.teacher is not None:
            stated = tuple(quota for quota in wide if quota.teacher == self.teacher)
        else:
            if self.class_ is None:
                raise NotThere("class", "must name a class, or teacher a teacher")
            place = class_place(scenario, self.class_)
            own = scenario.classes[place].rules
            theirs = own.live_quotas if own is not None else None
            stated = theirs if theirs is not None else tuple(quota for quota in wide if quota.teacher is None)
            if own is None:
                scenario = edited(scenario, [Edit(("classes", place, "rules"), ClassRules())])
            path = ("classes", place, *path)
        numbers = {key: or_none(value) for key in numbers_of(LiveQuota) if (value := getattr(self, key)) is not None}
        found = []
        for quota in dated.of_all(stated):
            assert quota.first is not None and quota.last is not None
            inside = self.first <= quota.first and quota.last <= self.last
            quota = quota.model_copy(update=numbers) if inside else quota
            if quota.least is not None or quota.most is not None:
                found.append(quota)
        others = tuple(quota for quota in wide if quota.teacher != self.teacher) if self.teacher is not None else ()
        return edited(scenario, [Edit(path, (*others, *found))])

    def said(self, scenario: BaseScenario) -> str:
        limits = []
        for name, number in numbers_of(LiveQuota).items():
            value = getattr(self, name)
            if value is not None:
                none = value == "off" or (name, value) == ("least", 0)
                limits.append(f"no {name} number of lessons" if none else number.change_text(value))
        who = self.teacher or self.class_
        return f"ask of {who} {' and '.join(limits)} live from {day_text(self.first)} to {day_text(self.last)}"


class ChangeTeacher(NamedChange):
    """A teacher's day and week hold more, or less."""

    change: Literal["teacher"] = Field(description="What is changed.")
    name: Text = Field(description="The teacher.")
    dense_a_day: CountOrOff | None = Field(None, description="At most this many dense lessons a day.")
    live_a_day: CountOrOff | None = Field(None, description="At most this many lessons taught live a day.")
    marking_a_week: MinutesOrOff | None = Field(None, description="At most this many minutes of marking a week.")
    preparation_a_week: MinutesOrOff | None = Field(None, description="At most this many minutes of preparation a week.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        place = in_list(scenario.teachers, "teacher with limits", self.name)[0]
        numbers = {key: value for key in numbers_of(TeacherWeek) if (value := getattr(self, key)) is not None}
        return edited(scenario, [Edit(("teachers", place, key), or_none(value)) for key, value in numbers.items()])

    def said(self, scenario: BaseScenario) -> str:
        parts = []
        for key, number in numbers_of(TeacherWeek).items():
            value = getattr(self, key)
            if value is not None:
                count = f"any number of {number.unit}s" if value == "off" else f"up to {count_text(value, number.unit or '')}"
                parts.append(number.says.replace("at most {}", count))
        return f"let {self.name} have {' and '.join(parts)}"


class ChangeShared(NamedChange):
    """There are more, or fewer, of a shared thing."""

    change: Literal["shared"] = Field(description="What is changed.")
    name: Text = Field(description="The shared thing.")
    capacity: Annotated[int, Field(ge=1, le=100)] = Field(description="How many lessons may use it in one period.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        place = in_list(scenario.shared, "shared thing", self.name)[0]
        return edited(scenario, [Edit(("shared", place, "capacity"), self.capacity)])

    def said(self, scenario: BaseScenario) -> str:
        return f"have {self.capacity} of {self.name} in one period"


class ChangeStrict(NamedChange):
    """Whether least numbers hold in short weeks too."""

    cost = "quota"

    change: Literal["strict"] = Field(description="What is changed.")
    strict: bool = Field(description="Whether they do.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        return scenario.model_copy(update={"strict": self.strict})

    def said(self, scenario: BaseScenario) -> str:
        return "hold least numbers in short weeks too" if self.strict else "let least numbers be cut in short weeks"
