"""Changes of lessons and units: further ones, ones left out, dates, order, what lessons need and what patterns make."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from sequencer.scenario.base_schema import BaseScenario
from sequencer.scenario.changes.calendar_changes import DayOrOff, Off
from sequencer.scenario.changes.edits import GONE, Edit, edited
from sequencer.scenario.changes.named_parts import (
    NamedChange,
    NotThere,
    class_place,
    lesson_path,
    lesson_text,
    listed_path,
    or_none,
    place_of,
    spoken_of,
    unit_place,
)
from sequencer.scenario.fields import ClassId, Count, Ident, LessonRef, LiveWish, PeriodNumber, Text, TitleOrId, Words
from sequencer.scenario.numbers import numbers_of
from sequencer.scenario.patterns import lessons_of_units
from sequencer.scenario.record_schema import RecordEntry
from sequencer.scenario.unit_schema import Lesson, Requirement
from sequencer.words import SKIPPED, count_text, day_text

CountOrOff = Count | Off
LIST_IT = "list it in its unit to say more of it"
NAMING = ("practises", "revisits", "starter", "answers")
"""Keys under which a lesson names others that it serves."""


class AddLesson(NamedChange):
    """A unit has one lesson more."""

    change: Literal["add lesson"] = Field(description="What is changed.")
    unit: TitleOrId = Field(description="The unit.")
    lesson: Lesson = Field(description="The lesson, as a unit states one.")
    after: TitleOrId | None = Field(None, description="The lesson of the unit that it is listed after; last unless stated.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        unit = unit_place(scenario, self.unit)
        lessons = scenario.units[unit].lessons
        if any(lesson.id == self.lesson.id for lesson in lessons_of_units(scenario)[self.unit]):
            raise NotThere("lesson", f"is the name of a lesson of unit {self.unit} already: {self.lesson.id}")
        place = len(lessons)
        if self.after is not None:
            place = next((number for number, lesson in enumerate(lessons, 1) if lesson.id == self.after), 0)
            if not place:
                raise NotThere("after", f"is not listed in unit {self.unit}: {self.after}")
        return edited(scenario, [Edit(("units", unit, "lessons"), (*lessons[:place], self.lesson, *lessons[place:]))])

    def said(self, scenario: BaseScenario) -> str:
        title = f'"{self.lesson.title}" ({self.unit}/{self.lesson.id})' if self.lesson.title else self.lesson.id
        return f"add {title} to unit {self.unit}"


class LeaveOut(NamedChange):
    """A lesson is not taught: as in the record a lesson that was skipped; rules that name it say nothing."""

    cost = "leave_out"

    change: Literal["leave out"] = Field(description="What is changed.")
    lesson: LessonRef = Field(description="The lesson, as unit/id.")
    class_: ClassId | None = Field(None, alias="class", description="The class; every class that takes the unit unless stated.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        lesson_path(scenario, self.lesson)
        unit, _, lesson = self.lesson.partition("/")
        takers = [one.id for one in scenario.classes if unit in one.units and self.class_ in (None, one.id)]
        if self.class_ is not None and not takers:
            class_place(scenario, self.class_)
            raise NotThere("class", f"does not take unit {unit}: {self.class_}")
        skipped = (
            RecordEntry.model_validate({"class": taker, "unit": unit, "lesson": lesson, "what": SKIPPED}) for taker in takers
        )
        return scenario.model_copy(update={"record": (*scenario.record, *skipped)})

    def said(self, scenario: BaseScenario) -> str:
        return f"leave out {lesson_text(scenario, self.lesson, self.class_)}"


class MakeOptional(NamedChange):
    """A lesson may be left out."""

    change: Literal["make optional"] = Field(description="What is changed.")
    lesson: LessonRef = Field(description="The lesson, as unit/id.")
    class_: ClassId | None = Field(None, alias="class", description="The class; every class that takes the unit unless stated.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        scenario, path = spoken_of(scenario, self.class_, self.lesson)
        return edited(scenario, [Edit((*path, "optional"), True)])

    def said(self, scenario: BaseScenario) -> str:
        return f"let {lesson_text(scenario, self.lesson)} be left out{f' in {self.class_}' if self.class_ is not None else ''}"


DATES = {
    "not_before": ("come from {} on", "come as early as it likes"),
    "not_after": ("come as late as {}", "come as late as it likes"),
    "on": ("be on {}", "have no fixed date"),
    "period": ("be in period {}", "be in any period of its date"),
    "report_deadline": ("have its reports due on {}", "have no report deadline"),
}
"""The dates of a lesson: how each is said, and how it is said that there is none."""


class MoveDates(NamedChange):
    """A lesson's dates are other ones, or none (`off`)."""

    cost = "period"

    change: Literal["move dates"] = Field(description="What is changed.")
    lesson: LessonRef = Field(description="The lesson, as unit/id.")
    class_: ClassId | None = Field(
        None, alias="class", description="The class; what the unit says for every class unless stated."
    )
    not_before: DayOrOff | None = Field(None, description="Not before this date.")
    not_after: DayOrOff | None = Field(None, description="Not after this date.")
    on: DayOrOff | None = Field(None, description="On this date; `off` frees the period too.")
    period: PeriodNumber | Off | None = Field(None, description="In this period of the date.")
    report_deadline: DayOrOff | None = Field(None, description="Reports are due on this date.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        scenario, path = spoken_of(scenario, self.class_, self.lesson)
        stated = {key: value for key in DATES if (value := getattr(self, key)) is not None}
        if stated.get("on") == "off":
            stated["period"] = "off"
        return edited(scenario, [Edit((*path, key), or_none(value)) for key, value in stated.items()])

    def said(self, scenario: BaseScenario) -> str:
        first, last = self.not_before, self.not_after
        if self.on == "off" and isinstance(first, date) and isinstance(last, date):
            parts = [f"lie anywhere from {day_text(first)} to {day_text(last)}"]
        else:
            stated = {key: value for key in DATES if (value := getattr(self, key)) is not None}
            parts = [
                DATES[key][value == "off"].format(day_text(value) if isinstance(value, date) else value)
                for key, value in stated.items()
            ]
        return f"let {lesson_text(scenario, self.lesson, self.class_)} {' and '.join(parts)}"


class ChangeRequirement(NamedChange):
    """The window on top of a prerequisite is another one, or the prerequisite does not hold (`off`)."""

    cost = "order"

    change: Literal["requirement"] = Field(description="What is changed.")
    lesson: LessonRef = Field(description="The lesson, as unit/id.")
    requires: LessonRef = Field(description="The lesson required, as the lesson names it.")
    off: bool = Field(False, description="Whether the prerequisite does not hold any more.")
    least_days: CountOrOff | None = Field(None, description="At least this many days later.")
    most_days: CountOrOff | None = Field(None, description="At most this many days later.")
    least_slots: CountOrOff | None = Field(None, description="At least this many periods after it ends.")
    most_slots: CountOrOff | None = Field(None, description="At most this many periods after it ends.")
    least_weeks: CountOrOff | None = Field(None, description="At least this many school weeks later.")
    most_weeks: CountOrOff | None = Field(None, description="At most this many school weeks later.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        path = listed_path(scenario, self.lesson, LIST_IT)
        lesson = scenario.units[int(path[1])].lessons[int(path[-1])]
        places = [place for place, one in enumerate(lesson.requires) if one.lesson == self.requires]
        if not places:
            raise NotThere("requires", f"is not required by {self.lesson}: {self.requires}")
        if self.off:
            return edited(scenario, [Edit((*path, "requires", place)) for place in places])
        numbers = {key: value for key in numbers_of(Requirement) if (value := getattr(self, key)) is not None}
        return edited(
            scenario,
            [Edit((*path, "requires", place, key), or_none(value)) for place in places for key, value in numbers.items()],
        )

    def said(self, scenario: BaseScenario) -> str:
        unit = self.lesson.partition("/")[0]
        lesson = lesson_text(scenario, self.lesson)
        other = lesson_text(scenario, self.requires if "/" in self.requires else f"{unit}/{self.requires}")
        if self.off:
            return f"let {lesson} come before {other}"
        parts = [
            "at any distance after" if value == "off" else number.change_text(value)
            for key, number in numbers_of(Requirement).items()
            if (value := getattr(self, key)) is not None
        ]
        return f"let {lesson} come {' and '.join(parts)} {other}"


class ChangeUnit(NamedChange):
    """A unit's order is another one."""

    change: Literal["unit"] = Field(description="What is changed.")
    unit: TitleOrId = Field(description="The unit.")
    in_order: bool | None = Field(None, description="Whether its teach lessons are taught in the order listed.")
    not_after: Ident | None = Field(None, description="A unit that need not come before it any more.")
    no_strand: Text | None = Field(None, description="A tag whose lessons are no teacher's own any more.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        place = unit_place(scenario, self.unit)
        unit = scenario.units[place]
        edits = [Edit(("units", place, "in_order"), self.in_order)] if self.in_order is not None else []
        if self.not_after is not None:
            if self.not_after not in unit.after:
                raise NotThere("not_after", f"does not come before unit {unit.id}: {self.not_after}")
            edits.append(Edit(("units", place, "after", unit.after.index(self.not_after)), GONE))
        strands = (number for number, strand in enumerate(unit.strands) if strand.tag == self.no_strand)
        return edited(scenario, [*edits, *(Edit(("units", place, "strands", number)) for number in strands)])

    def said(self, scenario: BaseScenario) -> str:
        parts = []
        if self.in_order is not None:
            parts.append(f"teach unit {self.unit} in {'the order listed' if self.in_order else 'any order'}")
        if self.not_after is not None:
            parts.append(f"let unit {self.unit} begin before {self.not_after} has ended")
        if self.no_strand is not None:
            parts.append(f"let anybody teach what is tagged {self.no_strand} in unit {self.unit}")
        return " and ".join(parts)

    def price(self, scenario: BaseScenario) -> int:
        costs = scenario.repair_costs
        return costs.need if self.no_strand is not None else costs.order


class ChangeLesson(NamedChange):
    """What a lesson takes and needs is something else."""

    change: Literal["lesson"] = Field(description="What is changed.")
    lesson: LessonRef = Field(description="The lesson, as unit/id.")
    class_: ClassId | None = Field(None, alias="class", description="The class, for `live`; every class unless stated.")
    length: Annotated[int, Field(ge=1, le=8)] | None = Field(None, description="How many periods it takes.")
    needs: Words | None = Field(None, description="What its periods must offer.")
    teacher: Text | None = Field(None, description="Who teaches it; `off` for any teacher.")
    live: LiveWish | Off | None = Field(None, description="Whether it demands, prefers, avoids or refuses to be taught live.")
    no_longer_names: LessonRef | None = Field(
        None, description="A lesson that it does not practise, meet again or answer any more, as it is named there."
    )

    def made(self, scenario: BaseScenario) -> BaseScenario:
        of_class = self.class_ is not None and self.model_fields_set <= {"change", "lesson", "class_", "live"}
        path = lesson_path(scenario, self.lesson) if of_class else listed_path(scenario, self.lesson, LIST_IT)
        keys = ("length", "needs", "teacher", *(("live",) if self.class_ is None else ()))
        edits = [Edit((*path, key), or_none(value)) for key in keys if (value := getattr(self, key)) is not None]
        if self.no_longer_names is not None:
            lesson = scenario.units[int(path[1])].lessons[int(path[3])]
            named = (
                (key, place) for key in NAMING for place, ref in enumerate(getattr(lesson, key)) if ref == self.no_longer_names
            )
            edits += [Edit((*path, key, place)) for key, place in named]
        scenario = edited(scenario, edits)
        if self.live is not None and self.class_ is not None:
            scenario, own = spoken_of(scenario, self.class_, self.lesson)
            scenario = edited(scenario, [Edit((*own, "live"), or_none(self.live))])
        return scenario

    def said(self, scenario: BaseScenario) -> str:
        lesson = lesson_text(scenario, self.lesson)
        parts = []
        if self.length is not None:
            parts.append(f"teach {lesson} in {count_text(self.length, 'period')}")
        if self.needs is not None:
            needs = " and ".join(self.needs)
            parts.append(f"teach {lesson} with {needs} alone" if needs else f"teach {lesson} without what it needs")
        if self.teacher is not None:
            parts.append(f"let {'anybody' if self.teacher == 'off' else self.teacher} teach {lesson}")
        if self.live is not None:
            parts.append(f"let {lesson_text(scenario, self.lesson, self.class_)} be live or set work")
        if self.no_longer_names is not None:
            parts.append(f"let {lesson} do without {self.no_longer_names}")
        return " and ".join(parts)

    def price(self, scenario: BaseScenario) -> int:
        costs = scenario.repair_costs
        if self.length is not None:
            unit, place = self.lesson.partition("/")[0], listed_path(scenario, self.lesson)[-1]
            before = scenario.units[unit_place(scenario, unit)].lessons[int(place)].length
            return costs.length * (before - self.length)
        return costs.rule if self.no_longer_names is not None else costs.need


class ChangePattern(NamedChange):
    """A pattern does not make feedback or writing any more."""

    cost = "leave_out"

    change: Literal["pattern"] = Field(description="What is changed.")
    pattern: Ident = Field(description="The pattern.")
    no_longer_makes: Literal["feedback", "writing"] = Field(description="What it does not make any more.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        place = place_of(scenario.patterns, "pattern", self.pattern)
        return edited(scenario, [Edit(("patterns", place, self.no_longer_makes), None)])

    def said(self, scenario: BaseScenario) -> str:
        return f"do without the {self.no_longer_makes} lesson of pattern {self.pattern}"
