"""The school year against outside figures: bank holidays as two packages have them, and the days that the law asks for."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from govuk_bank_holidays.bank_holidays import BankHolidays

from sequencer import (
    Scenario,
    UnusableInput,
    UnusableSettings,
    bank_holidays,
    build_instance,
    read_scenario,
    read_workbook,
    scenario_from_data,
    solve,
)
from sequencer.__main__ import main
from sequencer.scenario.school_weeks import dates_of, days_between
from tests.builders import Data, a_class, scenario, teach
from tests.redating.helpers import EVERY_DAY, SCENARIOS

YEARS = range(2018, 2029)
"""Those that the government's list holds."""

SCHOOL_YEAR: Data = {
    "term": {"first": "2026-09-03", "last": "2027-07-20", "cycle": ["A", "B"]},
    "holidays": [
        {"name": "Autumn half term", "first": "2026-10-26", "last": "2026-10-30"},
        {"name": "Christmas", "first": "2026-12-19", "last": "2027-01-03"},
        {"name": "February half term", "first": "2027-02-15", "last": "2027-02-19"},
        {"name": "Easter", "first": "2027-03-26", "last": "2027-04-11"},
        {"name": "May bank holiday", "on": "2027-05-03"},
        {"name": "May half term", "first": "2027-05-31", "last": "2027-06-04"},
        {"name": "Training days", "on": ["2026-11-27", "2027-01-04"]},
    ],
}
"""An invented school's year in England: training days are no days of school for its pupils."""


def published(year: int) -> set[date]:
    """England's on weekdays, as the list that the government publishes has them: the copy in the package, nothing is fetched."""
    listed = BankHolidays(use_cached_holidays=True).get_holidays(BankHolidays.ENGLAND_AND_WALES, year)
    return {each["date"] for each in listed if each["date"].weekday() < 5}


def days_of_term(read: Scenario) -> list[date]:
    """Weekdays of term that are not holiday, whatever is closed on them."""
    away = {day for holiday in read.holidays for day in dates_of(holiday)}
    return [day for day in days_between(read.term.first, read.term.last) if day.weekday() < 5 and day not in away]


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize("part", ["England", "wales", "United Kingdom, ENG", "England, UK"])
def test_the_bank_holidays_offered_are_those_published(year: int, part: str) -> None:
    # They are reckoned by rule; the other package keeps the government's list.
    reckoned = {each.on for each in bank_holidays(part, date(year, 1, 1), date(year, 12, 31))}
    assert reckoned == published(year)
    assert len(reckoned) >= 8


def test_bank_holidays_have_names_and_lie_within_the_days_asked_about() -> None:
    found = bank_holidays("England", date(2027, 3, 26), date(2027, 3, 28))
    assert [(each.name, each.on) for each in found] == [("Good Friday", date(2027, 3, 26))]
    (family,) = bank_holidays("Canada, Ontario", date(2027, 2, 1), date(2027, 2, 28))
    assert family.name == "Family Day"  # of the province, by its own act; none of the whole country's
    assert bank_holidays("Canada", date(2027, 2, 1), date(2027, 2, 28)) == ()


@pytest.mark.parametrize("country", ["", "Englnd", "Atlantis", "England, France", "a, b, c", "," * 500])
def test_a_country_that_is_not_known_is_told(country: str) -> None:
    with pytest.raises(UnusableSettings, match="names no country whose bank holidays are known"):
        bank_holidays(country, date(2027, 1, 1), date(2027, 1, 31))
    data = scenario([teach("a")], term={"first": "2026-11-02", "last": "2026-12-18", "country": country or "Englnd"})
    with pytest.raises(UnusableInput) as unusable:
        scenario_from_data(data)
    assert [problem.where for problem in unusable.value.problems][:1] == ["term.country"]


def test_a_country_closes_nothing() -> None:
    # 26 and 29 March are Good Friday and Easter Monday; a class meets on both unless holidays list them.
    dates = {"first": "2027-03-22", "last": "2027-04-02"}
    plain, named = (
        build_instance(scenario_from_data(scenario([teach("a")], classes=[a_class("9B", EVERY_DAY)], term=term)))
        for term in (dates, {**dates, "country": "England"})
    )
    assert [slot.date for slot in named.classes[0].slots] == [slot.date for slot in plain.classes[0].slots]
    assert len(named.classes[0].slots) == 10


