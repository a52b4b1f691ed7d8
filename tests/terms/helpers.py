"""Terms walked by the week: ticked, planned again, taken out of a workbook and put back."""

from __future__ import annotations

from datetime import date, timedelta

from sequencer import SolveSettings, WeekDone, WholeTerm, load_term_book, term_data, term_from_data, term_written, week

SETTINGS = SolveSettings(60.0, effort=3.0)
"""Little effort, and time enough that the clock decides nothing."""


def ticked(term: WholeTerm, until: date, **became: str) -> WholeTerm:
    """The term with every lesson up to a day ticked as taught, or as what else became of it, by its id with _ for -."""
    assert term.plan is not None
    rows = [
        row.model_copy(update={"what": became.get(row.lesson.replace("-", "_"), "delivered")})
        if row.what is None and row.date <= until
        else row
        for row in term.plan.lessons
    ]
    return term.model_copy(update={"plan": term.plan.model_copy(update={"lessons": tuple(rows)})})


def through_a_workbook(term: WholeTerm) -> WholeTerm:
    """The term as the workbook that holds it is read back."""
    read = load_term_book(term_written(term)).term
    assert read == term
    return read


def done(term: WholeTerm, on: date) -> WeekDone:
    """A week of a term."""
    return week(term, on, SETTINGS)


def with_scenario(term: WholeTerm, **changes: object) -> WholeTerm:
    """The term with parts of what was set up changed, in the plain data of a scenario."""
    data = term_data(term)
    data["scenario"] |= changes
    return term_from_data(data)


def friday(term: WholeTerm, number: int) -> date:
    """The Friday of the numbered week of a term, from 1."""
    first = term.scenario.term.first
    return first - timedelta(days=first.weekday()) + timedelta(days=7 * (number - 1) + 4)
