"""The shape of a term: written and read back as the same, and what is wrong with one told at its place."""

from __future__ import annotations

import json

import pytest

from sequencer import UnusableInput, read_scenario
from sequencer.next_term.term import (
    EarlierPlan,
    PlanRow,
    TermPlan,
    WholeTerm,
    load_term,
    made_for,
    term_data,
    term_from_data,
    term_json,
    term_of,
)
from tests.writing_commands import SCENARIOS

SMALL = read_scenario(SCENARIOS / "small.yaml")
ROW = PlanRow.model_validate(
    {"class": "8P", "unit": "settlements", "lesson": "sites", "title": "Why here?", "date": "2026-11-02", "period": 2}
)
TERM = WholeTerm(
    term=1,
    scenario=SMALL,
    plan=TermPlan(lessons=(ROW,), made_for=made_for(SMALL)),
    earlier=(EarlierPlan.model_validate({"made": "2026-11-06", "why": "1 lesson taught", "plan": TermPlan(lessons=(ROW,))}),),
)


def test_a_term_is_read_back_as_it_was() -> None:
    assert load_term(term_json(TERM)) == TERM
    assert term_from_data(term_data(TERM)) == TERM
    assert term_from_data(term_data(term_of(SMALL))) == term_of(SMALL)


def test_a_scenario_is_a_term_of_which_nothing_is_planned() -> None:
    text = (SCENARIOS / "small.yaml").read_text(encoding="utf-8")
    assert load_term(text, language="yaml") == term_of(SMALL)


def test_what_is_wrong_is_told_at_its_place_in_the_whole() -> None:
    data = term_data(TERM)
    data["term"] = 2
    data["scenario"]["units"][0]["lessons"][0]["load"] = "hard"
    data["plan"]["lessons"][0]["what"] = "taught"
    data["earlier"][0]["reason"] = "none"
    with pytest.raises(UnusableInput) as unusable:
        load_term(json.dumps(data, indent=1))
    places = [problem.where for problem in unusable.value.problems]
    assert places == ["term", "scenario.units[0].lessons[0].load", "plan.lessons[0].what", "earlier[0].reason"]
    lines = [problem.line for problem in unusable.value.problems]
    assert lines == sorted(lines) and lines[0] == 2


def test_the_digest_is_of_what_a_plan_depends_on() -> None:
    other = SMALL.model_copy(update={"title": "Another title", "what_ifs": ()})
    assert made_for(other) == made_for(SMALL)
    assert made_for(SMALL.model_copy(update={"strict": True})) != made_for(SMALL)
