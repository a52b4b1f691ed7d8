"""A cap said count by count, and first sequences made without search, each held against counting by hand."""

from __future__ import annotations

import sys
from itertools import product

import pytest
from ortools.sat.python import cp_model

from sequencer import scenario_from_data
from sequencer.instance.build import build_instance
from sequencer.questions.solve import check
from sequencer.scenario.rules_schema import TagCap
from sequencer.solver.constructed import constructed
from sequencer.solver.model import build_model, prepare
from sequencer.solver.posted.tallies import Tally
from sequencer.solver.posting import Posting, Statement
from tests.builders import solved
from tests.published import TEN_CARS, Cars, cars


class _All(cp_model.CpSolverSolutionCallback):
    def __init__(self, slots: list[cp_model.IntVar]) -> None:
        super().__init__()
        self.slots = slots
        self.found: list[tuple[int, ...]] = []

    def on_solution_callback(self) -> None:
        self.found.append(tuple(self.value(slot) for slot in self.slots))


@pytest.mark.parametrize(
    ("slots", "most", "of", "total"), [(7, 1, 2, 3), (7, 1, 2, 4), (8, 2, 3, 5), (8, 2, 5, 3), (8, 1, 3, 3), (6, 3, 4, 0)]
)
def test_a_tally_allows_exactly_the_strings_whose_windows_are_not_too_full(slots: int, most: int, of: int, total: int) -> None:
    posting = Posting()
    held = [posting.boolean(f"slot {slot}") for slot in range(slots)]
    cap = TagCap(tag="lab", most=most, of=of)
    tally = Tally(posting, Statement(2, "labs"), cap, [[each] for each in held], total)
    wanted = [
        string
        for string in product((0, 1), repeat=slots)
        if sum(string) == total and all(sum(string[first : first + of]) <= most for first in range(slots - of + 1))
    ]
    assert tally.impossible == (not wanted)
    tally.post()
    solver, every = cp_model.CpSolver(), _All(held)
    solver.parameters.enumerate_all_solutions = True
    solver.solve(posting.model, every)
    # Each string once: the counts follow from it.
    assert sorted(every.found) == sorted(wanted)


def test_a_tally_knows_without_search_that_there_are_too_many() -> None:
    posting = Posting()
    held = [[posting.boolean(f"slot {slot}")] for slot in range(7)]
    assert Tally(posting, Statement(2, "labs"), TagCap(tag="lab", most=1, of=2), held, 5).impossible


def test_counts_find_a_tight_line_without_a_first_sequence_made(monkeypatch: pytest.MonkeyPatch) -> None:
    # A line of 60 planted so that no option could be had sooner: only such a tight one has few enough counts.
    monkeypatch.setattr(sys.modules["sequencer.solver.sought"], "constructed", lambda _: None)
    posted: list[Tally] = []
    post = Tally.post
    monkeypatch.setattr(Tally, "post", lambda tally: (posted.append(tally), post(tally))[1])
    most, of = (1, 2, 1), (2, 3, 3)
    line: list[tuple[int, ...]] = []
    for place in range(60):
        line.append(
            tuple(
                option
                for option in range(3)
                if sum(option in each for each in line[max(0, place - of[option] + 1) :]) < most[option]
            )
        )
    planted = Cars(most, of, tuple((line.count(options), options) for options in sorted(set(line))))
    answer = solved(cars(planted), seconds=60)
    assert len(posted) == 3 and answer.sequence is not None and len(answer.sequence.placements) == 60


def test_what_is_made_without_search_keeps_the_rules() -> None:
    scenario = scenario_from_data(cars(TEN_CARS))
    instance = build_instance(scenario)
    sequence = constructed(build_model(prepare(instance), (0,)).parts)
    assert sequence is not None
    assert check(scenario, sequence).sound
