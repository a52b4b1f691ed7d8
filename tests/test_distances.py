"""Distances that suit an exam date: the published points, the recall grid of the same source, and which number wins.

Source of both: Cepeda, Vul, Rohrer, Wixted & Pashler 2008, Psychological Science 19(11), 1095-1102. The grid is digitised from
replots of its figure (within 0.4 points); the best observed gaps and the range of shares are as its abstract and text have them.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest

from sequencer import answer_json, answer_text, build_instance, guide_text, scenario_data, scenario_from_data
from sequencer.instance.exam_distances import BEST_OBSERVED_GAPS, SOURCE, best_gap, distance_before
from sequencer.plan.notes import LABORATORY
from tests.builders import Data, day, retrieval, scenario, solved, teach
from tests.redating.helpers import OLD, redated, said

PUBLISHED = {7: 1, 35: 11, 70: 21, 350: 21}
"""Best observed gap in days for a test so many days after the second session."""

RECALLED: dict[int, dict[int, float]] = {
    7: {0: 88.2, 1: 97.3, 2: 95.0, 7: 93.8, 21: 93.3, 105: 80.6},
    35: {0: 51.7, 1: 68.9, 4: 73.9, 7: 79.9, 11: 81.9, 21: 75.9, 105: 59.1},
    70: {0: 29.1, 1: 42.1, 7: 60.1, 14: 51.3, 21: 61.2, 105: 42.4},
    350: {0: 12.4, 1: 12.5, 7: 14.7, 21: 21.9, 35: 19.9, 70: 20.6, 105: 13.3},
}
"""Per cent recalled, by delay and gap in days."""


def test_the_published_points_are_given_exactly() -> None:
    assert dict(BEST_OBSERVED_GAPS) == PUBLISHED
    for delay, gap in PUBLISHED.items():
        assert best_gap(delay) == gap
        assert distance_before(delay + gap) == gap  # met again after the gap, a delay before the test


def test_it_never_falls_as_the_test_moves_away() -> None:
    gaps = [best_gap(Fraction(delay, 4)) for delay in range(4, 8000)]
    assert all(earlier <= later for earlier, later in pairwise(gaps))
    whole = [distance_before(days) for days in range(2, 2000)]
    assert all(earlier is not None and later is not None and earlier <= later for earlier, later in pairwise(whole))


def test_its_share_of_the_delay_never_rises_where_the_published_points_allow_it() -> None:
    """Up to 7 days, and from 35 days on. Between them the published points themselves rise, from 1/7 to 11/35."""
    for low, high in ((Fraction(1), Fraction(7)), (Fraction(35), Fraction(2000))):
        delays = [low + Fraction(step, 4) for step in range(int(4 * (high - low)) + 1)]
        shares = [best_gap(delay) / delay for delay in delays]
        assert all(earlier >= later for earlier, later in pairwise(shares))
    assert Fraction(PUBLISHED[7], 7) < Fraction(PUBLISHED[35], 35)


def test_the_shares_are_those_that_are_documented() -> None:
    """1 of 7, 11 of 35, 21 of 70 and 21 of 350 days: the one rise, from 7 to 35 days, is in the published points themselves."""
    shares = [f"{float(100 * best_gap(delay) / delay):.1f}%" for delay in PUBLISHED]
    assert shares == ["14.3%", "31.4%", "30.0%", "6.0%"]
    assert ", ".join(shares[:3]) + f" and {shares[3]}" in " ".join((guide_text("rules") or "").split())
    delays = [Fraction(delay, 4) for delay in range(4 * 7, 4 * 35 + 1)]
    rising = [best_gap(delay) / delay for delay in delays]
    assert all(earlier < later for earlier, later in pairwise(rising))


def test_shares_come_near_those_of_the_abstract() -> None:
    """The abstract: the best gap falls from 20 to 40% of a one-week delay to 5 to 10% of a one-year one. One day of seven is
    less, since only gaps of 1 and 2 days were tried there near it."""
    assert Fraction(5, 100) <= best_gap(365) / 365 <= Fraction(10, 100)
    assert best_gap(7) / 7 < Fraction(20, 100) <= Fraction(2, 7)


@pytest.mark.parametrize("delay", RECALLED)
def test_the_recall_grid_ranks_the_distance_best_or_second_best(delay: int) -> None:
    grid = RECALLED[delay]
    nearest = min(grid, key=lambda gap: abs(gap - best_gap(delay)))
    assert nearest == best_gap(delay)  # it is one of the gaps that were tried
    assert nearest in sorted(grid, key=lambda gap: -grid[gap])[:2]
    assert max(grid, key=lambda gap: grid[gap]) != 0


@pytest.mark.parametrize("days", [-3, 0, 1])
def test_nothing_is_said_on_the_eve(days: int) -> None:
    assert distance_before(days) is None


@pytest.mark.parametrize(("days", "distance"), [(2, 1), (8, 1), (27, 6), (46, 11), (68, 16), (91, 21), (200, 21), (900, 21)])
def test_between_the_points_it_lies_on_a_straight_line(days: int, distance: int) -> None:
    """27 days: half way from 8 to 46, 6. 68 days: 11 + 22/45 of 10 is 15.9."""
    assert distance_before(days) == distance


# -- in a scenario -----------------------------------------------------------------------------------------------------

WIDE: dict[str, Any] = {"retrieval": {"least": 1, "most": 40}}


def preferred(data: Data) -> dict[str, int]:
    instance = build_instance(scenario_from_data(data))
    return {lesson.id: lesson.retrievals[0].preferred for lesson in instance.lessons if lesson.retrievals}


def for_an_exam(exam: str, rules: Data | None = None, *lessons: Data, **of_class: Any) -> Data:
    listed = lessons or (teach("a"), retrieval("r", "a"))
    return scenario(listed, weeks=5, of_class={"exam_date": exam, **of_class}, rules=WIDE if rules is None else rules)


def test_a_far_exam_asks_for_three_weeks_and_a_near_one_for_days() -> None:
    """Ten periods, one teach lesson: reckoned in the sixth, Tuesday of week 3, 17 November."""
    assert preferred(for_an_exam("2027-06-01")) == {"a": 21}
    assert preferred(for_an_exam("2027-01-02")) == {"a": 11}  # 46 days later
    assert preferred(for_an_exam("2026-11-25")) == {"a": 1}  # 8 days later
    assert preferred(for_an_exam("2026-11-18")) == {"a": 20}  # too late: half way between least and most, as without


def test_a_pin_or_what_was_taught_before_is_reckoned_where_it_is() -> None:
    pinned = for_an_exam(day(1, "Mon"), None, teach("a", on=day(1, "Mon")), retrieval("r", "a"))
    pinned["classes"][0]["exam_date"] = "2026-12-18"  # 46 days after 2 November
    assert preferred(pinned) == {"a": 11}
    before = for_an_exam(
        "2026-12-02", None, teach("a"), retrieval("r", ["a", "before/t"]), taught_before=[{"id": "t", "date": "2026-10-17"}]
    )
    assert preferred(before)["t"] == 11  # 46 days


def test_a_number_of_the_scenario_always_wins() -> None:
    stated = for_an_exam("2027-06-01", {"retrieval": {"least": 1, "most": 40, "preferred": 5}})
    assert preferred(stated) == {"a": 5}
    assert build_instance(scenario_from_data(stated)).lessons[0].exam_distance is None
    of_lesson = for_an_exam("2027-06-01", None, teach("a", rules={"retrieval": {"preferred": 6}}), retrieval("r", "a"))
    assert preferred(of_lesson) == {"a": 6}


def test_a_window_wins_too_and_the_answer_says_so() -> None:
    data = for_an_exam("2027-06-01", {})  # 10 to 14 days unless stated
    assert preferred(data) == {"a": 14}
    (note,) = [note for note in solved(data).notes if SOURCE in note]
    assert "21 days" in note and "does not reach that: the nearest day in it, 14," in note


def test_source_and_caution_are_printed_and_nothing_without_an_exam_date() -> None:
    answer = solved(for_an_exam("2027-06-01"))
    assert SOURCE in answer_text(answer) and LABORATORY in answer_text(answer)
    assert answer_json(answer)["cautions"] == [LABORATORY]
    plain = for_an_exam("2027-06-01")
    del plain["classes"][0]["exam_date"]
    assert SOURCE not in answer_text(solved(plain)) and answer_json(solved(plain))["cautions"] == []
    assert preferred(plain) == {"a": 20}


def test_the_solver_keeps_the_distance() -> None:
    """Taught on 2 November, known on 18 December: 11 days, so met again on Friday 13 November, of all weekdays."""
    data = for_an_exam("2026-12-18", None, teach("a", on=day(1, "Mon")), retrieval("r", "a"))
    data["classes"][0]["timetable"] = {weekday: [1] for weekday in ("Mon", "Tue", "Wed", "Thu", "Fri")}
    rows = {row["lesson"]: row["date"] for row in answer_json(solved(data))["lessons"]}
    assert rows == {"a": "2026-11-02", "r": "2026-11-13"}


def test_an_exam_after_the_term_has_no_place_in_next_years_calendar() -> None:
    result = redated(for_an_exam("2027-06-01") | OLD)
    assert "exam_date" not in scenario_data(result.scenario)["classes"][0]
    (told,) = [text for text in said(result) if "to be known on" in text]
    assert told.startswith("9B, to be known on Tue 1 Jun 2027: left out, since ")
