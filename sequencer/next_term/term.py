"""A term as one thing that lives: what was set up, what happened, the plan as it stands, and the plans before it.

A workbook and a ``.json`` file hold the same. In JSON it is::

    {"term": 1,
     "scenario": {…},
     "plan": {"lessons": [{"class": "9B", "unit": "coasts", "lesson": "drift", "title": "Longshore drift", "date": "2026-11-05",
                           "period": 4, "taught": "in class", "revisits": ["coasts/waves"], "what": null, "pin": false}, …],
              "made_for": "9f2c41d07a3be655"},
     "earlier": [{"made": "2026-11-06", "why": "3 lessons taught; 1 did not take place",
                  "changed": [{"class": "9B", "unit": "coasts", "lesson": "drift", "title": "Longshore drift",
                               "from": {"date": "2026-11-03", "period": 1}, "to": {"date": "2026-11-05", "period": 4}}, …],
                  "plan": {…}, "record": […], "today": "2026-10-31", "what_ifs": […]}, …]}

The scenario is a scenario as everywhere, with ``record``, ``today`` and ``what_ifs`` in it. ``plan`` is null before there is
one; it can be handed in wherever a sequence can. ``what`` of a row says what became of its lesson, as a record does (delivered,
part-taught, needs another, skipped, lost); null is "not recorded". Rows win over ``scenario.record``: filling ``what`` in
records the lesson, emptying it takes that back. What no row tells (periods lost, lessons skipped, the load of what is left of a
lesson) stands in the record alone. ``earlier`` has the newest first.
"""

from __future__ import annotations

import hashlib
import json
from typing import Annotated, Any

from pydantic import Field

from sequencer.errors import Problem, UnusableInput
from sequencer.instance.load import model_from_tree, scenario_from_tree
from sequencer.scenario.base_schema import Version
from sequencer.scenario.changes.what_ifs import WhatIf
from sequencer.scenario.documents import Language, TreeParts, in_file_order, read_tree
from sequencer.scenario.fields import (
    ClassId,
    Day,
    Happened,
    Ident,
    LessonRefs,
    MadeIdent,
    Model,
    PeriodNumber,
    Taught,
    Text,
    Words,
)
from sequencer.scenario.guards import plain_tree
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import Tree
from sequencer.scenario.record_schema import RecordEntry
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import model_data, scenario_data

MOST_EARLIER = 10
"""How many of the plans before are kept."""


class PlanRow(Model):
    """A lesson of the plan: where it lies, and what became of it."""

    class_: ClassId = Field(alias="class", description="The class.")
    unit: Ident = Field(description="Id of the lesson's unit.")
    lesson: MadeIdent = Field(description="Id of the lesson, unique in its unit.")
    title: Text = Field(description="Its title; the id where it has none.")
    date: Day = Field(description="Date of its first period.")
    period: PeriodNumber = Field(description="Its first period.")
    taught: Taught | None = Field(None, description="In class, or remotely: live or as set work.")
    revisits: LessonRefs = Field((), description="The lessons met again in it, as unit/lesson.")
    what: Happened | None = Field(None, description="What became of it; null is not recorded, and it is still to be taught.")
    parts_done: Words = Field((), description="Of a part-taught lesson with parts: those that were done, as a record says it.")
    pin: bool = Field(False, description="Whether it stays where it lies when the plan is made again.")

    @property
    def name(self) -> tuple[str, str, str]:
        """Its class, unit and id."""
        return self.class_, self.unit, self.lesson


PlanRows = Annotated[tuple[PlanRow, ...], Field(max_length=20000)]


class TermPlan(Model):
    """A plan as it stands."""

    lessons: PlanRows = Field(description="Its lessons, class by class in order of time.")
    made_for: str | None = Field(
        None, max_length=64, description="Digest of the scenario that it was made for; null where that is not known."
    )


class PlanPeriod(Model):
    """A period on a date."""

    date: Day = Field(description="The date.")
    period: PeriodNumber = Field(description="Number of the period in the school day.")


class PlanChange(Model):
    """A lesson that was moved, placed or taken out when a plan was made again."""

    class_: ClassId = Field(alias="class", description="The class.")
    unit: Ident = Field(description="Id of the lesson's unit.")
    lesson: MadeIdent = Field(description="Id of the lesson.")
    title: Text = Field(description="Its title.")
    from_: PlanPeriod | None = Field(None, alias="from", description="Where it lay; null where it was new.")
    to: PlanPeriod | None = Field(None, description="Where it lies; null where it lies nowhere.")


class EarlierPlan(Model):
    """A plan that another one has followed: when and why, what changed, and all that it takes to bring it back."""

    made: Day = Field(description="The day on which the plan after it was made.")
    why: Annotated[str, Field(max_length=2000)] = Field(description="Why it was made, in words.")
    changed: Annotated[tuple[PlanChange, ...], Field(max_length=20000)] = Field((), description="What it changed.")
    plan: TermPlan | None = Field(None, description="The plan before, with what had been filled in; null where there was none.")
    record: tuple[RecordEntry, ...] = Field((), description="The record before.")
    today: Day | None = Field(None, description="The scenario's `today` before.")
    what_ifs: tuple[WhatIf, ...] = Field((), description="The what-ifs before, where one of them could not come any more.")


