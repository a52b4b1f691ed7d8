"""What is told of single lessons of a plan that is kept elsewhere: rows named by class, unit and lesson, put into the plan.

In JSON::

    {"happened": [{"class": "9B", "unit": "coasts", "lesson": "drift", "what": "delivered"},
                  {"class": "9B", "unit": "coasts", "lesson": "arches", "date": "2026-11-06", "period": 2, "pin": true}]}

What a row states takes the place of what the plan's row says; what it leaves out stays.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Annotated, Any

from pydantic import Field

from sequencer.errors import Problem, UnusableInput
from sequencer.instance.load import model_from_tree, scenario_from_data
from sequencer.next_term.happened import with_what_happened
from sequencer.next_term.term import TermPlan, WholeTerm, made_for, term_data, term_from_data
from sequencer.next_term.week_of_term import AS_IT_IS, NO_SEQUENCE, NOTHING, PLANNED, PLANNED_AGAIN, WeekDone, week
from sequencer.next_term.week_told import changes_told, happened_told, why_told
from sequencer.questions.solve import SolveSettings
from sequencer.scenario.documents import Language, read_tree
from sequencer.scenario.fields import ClassId, Day, Happened, Ident, MadeIdent, Model, PeriodNumber, Taught, Words
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.written import scenario_data
from sequencer.solver.solver_calls import StopSignal
from sequencer.words import DELIVERED

_OTHERS = "Lessons of other classes would have to move."


class RowTold(Model):
    """What is told of a lesson of the plan."""

    class_: ClassId = Field(alias="class", description="The class.")
    unit: Ident = Field(description="Id of the lesson's unit.")
    lesson: MadeIdent = Field(description="Id of the lesson, as the plan has it.")
    what: Happened | None = Field(None, description="What became of it; null takes back what was recorded.")
    date: Day | None = Field(None, description="The date on which it took place, where that is another one.")
    period: PeriodNumber | None = Field(None, description="Its first period there.")
    taught: Taught | None = Field(None, description="In class, or remotely: live or as set work.")
    parts_done: Words = Field((), description="Of a part-taught lesson with parts: those that were done.")
    pin: bool = Field(False, description="Whether it stays where it lies when the plan is made again.")


class WeekRows(Model):
    """What happened in a week."""

    happened: Annotated[tuple[RowTold, ...], Field(max_length=20000)] = Field(
        (), description="Rows of the plan, each named by its class, unit and lesson; none where only the plan is made again."
    )


def load_week_rows(text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS) -> WeekRows:
    """Read what happened in a week.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    return model_from_tree(WeekRows, read_tree(text, language, limits), source, lambda _data, _words: ())


def _at_its_entry(problem: Problem, entries: dict[int, int]) -> Problem:
    """A problem of a row of the plan, at the entry that said it."""
    found = re.match(r"/plan/lessons/(\d+)", problem.pointer)
    entry = entries.get(int(found[1])) if found is not None else None
    if found is None or entry is None:
        return problem
    where = problem.where.replace(f"plan.lessons[{found[1]}]", f"happened[{entry}]")
    return replace(problem, where=where, pointer=problem.pointer.replace(found[0], f"/happened/{entry}", 1))


def _filled(term: WholeTerm, rows: WeekRows) -> tuple[WholeTerm, dict[int, int]]:
    """A term with what is told in its rows, and which row of the plan each entry is."""
    data = term_data(term)
    lessons: list[dict[str, Any]] = data["plan"]["lessons"] if data["plan"] is not None else []
    places = {(row["class"], row["unit"], row["lesson"]): number for number, row in enumerate(lessons)}
    entries: dict[int, int] = {}
    problems = []
    for number, told in enumerate(rows.happened):
        place = places.get((told.class_, told.unit, told.lesson))
        if place is None:
            message = f'the plan has no lesson "{told.lesson}" of unit "{told.unit}" for class {told.class_}'
        elif place in entries:
            message = f"happened[{entries[place]}] tells of the same lesson"
        else:
            entries[place] = number
            lessons[place] |= told.model_dump(mode="json", by_alias=True, exclude_unset=True)
            if told.what is None and "what" in told.model_fields_set:
                lessons[place]["parts_done"] = []
            continue
        problems.append(Problem(f"happened[{number}]", message, f"/happened/{number}"))
    if problems:
        raise UnusableInput(tuple(problems))
    try:
        return term_from_data(data), entries
    except UnusableInput as unusable:
        raise UnusableInput(tuple(_at_its_entry(each, entries) for each in unusable.problems)) from None


