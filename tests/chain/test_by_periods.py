"""The programme over one class's periods: what it proves is true, and what it finds is best, held against other solvers."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator

import pytest

from sequencer import SolveSettings, scenario_from_data, solve
from sequencer.instance.build import build_instance
from sequencer.plan.differences import MoveWeights
from sequencer.questions.solve import Answer
from sequencer.solver.chain import aims_by_periods
from sequencer.solver.chain.aims_by_periods import by_periods
from sequencer.solver.model import build_model, prepare
from sequencer.solver.solver_calls import Budget, StopSignal
from sequencer.words import INFEASIBLE, OPTIMAL
from tests.benchmarks import schools
from tests.benchmarks.instances import benchmark
from tests.benchmarks.years import STATED
from tests.builders import PATIENT, Data, assessment, day, retrieval, scenario, teach
from tests.chain.drawn import chains
from tests.crosscheck import milp
from tests.crosscheck.facts import read_facts
from tests.crosscheck.in_full import InFull

SETTINGS = SolveSettings(seconds=60, effort=30)
SHORT, LONGER = SolveSettings(seconds=60, effort=1.5), SolveSettings(seconds=300, effort=20)
GROUP = 10
WORSE = 5
EVERY_DAY = "Mon 1, Tue 1, Wed 1, Thu 1, Fri 1"
LAST_AIMS = ("early finish", "distance", "even load")


@pytest.fixture
def every_class(monkeypatch: pytest.MonkeyPatch) -> None:
    """Classes of any number of lessons are stepped through."""
    _whatever_its_size(monkeypatch)


def _whatever_its_size(patch: pytest.MonkeyPatch) -> None:
    patch.setattr(aims_by_periods, "FEWEST_LESSONS", 0)
    patch.setattr(aims_by_periods, "FEWEST_RETRIEVALS", 0)


def _values(answer: Answer) -> tuple[int | None, ...]:
    return tuple(aim.value for aim in answer.aims)


def _equals_integer_programme(seed: int, least: int = 5, most: int = 12) -> int:
    """How many aims the programme said something of."""
    data = chains(seed, least, most)
    facts = read_facts(data)
    expected = milp.best_values(facts, len(facts.aims))  # HiGHS, by rows that share nothing with the product
    answer = solve(scenario_from_data(data), SETTINGS)
    told = InFull(f"chains {seed}", data, expected, _values(answer))
    if expected is None:
        assert answer.status == INFEASIBLE, told
        return 0
    assert answer.status == OPTIMAL and _values(answer) == tuple(expected), told
    return _bounds_hold(data, dict(zip(facts.aims, expected, strict=True)), told)


def _bounds_hold(data: Data, best: dict[str, int], told: object) -> int:
    """Asked of each aim from worse values of it and of those after it, the programme proves no more than is true."""
    prepared = prepare(build_instance(scenario_from_data(data)))
    model = build_model(prepared, (0,))
    programme = by_periods(prepared, model, StopSignal())
    assert programme is not None
    said = 0
    for place, name in enumerate(best):
        held = {each: value + WORSE * (other >= place) for other, (each, value) in enumerate(best.items())}
        bound, _ = programme.settle(place, held, Budget(math.inf, 10))
        assert bound <= best[name], (name, told)
        said += bound > 0
    return said


@pytest.mark.parametrize("first", range(0, 10, GROUP))
def test_chains_equal_an_integer_programme(first: int, every_class: None) -> None:
    assert sum(_equals_integer_programme(seed) for seed in range(first, first + GROUP)) > 5


@pytest.mark.parametrize(
    ("seed", "least", "most"), [(16, 8, 14), (26, 8, 14), (98, 8, 14), (102, 8, 14), (385, 6, 11), (2009, 5, 12)]
)
def test_what_tells_apart(seed: int, least: int, most: int, every_class: None) -> None:
    """Dates that cost more where they are met late; a lesson met again that is left out; a retrieval that no window binds.

    And states with one lesson more placed: what it costs, what it spares, what waits for it, what counts it. And a meeting that
    may be left to the next plan, which spares nobody days.
    """
    _equals_integer_programme(seed, least, most)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(10, 2010, 5 * GROUP))
def test_more_chains_equal_an_integer_programme(first: int, every_class: None) -> None:
    for seed in range(first, first + 5 * GROUP):
        _equals_integer_programme(seed)


def _best_is_kept(data: Data) -> None:
    """What the solver by itself proves best is not below what the programme proves."""
    answer = solve(scenario_from_data(data), SolveSettings(seconds=PATIENT))
    assert answer.status == OPTIMAL
    best = {aim.aim: aim.value for aim in answer.aims if aim.value is not None}
    with pytest.MonkeyPatch.context() as patch:
        _whatever_its_size(patch)
        _bounds_hold(data, best, best)


def test_two_tests_alike_of_which_one_may_be_live() -> None:
    """The first listed refuses to be live, and the week taught remotely asks for one lesson live: it comes second."""
    spell = {"name": "Remote", "first": day(1, "Mon"), "last": day(1, "Fri"), "taught": "open"}
    lessons = [assessment("quiet", live="refuse"), assessment("live")]
    rules = {"live_quotas": [{"per": "week", "least": 1}]}
    _best_is_kept(scenario(lessons, 2, "Mon 1", remote_spells=[spell], rules=rules, aims=["left out", *LAST_AIMS]))


def test_a_spare_period_may_break_a_run() -> None:
    """High-load lessons are fixed on Tuesday and Wednesday: the third may lie on Friday, not before them on Monday."""
    fixed = [assessment(f"on-{weekday}", load=4, on=day(1, weekday)) for weekday in ("Tue", "Wed")]
    lessons = [*fixed, assessment("free", load=4), teach("late", not_before=day(1, "Wed"), optional=True)]
    _best_is_kept(scenario(lessons, 1, EVERY_DAY, rules={"consecutive_high_load": 2}, aims=["left out", *LAST_AIMS]))


def test_a_spare_period_before_a_double() -> None:
    """Two lessons lie on Monday with one period between, where the double could start but not go on: it lies on Wednesday."""
    window = {"lesson": "x", "least_slots": 2, "most_slots": 2}
    lessons = [teach("x"), teach("y", requires=window, not_after=day(1, "Mon")), assessment("double", length=2)]
    _best_is_kept(scenario(lessons, 1, "Mon 1-4, Wed 1-2", aims=["left out", *LAST_AIMS]))


@pytest.mark.parametrize("in_order", [True, False])
def test_eight_lessons_met_again_in_one(in_order: bool) -> None:
    taught = [f"t{at}" for at in range(8)]
    lessons = [*(teach(each) for each in taught), retrieval("again", taught)]
    rules = {"retrieval": {"least": 1, "most": 28, "preferred": 7}}
    aims = ["left out", "carried over", "left for the next plan", "distance", "early finish", "even load"]
    _best_is_kept(scenario(lessons, 4, EVERY_DAY, {"in_order": in_order}, rules=rules, aims=aims))


def test_a_lesson_stays_where_it_stood(every_class: None) -> None:
    """One test stood on Friday with spare periods before it, another like it on Wednesday; both can stay."""
    data = scenario([teach("t"), assessment("one"), assessment("two")], 1, EVERY_DAY, aims=["left out", *LAST_AIMS])
    instance = build_instance(scenario_from_data(data))
    prepared, stood = prepare(instance, ordered_twins=False), {0: 0, 1: 4, 2: 2}
    slots = instance.classes[0].slots
    standing = {lesson: (slots[slot].date, slots[slot].period) for lesson, slot in stood.items()}
    model = build_model(prepared, (0,), standing=standing, weights=MoveWeights())
    programme = by_periods(prepared, model, StopSignal())
    assert programme is not None
    bound, plan = programme.settle(0, {aim.name: WORSE for aim in model.aims}, Budget(math.inf, 10))
    assert bound == 0 and plan is not None
    assert {each.lesson: each.slot for each in plan.placements} == stood


def _equals_solver(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same values as without it, where the solver proves them by itself."""
    data = chains(seed, 20, 40)
    scenario = scenario_from_data(data)
    monkeypatch.setattr(aims_by_periods, "FEWEST_LESSONS", 10**9)
    without = solve(scenario, SHORT)
    _whatever_its_size(monkeypatch)
    # So short a term is the solver's: where the programme cannot end it has its turn afterwards.
    monkeypatch.setattr(aims_by_periods, "WIDEST", 100_000)
    answer = solve(scenario, LONGER)
    told = InFull(f"chains {seed} of 20 to 40", data, _values(without), _values(answer))
    if without.status in (OPTIMAL, INFEASIBLE):
        assert answer.status == without.status and _values(answer) == _values(without), told
    for aim, other in zip(answer.aims, without.aims, strict=True):
        if aim.value != other.value or aim.value is None or aim.bound is None:
            break
        assert not aim.proven or aim.bound <= aim.value, told