def test_a_lesson_on_a_bank_holiday_is_told() -> None:
    term = {"first": "2027-03-22", "last": "2027-04-02", "country": "England"}
    data = scenario([teach("a", on="2027-03-29")], classes=[a_class("9B", EVERY_DAY)], term=term)
    assert solve(scenario_from_data(data)).notes == (
        "9B has lessons on bank holidays in England: Easter Monday, Mon 29 Mar 2027. Make these days off if the school is "
        "closed then",
    )
    away = data | {"holidays": [{"name": "Good Friday", "on": "2027-03-26"}]}
    assert "Good Friday" not in "".join(solve(scenario_from_data(away)).notes)


def test_the_bank_holidays_of_2027() -> None:
    days = [(1, 1), (3, 26), (3, 29), (5, 3), (5, 31), (8, 30), (12, 27), (12, 28)]
    assert published(2027) == {date(2027, month, day) for month, day in days}


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_no_class_of_a_demo_meets_on_a_bank_holiday(file: Path) -> None:
    instance = build_instance(read_scenario(file))
    meets = {slot.date for facts in instance.classes for slot in facts.slots}
    assert meets
    assert not meets & (published(2026) | published(2027))


def test_a_calendar_of_bank_holidays_takes_exactly_their_days() -> None:
    # A whole calendar year, a class every weekday, and the list as holidays: 365 days, 261 of them weekdays, 8 of those away.
    listed = [{"name": "Bank holiday", "on": day.isoformat()} for day in sorted(published(2027))]
    data = scenario([teach("a")], classes=[a_class("9B", EVERY_DAY)], term={"first": "2027-01-01", "last": "2027-12-31"})
    instance = build_instance(scenario_from_data(data | {"holidays": listed}))
    met = {slot.date for slot in instance.classes[0].slots}
    assert len(met) == len(instance.calendar.school_days) == 261 - 8
    assert met == set(instance.calendar.school_days) and not met & published(2027)
    # Friday 1 January is the only weekday of its week, which is then none of school; all other weeks are.
    assert len(instance.calendar.weeks) == 52
    assert instance.calendar.weeks[0].monday == date(2027, 1, 4)


# Education (School Day and School Year) (England) Regulations 1999, SI 1999/3181, regulation 3: at least 380 sessions, two a day;
# a session that cannot be held for a reason that could not be helped counts as held.


def test_a_school_year_holds_190_days() -> None:
    read = scenario_from_data(scenario([teach("a")], classes=[a_class("9B", EVERY_DAY)], **SCHOOL_YEAR))
    instance = build_instance(read)
    assert len(instance.calendar.school_days) == len(days_of_term(read)) == 190
    assert 2 * len(instance.calendar.school_days) == 380
    assert len(instance.classes[0].slots) == 190  # a class that meets once a day


def test_a_closure_takes_periods_and_no_day_of_the_year_of_190() -> None:
    snow = {"name": "Snow", "first": "2027-02-02", "last": "2027-02-03"}
    base = scenario([teach("a")], classes=[a_class("9B", EVERY_DAY)], **SCHOOL_YEAR)
    before, after = (build_instance(scenario_from_data(data)) for data in (base, base | {"closures": [snow]}))
    # Two periods are lost; the year has its 190 days, and weeks keep their numbers and labels.
    assert len(after.classes[0].slots) == 188
    assert len(days_of_term(after.scenario)) == 190
    assert after.calendar.weeks == before.calendar.weeks
    # Nobody marks on days on which the school is closed: marking counts what was held.
    assert len(after.calendar.school_days) == 188


def test_the_demo_of_a_year_has_the_days_that_the_law_asks_for() -> None:
    (year,) = [read_scenario(file) for file in SCENARIOS if file.stem == "exam-year"]
    training = {day for closure in year.closures if "Training" in closure.name for day in dates_of(closure)}
    assert len(set(days_of_term(year)) - training) >= 190


def test_a_workbook_is_begun_with_the_bank_holidays_of_its_term(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = tmp_path / "spring.xlsx"
    asked = ["start", str(book), "--country", "England", "--first", "2027-01-04"]
    assert main(asked) == 2 and not book.exists()
    assert "belong together" in capsys.readouterr().err
    assert main([*asked, "--last", "2027-04-30"]) == 0
    assert "Good Friday, Fri 26 Mar 2027; Easter Monday, Mon 29 Mar 2027. Delete those" in capsys.readouterr().out
    read = read_workbook(book)
    assert (read.term.country, read.term.first, read.term.last) == ("England", date(2027, 1, 4), date(2027, 4, 30))
    assert [(each.name, dates_of(each)) for each in read.holidays] == [
        ("Good Friday", (date(2027, 3, 26),)),
        ("Easter Monday", (date(2027, 3, 29),)),
    ]
    assert main([*asked, "--last", "2027-04-30"]) == 2  # what is there stays