def week_of_rows(
    term: WholeTerm,
    rows: WeekRows,
    on: date,
    settings: SolveSettings | None = None,
    only: Callable[[str], bool] | None = None,
    stop: StopSignal | None = None,
) -> WeekDone:
    """Record what is told of a plan's rows, and plan the rest again; see ``week``.

    Parameters
    ----------
    only
        Whether lessons of a class may be told of and moved, where not all may be. Those of the others stay where they lie and as
        they were recorded; what lies before the day it then is, with nothing recorded, is taken to have come about meanwhile.

    Raises
    ------
    UnusableInput
        When a row is not of the plan, or what it says cannot have been, at its entry.
    """
    filled, entries = _filled(term, rows)
    try:
        done = week(filled, on, settings, stop) if only is None else _week_of_some(filled, on, settings, only, stop)
    except UnusableInput as unusable:
        raise UnusableInput(tuple(_at_its_entry(each, entries) for each in unusable.problems), unusable.source) from None
    if done.done == NOTHING:
        # Pins that were told are kept all the same.
        return replace(done, term=filled)
    return done if done.done in (PLANNED, PLANNED_AGAIN) else replace(done, term=term)


def as_it_stands(term: WholeTerm) -> WholeTerm:
    """A term as it can be shown: what its rows say is in its record, and what lies before its ``today`` came about as planned.

    Raises
    ------
    UnusableInput
        When what a row says cannot have been.
    """
    today = with_what_happened(term).scenario.today
    shown = _changed(term, _open_before(term, today, None), {"what": DELIVERED})
    return shown.model_copy(update={"scenario": with_what_happened(shown).scenario})


_Name = tuple[str, str, str]


def _open_before(term: WholeTerm, today: date | None, only: Callable[[str], bool] | None) -> set[_Name]:
    """Rows before a day of which nothing is recorded; none of the classes that ``only`` tells of."""
    if term.plan is None or today is None:
        return set()
    rows = (row for row in term.plan.lessons if row.what is None and row.date < today)
    return {row.name for row in rows if only is None or not only(row.class_)}


def _changed(term: WholeTerm, names: set[_Name], change: dict[str, Any]) -> WholeTerm:
    if not names or term.plan is None:
        return term
    rows = tuple(row.model_copy(update=change) if row.name in names else row for row in term.plan.lessons)
    return term.model_copy(update={"plan": term.plan.model_copy(update={"lessons": rows})})


def _week_of_some(
    term: WholeTerm,
    on: date,
    settings: SolveSettings | None,
    only: Callable[[str], bool],
    stop: StopSignal | None,
) -> WeekDone:
    """A week in which lessons of some classes alone may move; what was made up of the others on the way is taken out again."""
    now = with_what_happened(term)
    assert term.plan is not None
    assumed = _open_before(term, now.scenario.today, only)
    others = {row.name: row for row in term.plan.lessons if not only(row.class_)}
    held = {name for name, row in others.items() if row.what is None} - assumed
    asked = _changed(_changed(term, assumed, {"what": DELIVERED}), held, {"pin": True})
    done = week(asked, on, settings, stop)
    if done.done != PLANNED_AGAIN or done.term.plan is None:
        return replace(done, term=term, changed=(), said=(AS_IT_IS,))
    placed = {row.name: (row.date, row.period) for row in done.term.plan.lessons if row.name in others}
    if placed != {name: (row.date, row.period) for name, row in others.items()}:
        return replace(done, done=NO_SEQUENCE, term=term, changed=(), said=(f"{_OTHERS} {AS_IT_IS}",))
    data = scenario_data(done.term.scenario)
    kept = [entry for entry in data.pop("record") if (entry["class"], entry.get("unit"), entry.get("lesson")) not in assumed]
    scenario = scenario_from_data(data | ({"record": kept} if kept else {}))
    new = tuple(others.get(row.name, row) for row in done.term.plan.lessons)
    changed = tuple(each for each in done.changed if only(each.class_))
    before = done.term.earlier[:1] if len(done.term.earlier) and done.term.earlier[0].plan == asked.plan else ()
    told = replace(now, news=tuple(news for news in now.news if only(news.row.class_)), lapsed=())
    newest = tuple(
        each.model_copy(update={"plan": term.plan, "why": why_told(told, False), "changed": changed}) for each in before
    )
    after = WholeTerm(
        term=1,
        scenario=scenario,
        plan=TermPlan(lessons=new, made_for=made_for(scenario)),
        earlier=(*newest, *done.term.earlier[len(before) :]),
    )
    return replace(done, term=after, changed=changed, said=(*happened_told(told), *changes_told(changed)))