@pytest.mark.parametrize("seed", range(1))
def test_longer_chains_equal_the_solver(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    _equals_solver(seed, monkeypatch)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(1, 501, GROUP))
def test_more_longer_chains_equal_the_solver(first: int, monkeypatch: pytest.MonkeyPatch) -> None:
    for seed in range(first, first + GROUP):
        _equals_solver(seed, monkeypatch)


@pytest.mark.parametrize("name", ["growth-60", *(pytest.param(each, marks=pytest.mark.slow) for each in list(STATED)[1:])])
def test_terms_are_proven(name: str) -> None:
    """Distance and even load are what a separate programme, with numpy alone, proved of the same years."""
    answer = solve(scenario_from_data(benchmark(name).scenario), SolveSettings(seconds=300, effort=200))
    assert answer.status == OPTIMAL
    assert {aim.aim: aim.value for aim in answer.aims if aim.aim in STATED[name]} == STATED[name]


@pytest.mark.parametrize(("name", "made", "distance"), [("10K", 9, 45), ("12K", 11, 36), ("12L", 11, 42)])
def test_exam_classes_that_choose_what_is_met_again_are_proven(name: str, made: int, distance: int) -> None:
    """Twelve weeks of one class; CP-SAT by itself, without the programme, proves the same distances, the last after 63 units."""
    data = schools.school(1, 12)
    (of_class,) = (each for each in data["classes"] if each["id"] == f"D1-{name}")
    data["units"] = [each for each in data["units"] if each["id"] in of_class["units"]]
    data["teachers"] = [each for each in data["teachers"] if each["name"] == of_class["teacher"]]
    answer = solve(scenario_from_data({**data, "classes": [of_class]}), SolveSettings(seconds=PATIENT, effort=40))
    values = {aim.aim: aim.value for aim in answer.aims}
    assert answer.status == OPTIMAL and (values["made lessons"], values["distance"]) == (made, distance)


def test_the_clock_ends_a_run() -> None:
    prepared = prepare(build_instance(scenario_from_data(benchmark("growth-60").scenario)))
    programme = by_periods(prepared, build_model(prepared, (0,)), StopSignal())
    assert programme is not None
    values = dict.fromkeys((aim.name for aim in build_model(prepared, (0,)).aims), 0) | {"distance": 400}
    bound, found = programme.settle(list(values).index("distance"), values, Budget(time.monotonic() - 1, 10))
    assert found is None and bound <= 52 and programme.clocked


@pytest.fixture
def stopped() -> Iterator[StopSignal]:
    """A hand has asked to stop."""
    signal = StopSignal()
    signal.stop()
    yield signal


def test_a_hand_ends_a_run(stopped: StopSignal) -> None:
    prepared = prepare(build_instance(scenario_from_data(benchmark("growth-60").scenario)))
    programme = by_periods(prepared, build_model(prepared, (0,)), stopped)
    assert programme is not None
    assert programme.first(Budget(math.inf, 10)) is None and programme.clocked
