"""Changes of days and periods: closures, remote spells, restricted days, periods lost and gained, when a class leaves."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta
from typing import TYPE_CHECKING, ClassVar, Literal

from pydantic import Field

from sequencer.scenario.base_schema import BaseScenario
from sequencer.scenario.calendar_schema import Closure, FixedTaught, RemoteSpell, RestrictedDay, Spread
from sequencer.scenario.changes.edits import Edit, edited
from sequencer.scenario.changes.named_parts import NamedChange, NotThere, class_place, in_list, or_none
from sequencer.scenario.fields import ClassId, Day, PeriodNumber, TaughtChoice, Text, Words
from sequencer.scenario.school_weeks import dates_of
from sequencer.scenario.timetable_schema import TimetabledPeriod
from sequencer.words import EVERY_WEEK, WEEKDAYS, count_text, day_text

Off = Literal["off"]
DayOrOff = Day | Off


def _days(entries: Iterable[Spread]) -> str:
    days = sorted({day for entry in entries for day in dates_of(entry)})
    if len(days) > 3:
        return f"from {day_text(days[0])} to {day_text(days[-1])}"
    return " and ".join(day_text(day) for day in days)


class Removal(NamedChange):
    """Entries of one name are taken out of a list; each of their weekdays is a step."""

    of: ClassVar[tuple[str, str]]
    """The key of the list, and what an entry of it is called."""

    if TYPE_CHECKING:
        name: str

    def _named(self, scenario: BaseScenario) -> list[Spread]:
        return [entry for entry in getattr(scenario, self.of[0]) if entry.name == self.name]

    def made(self, scenario: BaseScenario) -> BaseScenario:
        key, what = self.of
        places = in_list(getattr(scenario, key), what, self.name)
        return edited(scenario, [Edit((key, place)) for place in places])

    def steps(self, scenario: BaseScenario) -> int:
        return max(1, len({day for entry in self._named(scenario) for day in dates_of(entry) if day.weekday() < 5}))


class AddClosure(NamedChange):
    """Classes do not meet on further dates."""

    change: Literal["add closure"] = Field(description="What is changed.")
    closure: Closure = Field(description="The closure, as a scenario states one.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        return scenario.model_copy(update={"closures": (*scenario.closures, self.closure)})

    def said(self, scenario: BaseScenario) -> str:
        return f'close for "{self.closure.name}", {_days([self.closure])}'


class RemoveClosure(Removal):
    """A closure does not come about."""

    cost = "closed_day"
    of = ("closures", "closure")

    change: Literal["remove closure"] = Field(description="What is changed.")
    name: Text = Field(description="Name of the closure.")

    def said(self, scenario: BaseScenario) -> str:
        return f'let classes meet in spite of "{self.name}", {_days(self._named(scenario))}'


class AddRemoteSpell(NamedChange):
    """Classes meet remotely on further dates."""

    change: Literal["add remote spell"] = Field(description="What is changed.")
    spell: RemoteSpell = Field(description="The spell, as a scenario states one.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        return scenario.model_copy(update={"remote_spells": (*scenario.remote_spells, self.spell)})

    def said(self, scenario: BaseScenario) -> str:
        return f'meet remotely for "{self.spell.name}", {_days([self.spell])}'


class RemoveRemoteSpell(Removal):
    """Classes meet in school where they would have met remotely."""

    cost = "remote_day"
    of = ("remote_spells", "remote spell")

    change: Literal["remove remote spell"] = Field(description="What is changed.")
    name: Text = Field(description="Name of the spell.")

    def said(self, scenario: BaseScenario) -> str:
        return f'meet in school in spite of "{self.name}", {_days(self._named(scenario))}'


class ChangeRemoteSpell(NamedChange):
    """How the periods of a remote spell are taught is something else."""

    change: Literal["remote spell"] = Field(description="What is changed.")
    name: Text = Field(description="Name of the spell.")
    taught: TaughtChoice | None = Field(None, description="How its periods are taught: live, set work, or open.")
    fixed: tuple[FixedTaught, ...] | None = Field(
        None, description="Periods of the spell that differ from `taught`; they replace those stated."
    )

    def made(self, scenario: BaseScenario) -> BaseScenario:
        stated = {key: value for key in ("taught", "fixed") if (value := getattr(self, key)) is not None}
        places = in_list(scenario.remote_spells, "remote spell", self.name)
        return edited(scenario, [Edit(("remote_spells", place, key), value) for place in places for key, value in stated.items()])

    def said(self, scenario: BaseScenario) -> str:
        parts: list[str] = [self.taught] if self.taught is not None else []
        if self.fixed is not None:
            with_them = f"with {count_text(len(self.fixed), 'other designation')}"
            parts.append(with_them if self.fixed else "without other designations")
        return f'let the periods of "{self.name}" be {" ".join(parts)}'


class AddRestrictedDay(NamedChange):
    """Further dates take only some lessons."""

    change: Literal["add restricted day"] = Field(description="What is changed.")
    day: RestrictedDay = Field(description="The dates and what they refuse, as a scenario states them.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        return scenario.model_copy(update={"restricted_days": (*scenario.restricted_days, self.day)})

    def said(self, scenario: BaseScenario) -> str:
        return f'restrict {_days([self.day])} for "{self.day.name}"'


class RemoveRestrictedDay(Removal):
    """Dates take every lesson after all."""

    cost = "restricted"
    of = ("restricted_days", "restricted day")

    change: Literal["remove restricted day"] = Field(description="What is changed.")
    name: Text = Field(description="Name of the restricted dates.")

    def said(self, scenario: BaseScenario) -> str:
        return f'teach as usual in spite of "{self.name}", {_days(self._named(scenario))}'


class LosePeriod(NamedChange):
    """A class loses one of its periods."""

    change: Literal["lose period"] = Field(description="What is changed.")
    class_: ClassId = Field(alias="class", description="The class.")
    date: Day = Field(description="Date of the period.")
    period: PeriodNumber = Field(description="Its number.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        class_place(scenario, self.class_)
        lost = Closure(
            name=f"{self.class_} loses period {self.period}", on=(self.date.isoformat(),),  # type: ignore[arg-type]
            classes=(self.class_,), periods=(self.period,),
        )  # fmt: skip
        return scenario.model_copy(update={"closures": (*scenario.closures, lost)})

    def said(self, scenario: BaseScenario) -> str:
        return f"{self.class_} loses period {self.period} on {day_text(self.date)}"


class GainPeriod(NamedChange):
    """A class meets in one period more."""

    cost = "extra_period"

    change: Literal["gain period"] = Field(description="What is changed.")
    class_: ClassId = Field(alias="class", description="The class.")
    date: Day = Field(description="Date of the period.")
    period: PeriodNumber = Field(description="Its number.")
    offers: Words = Field((), description="What the period offers in class.")
    teacher: Text | None = Field(None, description="Who teaches it; the class's teacher unless stated.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        """A timetable knows only weeks, so that day has one of its own."""
        place, day, after = class_place(scenario, self.class_), self.date, self.date + timedelta(days=1)
        timetables = scenario.classes[place].timetable
        in_force = [timetable for timetable in timetables if timetable.first is None or timetable.first <= day]
        if not in_force:
            raise NotThere("date", f"lies before the first timetable of {self.class_}: {day}")
        now = in_force[-1]
        weekday = WEEKDAYS[day.weekday()]
        if any(entry.period == self.period for days in now.weeks.values() for entry in days.get(weekday, ())):  # type: ignore[call-overload]
            raise NotThere("period", f"is timetabled on {weekday} already: {self.period}")
        more = TimetabledPeriod(period=self.period, offers=self.offers, teacher=self.teacher)
        weeks = {label: dict(days) for label, days in now.weeks.items()}
        every = weeks.setdefault(EVERY_WEEK, {})
        every[weekday] = (*every.get(weekday, ()), more)  # type: ignore[index, call-overload]
        before, later = in_force[:-1] if now.first == day else in_force, list(timetables[len(in_force) :])
        if not later or later[0].first != after:
            later = [now.model_copy(update={"first": after}), *later]
        found = (*before, now.model_copy(update={"first": day, "weeks": weeks}), *later)
        return edited(scenario, [Edit(("classes", place, "timetable"), found)])

    def said(self, scenario: BaseScenario) -> str:
        return f"let {self.class_} meet once more, on {day_text(self.date)} in period {self.period}"


class ChangeLeaving(NamedChange):
    """A class meets until another date."""

    cost = "day"

    change: Literal["leaves"] = Field(description="What is changed.")
    class_: ClassId = Field(alias="class", description="The class.")
    leaves: DayOrOff = Field(description="The last date on which it meets; `off` for the end of term.")

    def made(self, scenario: BaseScenario) -> BaseScenario:
        return edited(scenario, [Edit(("classes", class_place(scenario, self.class_), "leaves"), or_none(self.leaves))])

    def said(self, scenario: BaseScenario) -> str:
        until = "the end of term" if self.leaves == "off" else day_text(self.leaves)
        return f"let {self.class_} meet until {until}"

    def steps(self, scenario: BaseScenario) -> int:
        last = scenario.term.last
        before = scenario.classes[class_place(scenario, self.class_)].leaves or last
        return max(1, ((last if self.leaves == "off" else self.leaves) - before).days)
