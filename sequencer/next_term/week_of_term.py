"""A week of a term: what happened is recorded, the rest is planned again with the fewest moves, and the plan before is kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from sequencer.errors import UnusableSettings
from sequencer.instance.load import scenario_from_data
from sequencer.instance.plain_names import by_title
from sequencer.next_term.happened import ScenarioNow, with_what_happened
from sequencer.next_term.plan_rows import LONGEST_TITLE, plan_before, plan_of, put_pins
from sequencer.next_term.term import MOST_EARLIER, EarlierPlan, PlanChange, PlanPeriod, PlanRow, WholeTerm, made_for
from sequencer.next_term.week_told import changes_told, happened_told, pins_told, quality_told, why_told
from sequencer.plan.differences import Period
from sequencer.plan.sequence import Previous
from sequencer.questions.compare import EXPLAINED_SECONDS
from sequencer.questions.explaining.explain import ExplainSettings, Explanation, explain
from sequencer.questions.replan import Replanned, replan
from sequencer.questions.solve import Answer, SolveSettings, solve
from sequencer.scenario.changes.what_ifs import WhatIf
from sequencer.scenario.written import scenario_data
from sequencer.solver.progress import Progress
from sequencer.solver.solver_calls import StopSignal
from sequencer.words import INFEASIBLE, day_text

PLANNED, PLANNED_AGAIN, NOTHING, UNDONE = "planned", "planned again", "nothing", "undone"
NO_SEQUENCE, NONE_FOUND = "no sequence", "none found"

AS_IT_IS = "The term stays as it is."


@dataclass(frozen=True)
class WeekDone:
    """What became of a term in a week; with ``changed``, what moved, and the same in sentences.

    Parameters
    ----------
    done
        ``planned`` (the first plan), ``planned again``, ``nothing`` (nothing happened, and nothing was changed), ``undone``,
        ``no sequence``, ``none found`` (in the time).
    term
        The term afterwards; where there is no new plan, as it was.
    again
        The plan made again, where one was; of a first plan there is only an answer.
    """

    done: str
    term: WholeTerm
    changed: tuple[PlanChange, ...]
    said: tuple[str, ...]
    answer: Answer | None = None
    again: Replanned | None = None
    explanation: Explanation | None = None
    previous: Previous | None = None


def week(
    term: WholeTerm,
    on: date,
    settings: SolveSettings | None = None,
    stop: StopSignal | None = None,
    progress: Callable[[Progress], None] | None = None,
) -> WeekDone:
    """Record what the plan's rows say happened, and plan the rest again; or make the first plan.

    ``on`` is the day it is, by which the plan before is named.

    Raises
    ------
    UnusableInput
        When what a row says cannot have been.
    """
    now = with_what_happened(term)
    plan = term.plan
    if plan is None:
        return _first(term, on, settings, stop, progress)
    if not now.news and made_for(now.scenario) == plan.made_for:
        return WeekDone(NOTHING, term, (), ("Nothing happened since the plan was made, and nothing was changed.", AS_IT_IS))
    before = plan_before(now.scenario, plan)
    data = scenario_data(now.scenario)
    pins = [(number, row) for number, row in enumerate(plan.lessons) if row.pin and row.what is None]
    list(put_pins(data, [pin for pin in pins if pin[0] in before.lying]))
    again = replan(scenario_from_data(data), before.previous, settings, stop=stop, progress=progress)
    if again.answer.sequence is None:
        return _none(term, again.answer, again, again.explanation)
    new = plan_of(again.answer, now.scenario, plan)
    changed = _changed(again, before.left)
    after = WholeTerm(term=1, scenario=now.scenario, plan=new, earlier=term.earlier)
    told = (
        *happened_told(now),
        *pins_told(row for number, row in pins if number not in before.lying),
        *quality_told(again),
        *changes_told(changed),
    )
    if now.news or new.lessons != plan.lessons:
        why = why_told(now, plan.made_for not in (None, made_for(term.scenario)))
        after = after.model_copy(update={"earlier": _kept(term, on, why, changed, now)})
    return WeekDone(PLANNED_AGAIN, after, changed, told, again.answer, again, previous=before.previous)


def undo(term: WholeTerm) -> WeekDone:
    """The plan and the record as they were before the last week, with what had been filled in then; whatever was set up stays.

    Raises
    ------
    UnusableSettings
        When no plan before is known.
    UnusableInput
        When the record before does not fit what is set up now.
    """
    if not term.earlier:
        raise UnusableSettings(["there is no week to undo: no plan before this one is known"])
    last, *others = term.earlier
    changes = {"record": last.record, "today": last.today, "what_ifs": _brought_back(term.scenario.what_ifs, last.what_ifs)}
    scenario = scenario_from_data(scenario_data(term.scenario.model_copy(update=changes)))
    before = WholeTerm(term=1, scenario=scenario, plan=last.plan, earlier=tuple(others))
    swapped = tuple(each.model_copy(update={"from_": each.to, "to": each.from_}) for each in last.changed)
    what = "as it was before" if last.plan is not None else "without a plan, as before"
    said = [f"Undone: what was planned on {day_text(last.made)} ({last.why}). The term is {what}."]
    if last.plan is not None and any(row.what is not None for row in last.plan.lessons):
        said.append("What had been filled in then stands in the plan again: correct it, and plan again.")
    return WeekDone(UNDONE, before, swapped, (*said, *changes_told(swapped)))


def _first(
    term: WholeTerm,
    on: date,
    settings: SolveSettings | None,
    stop: StopSignal | None,
    progress: Callable[[Progress], None] | None,
) -> WeekDone:
    answer = solve(term.scenario, settings, progress, stop)
    if answer.sequence is None:
        why = None
        if answer.status == INFEASIBLE:
            seconds = min((settings or SolveSettings()).seconds, EXPLAINED_SECONDS)
            why = explain(term.scenario, ExplainSettings(seconds, conflicts=1, repairs=1), stop)
        return _none(term, answer, None, why)
    plan = plan_of(answer, term.scenario, None)
    now = ScenarioNow(term.scenario, (), ())
    after = WholeTerm(term=1, scenario=term.scenario, plan=plan, earlier=_kept(term, on, "the first plan", (), now))
    return WeekDone(PLANNED, after, (), tuple(quality_told(answer)), answer)


def _none(term: WholeTerm, answer: Answer, again: Replanned | None, why: Explanation | None) -> WeekDone:
    if answer.status == INFEASIBLE:
        said = (f"There is no sequence. {AS_IT_IS}", *map(by_title(answer.instance), answer.notes))
        return WeekDone(NO_SEQUENCE, term, (), said, answer, again, why)
    return WeekDone(NONE_FOUND, term, (), (f"No sequence was found in the time. {AS_IT_IS}",), answer, again)


def _kept(term: WholeTerm, on: date, why: str, changed: tuple[PlanChange, ...], now: ScenarioNow) -> tuple[EarlierPlan, ...]:
    """The plans before, with that of a term as it was handed in as the newest."""
    scenario = term.scenario
    newest = {
        "made": on.isoformat(), "why": why, "changed": changed, "plan": term.plan, "record": scenario.record,
        "today": scenario.today.isoformat() if scenario.today is not None else None,
        "what_ifs": scenario.what_ifs if now.lapsed else (),
    }  # fmt: skip
    return (EarlierPlan.model_validate(newest), *term.earlier)[:MOST_EARLIER]


def _brought_back(now: tuple[WhatIf, ...], before: tuple[WhatIf, ...]) -> tuple[WhatIf, ...]:
    """The what-ifs as they are now, and those that are there no more, each before the ones that it stood before."""
    found, names = list(now), {each.name for each in now}
    for place in reversed(range(len(before))):
        if before[place].name not in names:
            after = {each.name for each in before[place + 1 :]}
            found.insert(next((at for at, each in enumerate(found) if each.name in after), len(found)), before[place])
    return tuple(found)


def _changed(again: Replanned, left: tuple[PlanRow, ...]) -> tuple[PlanChange, ...]:
    """Every lesson that lies elsewhere, is new, or is not to be taught any more."""
    found = [(shift.name, shift.title, shift.old, shift.new) for shift in again.shifts()]
    found += [((each.class_id, each.unit, each.lesson), each.title, (each.date, each.period), None) for each in again.gone]
    found += [(row.name, row.title, (row.date, row.period), None) for row in left]
    rows = ((*name, title[:LONGEST_TITLE], _period(old), _period(new)) for name, title, old, new in found)
    keys = ("class", "unit", "lesson", "title", "from", "to")
    return tuple(PlanChange.model_validate(dict(zip(keys, row, strict=True))) for row in rows)


def _period(at: Period | None) -> PlanPeriod | None:
    return PlanPeriod.model_validate({"date": at[0].isoformat(), "period": at[1]}) if at is not None else None