EarlierPlans = Annotated[tuple[EarlierPlan, ...], Field(max_length=MOST_EARLIER)]


class WholeTerm(Model):
    """A term: what was set up and what happened, the plan as it stands, and the plans before it."""

    term: Version = Field(description="The version of this form: 1.")
    scenario: Scenario = Field(description="What was set up, with `record`, `today` and `what_ifs`.")
    plan: TermPlan | None = Field(None, description="The plan as it stands; null before there is one.")
    earlier: EarlierPlans = Field((), description="The plans before, the newest first.")


def term_of(scenario: Scenario) -> WholeTerm:
    """A term of which nothing is planned yet."""
    return WholeTerm(term=1, scenario=scenario)


def is_term(data: object) -> bool:
    """Whether a document is a term, rather than a scenario, whose ``term`` holds dates."""
    return isinstance(data, dict) and "scenario" in data and "term" in data and not isinstance(data["term"], dict)


def load_term(text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS) -> WholeTerm:
    """Read a term, or a scenario, which is one of which nothing is planned yet.

    Raises
    ------
    UnusableInput
        With every problem found, each at its place.
    BeyondLimit
    """
    return term_from_tree(read_tree(text, language, limits), source)


def load_term_with(
    key: str, text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[WholeTerm, Any]:
    """Read a term, and what stands beside it under a key; None where nothing does. See ``load_term``."""
    tree = read_tree(text, language, limits)
    if not isinstance(tree.data, dict) or key not in tree.data:
        return term_from_tree(tree, source), None
    if tree.problems:
        raise UnusableInput(tuple(tree.problems), source)
    beside = tree.data.pop(key)
    return term_from_tree(tree, source), beside


def term_from_data(data: object, source: str = "", limits: Limits = NO_LIMITS) -> WholeTerm:
    """Read a term, or a scenario, from mappings and lists in memory; see ``load_term``."""
    return term_from_tree(plain_tree(data, limits), source)


def beside_from_data(data: object, limits: Limits = NO_LIMITS) -> tuple[TermPlan | None, tuple[EarlierPlan, ...]]:
    """Read what stands beside the scenario of a term: the plan as it stands, and those before it."""
    beside = _beside(plain_tree(data, limits))
    return beside.plan, beside.earlier


def term_from_tree(tree: Tree, source: str) -> WholeTerm:
    """Read a term, or a scenario, from a document that has been read as plain data; see ``load_term``."""
    if not is_term(tree.data):
        return term_of(scenario_from_tree(tree, source))
    parts = TreeParts(tree, source, ("scenario",), _BESIDE)
    scenario = parts.read("scenario", lambda part: scenario_from_tree(part, source))
    beside = None
    problems: list[Problem] = []
    held = {key: tree.data[key] for key in _BESIDE if key in tree.data}
    wrong = [each for each in tree.problems if each.pointer.split("/")[1:2] and each.pointer.split("/")[1] in _BESIDE]
    try:
        beside = _beside(Tree(held, tree.positions, wrong, tree.spoilt, limits=tree.limits))
    except UnusableInput as unusable:
        problems += unusable.problems
    try:
        parts.report()
    except UnusableInput as unusable:
        problems += unusable.problems
    if problems or scenario is None or beside is None:
        raise UnusableInput(in_file_order(problems, tree.data), source)
    return WholeTerm(term=1, scenario=scenario, plan=beside.plan, earlier=beside.earlier)


class _Beside(Model):
    """What stands beside the scenario of a term."""

    term: Version
    plan: TermPlan | None = None
    earlier: EarlierPlans = ()


def _beside(tree: Tree) -> _Beside:
    plan = tree.data.get("plan")
    rows = plan.get("lessons") if isinstance(plan, dict) else None
    tree.limits.require("lessons", len(rows) if isinstance(rows, list) else 0, "rows in the plan")
    return model_from_tree(_Beside, tree, "", lambda *_: ())


_BESIDE = tuple(_Beside.model_fields)


def term_data(term: WholeTerm) -> dict[str, Any]:
    """A term as mappings, lists, text and numbers; ``term_from_data`` reads it back as an equal term.

    Rows of the plan say all that a row can say, null included; those of earlier plans leave out what is as it would be anyway.
    """
    plan = None
    if term.plan is not None:
        rows = [row.model_dump(mode="json", by_alias=True) for row in term.plan.lessons]
        plan = {"lessons": rows, "made_for": term.plan.made_for}
    earlier = [model_data(each) for each in term.earlier]
    return {"term": 1, "scenario": scenario_data(term.scenario), "plan": plan, "earlier": earlier}


def term_json(term: WholeTerm) -> str:
    """A term as the text of a ``.json`` file."""
    return json.dumps(term_data(term), indent=1, ensure_ascii=False) + "\n"


def made_for(scenario: Scenario) -> str:
    """A digest of all of a scenario that a plan depends on: its title and its what-ifs left out."""
    data = {key: value for key, value in scenario_data(scenario).items() if key not in ("title", "what_ifs")}
    return hashlib.sha256(json.dumps(data, sort_keys=True).encode()).hexdigest()[:16]
