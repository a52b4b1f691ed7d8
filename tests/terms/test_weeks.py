"""Weeks of a term: what is ticked is recorded once, as little moves as can be, and each week can be undone."""

from __future__ import annotations

from datetime import date

import pytest

from sequencer import (
    UnusableInput,
    UnusableSettings,
    WholeTerm,
    check,
    next_term,
    plan_sequence,
    read_scenario,
    term_data,
    term_of,
    undo,
)
from tests.terms.helpers import done, friday, through_a_workbook, ticked, with_scenario
from tests.writing_commands import SCENARIOS

SMALL = read_scenario(SCENARIOS / "small.yaml")
SUNDAY, FIRST, SECOND, THIRD = date(2026, 11, 1), date(2026, 11, 6), date(2026, 11, 13), date(2026, 11, 20)


@pytest.fixture(name="planned", scope="module")
def a_planned_term() -> WholeTerm:
    made = done(term_of(SMALL), SUNDAY)
    assert made.done == "planned" and made.term.plan is not None
    assert [row.what for row in made.term.plan.lessons] == [None] * 8
    return made.term


def dates(term: WholeTerm) -> dict[str, tuple[date, int]]:
    assert term.plan is not None
    return {row.lesson: (row.date, row.period) for row in term.plan.lessons}


def whats(term: WholeTerm) -> dict[str, str | None]:
    assert term.plan is not None
    return {row.lesson: row.what for row in term.plan.lessons}


def test_where_nothing_happened_nothing_is_done(planned: WholeTerm) -> None:
    again = done(planned, FIRST)
    assert again.done == "nothing" and again.term is planned
    assert again.said[0] == "Nothing happened since the plan was made, and nothing was changed."


def test_a_week_as_planned_moves_nothing(planned: WholeTerm) -> None:
    again = done(ticked(planned, FIRST), FIRST)
    assert again.done == "planned again" and again.changed == ()
    assert dates(again.term) == dates(planned)
    assert again.term.scenario.today == date(2026, 11, 7), "the day after the last lesson that was taught"
    assert [each.what for each in again.term.scenario.record] == ["delivered"] * 4
    assert done(again.term, FIRST).done == "nothing", "run twice, it does nothing"


def test_a_lost_lesson_is_taught_later_and_little_else_moves(planned: WholeTerm) -> None:
    lost = next(row for row in planned.plan.lessons if row.date == FIRST)  # type: ignore[union-attr]
    again = done(ticked(planned, FIRST, **{lost.lesson.replace("-", "_"): "lost"}), FIRST)
    assert dates(again.term)[lost.lesson] > (FIRST, 9)
    assert again.again is not None and again.again.answer.disruption is not None and again.again.answer.disruption.proven
    assert len(again.changed) == again.again.moved == len([each for each in again.changed if each.from_])
    assert whats(again.term)[lost.lesson] is None, "it is still to be taught"
    assert "1 did not take place" in again.said[0]
    assert again.term.earlier[0].changed == again.changed


def test_a_second_friday_reads_what_the_first_wrote(planned: WholeTerm) -> None:
    """``today``, which the first wrote, lies before what the second tells of; the rows of the first are recorded already."""
    term = through_a_workbook(done(ticked(planned, FIRST), FIRST).term)
    again = done(through_a_workbook(ticked(term, SECOND)), SECOND)
    assert again.done == "planned again"
    assert again.term.scenario.today is not None and again.term.scenario.today > SECOND - (THIRD - SECOND)
    told = [(entry.lesson, entry.what) for entry in again.term.scenario.record]
    assert len(told) == len({lesson for lesson, _ in told}), "each lesson once"


def test_a_part_taught_lesson_leaves_a_rest(planned: WholeTerm) -> None:
    growth = next(row for row in planned.plan.lessons if row.lesson == "growth")  # type: ignore[union-attr]
    again = done(ticked(planned, growth.date, growth="part-taught"), FIRST)
    assert whats(again.term)["growth"] == "part-taught" and whats(again.term)["growth-rest"] is None
    later = done(ticked(again.term, dates(again.term)["growth-rest"][0]), SECOND)
    assert whats(later.term)["growth-rest"] == "delivered"


