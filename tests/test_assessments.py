"""The assessment calendar of a year group: in order, with what is fixed elsewhere, and what its weeks hold, counted by hand."""

from __future__ import annotations

from icalendar import Calendar

from sequencer import Answer, Asked, around_written, assessments_json
from tests.builders import around_text, scenario, solved, teach
from tests.test_around_forms import a_year, page, table
from tests.test_calendar_format import strict


def test_everything_stands_in_order_of_time() -> None:
    (year,) = assessments_json(solved(a_year()))["cohorts"]
    assert [(each["date"], each["subject"], each["class"], each["title"]) for each in year["assessments"]] == [
        ("2026-11-03", "Geography", "9G1", "Soil test"),
        ("2026-11-03", "Geography", "9G2", "Soil test"),
        ("2026-11-05", "French", None, None),
        ("2026-11-09", "History", "9H", "Essay"),
        ("2026-11-14", "French", None, None),
    ]
    # Week 1: one test in geography, one in French, and homework of one class set on Monday. Week 2: the essay, and French.
    weeks = [(week["assessments"], week["homework"], week["dense"]) for week in year["weeks"]]
    assert weeks == [(2, 20, 0), (2, 0, 0)]


def test_text_table_and_sheet_hold_what_is_fixed_elsewhere() -> None:
    answer = solved(a_year())
    assert "Thu  5 Nov 2026  French     fixed elsewhere  all" in around_text("assessments", answer)
    fixed = [row["date"] for row in table(answer, "assessments", Asked()) if row["fixed"]]
    assert fixed == ["2026-11-05", "2026-11-14"]
    sheet = page(answer, "assessments", Asked()).text
    # Classes that write the same on one day stand together; what lies on a Saturday stands with the Friday.
    assert "(9G1, 9G2)" in sheet and "Sat: French: fixed elsewhere" in " ".join(sheet.split())


def test_a_class_is_a_cohort_of_one_where_there_is_none() -> None:
    data = a_year()
    del data["cohorts"]
    cohorts = assessments_json(solved(data))["cohorts"]
    assert [(each["cohort"], len(each["assessments"])) for each in cohorts] == [("9G1", 1), ("9G2", 1), ("9H", 1)]


def test_nothing_to_write() -> None:
    assert "No assessment is planned." in around_text("assessments", solved(scenario([teach("a")])))


def events(answer: Answer) -> dict[str, tuple[str, str]]:
    """Summary and first day of each event, by its UID."""
    text = around_written(answer, "assessments", "calendar", Asked())
    assert isinstance(text, bytes)
    strict(text)
    found = Calendar.from_ical(text).walk("VEVENT")
    return {str(each["UID"]): (str(each["SUMMARY"]), each["DTSTART"].dt.isoformat()) for each in found}


def test_the_calendar_keeps_its_uids() -> None:
    data = a_year()
    before = events(solved(data))
    assert sorted(before.values()) == [
        ("French: fixed elsewhere", "2026-11-05"),
        ("French: fixed elsewhere", "2026-11-14"),
        ("Geography: Soil test (9G1)", "2026-11-03"),
        ("Geography: Soil test (9G2)", "2026-11-03"),
        ("History: Essay (9H)", "2026-11-09"),
    ]
    data["units"][1]["lessons"][0]["on"] = "2026-11-10"
    after = events(solved(data))
    assert after.keys() == before.keys()
    assert [after[uid] for uid in after if after[uid] != before[uid]] == [("History: Essay (9H)", "2026-11-10")]