def test_a_moved_test_lies_where_it_was_moved_to(planned: WholeTerm) -> None:
    units = term_data(planned)["scenario"]["units"]
    test = next(each for each in units[0]["lessons"] if each["id"] == "test")
    test["not_before"] = "2026-11-17"
    again = done(with_scenario(planned, units=units), FIRST)
    assert again.done == "planned again" and dates(again.term)["test"] >= (date(2026, 11, 17), 0)
    assert again.term.earlier[0].why == "what was set up was changed"
    assert sum(each.lesson == "test" for each in again.changed) == 1


def test_what_was_ticked_can_be_corrected_and_taken_back(planned: WholeTerm) -> None:
    term = done(ticked(planned, FIRST), FIRST).term
    rows = [row.model_copy(update={"what": None}) if row.lesson == "growth" else row for row in term.plan.lessons]  # type: ignore[union-attr]
    cleared = term.model_copy(update={"plan": term.plan.model_copy(update={"lessons": tuple(rows)})})  # type: ignore[union-attr]
    again = done(cleared, FIRST)
    assert "growth" not in [entry.lesson for entry in again.term.scenario.record]
    assert any("not recorded any more" in line for line in again.said)
    assert whats(again.term)["growth"] is None and dates(again.term)["growth"] > (FIRST, 9)


def test_a_week_is_undone_whole(planned: WholeTerm) -> None:
    filled = ticked(planned, FIRST, growth="lost")
    after = done(filled, FIRST)
    back = undo(after.term)
    assert back.done == "undone" and back.term == filled
    assert [(each.from_, each.to) for each in back.changed] == [(each.to, each.from_) for each in after.changed]
    assert done(back.term, FIRST).term == after.term
    with pytest.raises(UnusableSettings, match="no week to undo"):
        undo(undo(back.term).term)


def test_what_was_set_up_since_stays_when_a_week_is_undone(planned: WholeTerm) -> None:
    after = done(ticked(planned, FIRST), FIRST).term
    closed = with_scenario(after, closures=[*term_data(after)["scenario"]["closures"], {"name": "Snow", "on": "2026-11-19"}])
    assert undo(closed).term.scenario.closures == closed.scenario.closures


def test_only_ten_plans_are_kept(planned: WholeTerm) -> None:
    term = planned
    for _ in range(6):
        term = done(ticked(term, FIRST, growth="lost"), FIRST).term if term.scenario.record == () else term
        term = undo(term).term if term.scenario.record else term
    assert len(term.earlier) == 1
    many = term.model_copy(update={"earlier": term.earlier * 10})
    assert len(done(ticked(many, FIRST), FIRST).term.earlier) == 10


def test_a_what_if_that_what_happened_rules_out_is_taken_out(planned: WholeTerm) -> None:
    snow = {"name": "snow", "changes": [{"change": "add remote spell", "spell": {"name": "Snow", "on": "2026-11-02"}}]}
    late = {"name": "late snow", "changes": [{"change": "add closure", "closure": {"name": "Snow", "on": "2026-11-18"}}]}
    term = with_scenario(planned, what_ifs=[snow, late])
    assert done(term, FIRST).done == "nothing", "a plan depends on no what-if"
    again = done(ticked(term, FIRST), FIRST)
    assert [each.name for each in again.term.scenario.what_ifs] == ["late snow"]
    assert any('"snow" cannot come any more' in line for line in again.said)
    assert undo(again.term).term == ticked(term, FIRST), "both are back, in their order"


def test_a_pinned_lesson_stays(planned: WholeTerm) -> None:
    filled = ticked(planned, FIRST, growth="lost")
    moved = next(each for each in done(filled, FIRST).changed if each.lesson != "growth")
    rows = tuple(
        row.model_copy(update={"pin": True}) if row.lesson == moved.lesson else row
        for row in filled.plan.lessons  # type: ignore[union-attr]
    )
    pinned = filled.model_copy(update={"plan": filled.plan.model_copy(update={"lessons": rows})})  # type: ignore[union-attr]
    again = done(pinned, FIRST)
    assert moved.lesson not in [each.lesson for each in again.changed]
    assert next(row.pin for row in again.term.plan.lessons if row.lesson == moved.lesson)  # type: ignore[union-attr]


def test_no_sequence_leaves_the_term_as_it_is(planned: WholeTerm) -> None:
    units = term_data(planned)["scenario"]["units"]
    next(each for each in units[0]["lessons"] if each["id"] == "test")["not_after"] = "2026-11-10"
    hurried = with_scenario(planned, units=units, today="2026-11-05")
    again = done(hurried, FIRST)
    assert again.done == "no sequence" and again.term is hurried
    assert again.explanation is not None and again.explanation.conflicts
    # Lessons that were not ticked are taken as still to be taught.
    assert any("not recorded" in line for line in again.said)


def test_what_cannot_have_been_is_told_at_its_row(planned: WholeTerm) -> None:
    rows = tuple(
        row.model_copy(update={"what": "delivered", "period": 9}) if row.lesson == "sites" else row
        for row in planned.plan.lessons  # type: ignore[union-attr]
    )
    wrong = planned.model_copy(update={"plan": planned.plan.model_copy(update={"lessons": rows})})  # type: ignore[union-attr]
    with pytest.raises(UnusableInput) as unusable:
        done(wrong, FIRST)
    assert [problem.where for problem in unusable.value.problems] == ["plan.lessons[0].period"]


# -- a whole year ------------------------------------------------------------------------------------------------------


def walked(term: WholeTerm) -> WholeTerm:
    """A term from its first plan to its end: a lost lesson, a part-taught one, a week undone; each through a workbook."""
    term = through_a_workbook(done(term, term.scenario.term.first).term)
    for number, what in enumerate(("lost", "part-taught", "delivered"), 1):
        on = friday(term, number)
        waiting = [row for row in term.plan.lessons if row.what is None and row.date <= on]  # type: ignore[union-attr]
        special = {waiting[-1].lesson.replace("-", "_"): what} if waiting and waiting[-1].date >= on else {}
        filled = through_a_workbook(ticked(term, on, **special))
        after = done(filled, on)
        if after.done in ("no sequence", "none found"):  # a short term has no room for what was lost
            filled = ticked(term, on)
            after = done(filled, on)
        assert after.done == ("planned again" if waiting else "nothing"), after.said
        if waiting:
            assert undo(after.term).term == filled
        term = through_a_workbook(after.term)
        assert done(term, on).done == "nothing"
    return term


def after_it(term: WholeTerm, first: str, last: str) -> WholeTerm:
    sequence = plan_sequence(term.scenario, term.plan, "")
    assert not [each for each in check(term.scenario, sequence).breaches if not each.past]
    rolled = next_term(term.scenario, sequence, date.fromisoformat(first), date.fromisoformat(last))
    return through_a_workbook(term_of(rolled.scenario))


@pytest.mark.parametrize("terms", [2, pytest.param(3, marks=pytest.mark.slow)])
def test_a_class_of_one_through_a_year(terms: int) -> None:
    term = walked(term_of(SMALL))
    for first, last in (("2027-01-04", "2027-02-12"), ("2027-02-22", "2027-03-26"))[: terms - 1]:
        term = walked(after_it(term, first, last))


@pytest.mark.slow
def test_six_classes_through_three_weeks_and_into_the_next_term() -> None:
    term = walked(term_of(read_scenario(SCENARIOS / "six-classes.yaml")))
    made = done(after_it(term, "2027-01-04", "2027-02-12"), date(2027, 1, 3))
    assert made.done in ("planned", "no sequence"), "a skeleton may be impossible until it is filled in"
