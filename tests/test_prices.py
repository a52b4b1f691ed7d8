"""Prices on what classes share: rows as posted, cuts that no choice breaks, bounds that nothing goes below."""

from __future__ import annotations

import math
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from itertools import product
from random import Random
from typing import Any

import numpy as np
import pytest
from ortools.sat.python import cp_model

from sequencer import SolveSettings, scenario_from_data, solve
from sequencer.instance.build import build_instance
from sequencer.plan.sequence import Placement, Sequence
from sequencer.solver.aim_search import GroupSearch
from sequencer.solver.apart import ClassesApart
from sequencer.solver.model import build_model, prepare
from sequencer.solver.prices import one_aim
from sequencer.solver.prices.asking import Asking, PartsAsked
from sequencer.solver.prices.beside import left_of
from sequencer.solver.prices.best_prices import BestPrices
from sequencer.solver.prices.columns import PartColumn, Thousandths
from sequencer.solver.prices.columns import Shared as SharedVariables
from sequencer.solver.prices.covers import broken_cover
from sequencer.solver.prices.master import Master, Relaxed
from sequencer.solver.prices.one_aim import PricedAim
from sequencer.solver.prices.pricing import SCALE
from sequencer.solver.prices.rows import Coupling, SharedRow
from sequencer.solver.prices.search import SharedPrices
from sequencer.solver.prices.shared_names import Said, SequenceSays
from sequencer.solver.solver_calls import Budget, StopSignal
from sequencer.solver.sought import SequenceSought
from sequencer.words import IN_CLASS, INFEASIBLE, OPTIMAL
from tests.builders import QUIET, Data, a_class, scenario, teach
from tests.crosscheck import exhaustive
from tests.crosscheck.facts import read_facts
from tests.crosscheck.test_coupled import coupled


@dataclass
class Shared:
    """The classes of a scenario, all in one model and each in its own."""

    data: Data
    budget: Budget = field(default_factory=lambda: Budget(time.monotonic() + 300, 300))

    def __post_init__(self) -> None:
        prepared = prepare(build_instance(scenario_from_data(self.data)))
        self.instance = prepared.instance
        every = tuple(range(len(prepared.instance.classes)))
        self.whole = SequenceSought(build_model(prepared, every))
        stop = StopSignal()
        alone = [GroupSearch(SequenceSought(build_model(prepared, (index,))), 0, 1, stop) for index in every]
        self.apart: ClassesApart[Sequence] = ClassesApart(tuple(alone))
        self.search = GroupSearch(self.whole, 0, 1, stop)
        self.prices = SharedPrices(prepared, self.apart)

    @property
    def rows(self) -> tuple[SharedRow, ...]:
        return self.prices.shared.coupling.rows

    def bound(self, place: int) -> tuple[int, int]:
        """What the classes alone prove of an aim, and what prices prove."""
        for part in self.prices.parts:
            self.prices.column(part.number, part.model.own(self.search.held))
        values = {**self.whole.counts(self.search.held), **self.search.held_at}
        alone = self.prices.alone(place, self.search.held, values, self.budget)
        return alone, self.prices.bound(place, self.whole.aims[place].floor, 1000, self.search.held_at, self.budget)


def one_teacher(classes: int, lesson: Data, weeks: int = 3, **more: Any) -> Data:
    """So many classes that meet on Mondays at the same time, one lesson each, to be taught early."""
    taught = [a_class(f"9{number}", "Mon 1", teacher="T") for number in range(classes)]
    return scenario([lesson], weeks=weeks, classes=taught, rules=QUIET, aims=["early finish"], **more)


def test_rows_are_what_several_classes_share() -> None:
    # One set for two classes: on each of three Mondays at most one of them; 60 of 90 minutes are 2 of 3 thirties.
    kit = Shared(one_teacher(2, teach("a", needs="kit"), shared=[{"name": "kit"}])).rows
    assert [(row.most, sorted(much for _, much in row.terms)) for row in kit] == [(1, [1, 1])] * 3
    marked = Shared(one_teacher(2, teach("a", marking_minutes=60), teachers=[{"name": "T", "marking_a_week": 90}])).rows
    assert [(row.most, sorted(much for _, much in row.terms)) for row in marked] == [(1, [1, 1])] * 3


def test_prices_prove_what_classes_alone_do_not(capfd: pytest.CaptureFixture[str]) -> None:
    # One set for three classes: the second waits a week, the third two.
    shared = Shared(one_teacher(3, teach("a", needs="kit"), shared=[{"name": "kit"}]))
    assert shared.search.begin(shared.budget)
    assert shared.bound(0) == (0, 3)
    sequence = shared.prices.chosen(shared.budget)
    assert sequence is not None and shared.whole.counts(sequence)["early finish"] == 3
    assert sorted(each.slot for each in sequence.placements) == [0, 1, 2]
    assert capfd.readouterr() == ("", "")


def test_prices_are_found_where_the_process_has_asked_highs_before() -> None:
    """With another number of threads, which HiGHS keeps for the whole process, and then refuses any other."""
    code = """
import highspy
first = highspy.Highs()
first.setOptionValue("threads", 2)
first.run()
from tests.test_prices import Shared, one_teacher, teach
shared = Shared(one_teacher(3, teach("a", needs="kit"), shared=[{"name": "kit"}]))
assert shared.search.begin(shared.budget)
assert shared.bound(0) == (0, 3)
"""
    subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)


def test_cuts_prove_what_fractions_of_lessons_hide() -> None:
    # Three lessons of 40 minutes' marking and three of 50, within 100 a week: any two, so that 2 wait a week and 2 wait two: 6.
    # The relaxation takes 2.5, 0.5 and 1.6, then 1.4: 4.9.
    units = [{"id": name, "lessons": [teach("a", marking_minutes=much)]} for name, much in (("g", 40), ("h", 50))]
    classes = [a_class(f"9{name}{number}", "Mon 1", name, teacher="T") for number in range(3) for name in "gh"]
    teachers = [{"name": "T", "marking_a_week": 100}]
    shared = Shared(scenario(weeks=3, units=units, classes=classes, rules=QUIET, aims=["early finish"], teachers=teachers))
    assert shared.search.begin(shared.budget)
    assert shared.bound(0) == (0, 6)


def test_parts_that_share_no_price_keep_their_own_best() -> None:
    """Two classes share one kit, two another: a price on the first Monday of one kit proves a week's wait, of each in turn."""
    units = [{"id": name, "lessons": [teach("a", needs=f"kit {name}")]} for name in "gh"]
    classes = [a_class(f"9{name}{number}", "Mon 1", name) for name in "gh" for number in range(2)]
    kits = [{"name": f"kit {name}"} for name in "gh"]
    shared = Shared(scenario(weeks=3, units=units, classes=classes, rules=QUIET, aims=["early finish"], shared=kits))
    assert shared.search.begin(shared.budget)
    asking, rows = Asking(shared.prices.shared, shared.prices.parts, 0), list(shared.rows)
    best, proven = BestPrices(shared.prices.shared), []
    for lot in ({0, 1}, {2, 3}, set()):
        prices = [0] * len(rows)
        for number in [number for number, row in enumerate(rows) if shared.prices.shared.parts_in(row) == lot][:1]:
            prices[number] = SCALE
        asked = asking.every(rows, prices, (), shared.budget)
        proven.append((asked.least, best.take(rows, asked, set())))
    assert proven == [(SCALE, SCALE), (SCALE, 2 * SCALE), (0, 2 * SCALE)]


def test_near_the_bound_a_class_pays_no_more_than_is_left() -> None:
    """One set for three classes and five Mondays: 3 is best, and proven; who waits longer than pays keeps no sequence for it."""
    shared = Shared(one_teacher(3, teach("a", needs="kit"), weeks=5, shared=[{"name": "kit"}]))
    assert shared.search.begin(shared.budget) and shared.bound(0) == (0, 3)
    leeway = shared.prices.leeway(0)
    assert leeway is not None and 2 * SCALE < leeway.proven <= 3 * SCALE
    shared.prices.hold(0, 3)
    shut_out = 0
    for part, paid in zip(shared.prices.parts, leeway.paid, strict=True):
        for slot in range(5):
            told = SequenceSays(shared.instance, Sequence((Placement(part.number, slot, IN_CLASS),)))
            pays = SCALE * slot + sum(price for each, price in paid.prices.items() if told.holds(shared.prices.shared.says[each]))
            model = part.model.solver_model.clone()
            model.add(part.model.model.parts.variables.lessons[part.number].at(slot) == 1)
            allowed = pays <= leeway.leasts[part.number] + 3 * SCALE - leeway.proven
            column = PartColumn(part.number, Sequence((Placement(part.number, slot, IN_CLASS),)), told, {"early finish": slot})
            assert leeway.allows(column, shared.prices.shared, 3) == allowed, (part.number, slot)
            assert cp_model.CpSolver().solve(model) == (cp_model.OPTIMAL if allowed else cp_model.INFEASIBLE), (part.number, slot)
            shut_out += not allowed
    assert shut_out >= 3, "the last Monday is dearer than any wait that the set's prices are worth"


class Choices:
    """The choice of whole columns of three classes with one lesson each, of which all would be taught on the first Monday.

    That the first two share a kit is a row that waits. Of each question it is kept which parts stay; ``answer`` may say otherwise
    than HiGHS does.
    """

    def __init__(self, monkeypatch: pytest.MonkeyPatch, slots: Iterable[int] = range(3), held: Iterable[SharedRow] = ()) -> None:
        units = [{"id": "g", "lessons": [teach("a", needs="kit")]}, {"id": "h", "lessons": [teach("a")]}]
        classes = [a_class("9g0", "Mon 1", "g"), a_class("9g1", "Mon 1", "g"), a_class("9h", "Mon 1", "h")]
        data = scenario(weeks=3, units=units, classes=classes, rules=QUIET, aims=["early finish"], shared=[{"name": "kit"}])
        self.shared = Shared(data)
        prices = self.shared.prices
        for part, slot in product(range(3), slots):
            prices.column(part, Sequence((Placement(part, slot, IN_CLASS),)))
        self.aim = PricedAim(
            prices.shared, prices.parts, 0, tuple(held), prices._columns, (), prices._take_broken, prices._cut, prices._learn
        )
        self.stay: list[list[int]] = []
        self.answer: Callable[[int, Relaxed | None], Relaxed | None] = lambda _, whole: whole
        whole = Master.whole

        def asked(master: Master, seconds: float, kept: Iterable[PartColumn] = ()) -> Relaxed | None:
            kept = list(kept)
            self.stay.append([column.part for column in kept])
            return self.answer(len(self.stay), whole(master, seconds, kept))

        monkeypatch.setattr(Master, "whole", asked)

    def chosen(self) -> list[int]:
        """The slots chosen, by part."""
        found = self.aim.chosen(self.shared.budget)
        assert found is not None
        return [slot for _, slot in sorted((each.placements[0].lesson, each.placements[0].slot) for each in found)]


def test_who_stands_in_a_row_that_a_choice_breaks_chooses_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """The third stays. That it costs something is a reason to let all choose again, once."""
    choices = Choices(monkeypatch)
    assert choices.chosen() in ([0, 1, 0], [1, 0, 0])
    assert choices.stay == [[], [2], []]


def test_a_choice_that_is_not_settled_in_time_counts_for_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    choices = Choices(monkeypatch)
    choices.answer = lambda number, whole: whole if number != 2 else None
    assert sorted(choices.chosen()) == [0, 0, 1]
    assert choices.stay == [[], [2], []]
    # Nor does it where none is: then the last one is told.
    choices = Choices(monkeypatch)
    choices.answer = lambda number, whole: whole if number == 1 else None
    assert choices.chosen() == [0, 0, 0]
    assert choices.stay == [[], [2], []]


def test_a_choice_is_not_made_again_where_it_would_be_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each class knows only the first Monday, and nobody who chooses anew is answered: after the first time no row is new."""
    monkeypatch.setattr(one_aim, "SECONDS_WHOLE", 2.0)
    choices = Choices(monkeypatch, slots=[0])
    choices.answer = lambda number, whole: whole if number % 2 else None
    assert choices.chosen() == [0, 0, 0]
    assert choices.stay == [[], [2], [], [2]]


def test_a_row_that_nobody_can_keep_is_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each class knows only the first Monday: who stands in the row chooses anew, then all do, and then these again."""
    choices = Choices(monkeypatch, slots=[0])
    assert choices.chosen() == [0, 0, 0]
    assert choices.stay == [[], [2], [], [2]]


def test_who_pays_an_aim_that_is_held_chooses_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """That nobody waits is a row that waits, too: once one of two waits for the kit it is broken, and all stand in it."""
    choices = Choices(monkeypatch, held=[SharedRow("early finish as held", (), 0, 0)])
    choices.chosen()
    assert choices.stay[:3] == [[], [2], []]


def test_what_others_leave_of_rows_is_what_can_still_be() -> None:
    """Random rows over own variables, others' and such as belong to nobody, against all values of these."""
    rng, told, binds = Random("left"), 0, 0
    for _ in range(2000):
        own, others, nobodys = (0, 1, 2), (3, 4), (5, 6)
        rows = []
        for number in range(rng.randint(1, 5)):
            terms = {each: rng.choice((-1, 1, 2, 3)) for each in rng.sample((*own, *others), rng.randint(1, 3))}
            terms |= {each: rng.choice((-1, 1)) for each in rng.sample(nobodys, rng.randint(0, 2))}
            rows.append(SharedRow.of(f"{number}", terms, rng.randint(-1, 3)))
        ends = {each: (0, rng.randint(1, 3)) for each in nobodys}
        says = {each: Said("placed", each, 0, 0) for each in (*own, *others)}
        part_of = {each: int(each in others) for each in says}
        shared = SharedVariables(Coupling(tuple(rows), ends, False), (), says, part_of, 2, 7)
        column = PartColumn(1, Sequence(()), None, {}, [rng.random() < 0.5 for _ in others])  # type: ignore[arg-type]
        left = left_of(rows, 0, {1: column}, shared)
        if left is None:
            continue
        told += 1
        values: dict[int, int] = dict(zip(others, map(int, column.values), strict=True))
        can: list[bool] = []
        within: list[bool] = []
        for mine in product((0, 1), repeat=3):
            values |= dict(zip(own, mine, strict=True))
            every = (
                {**values, **dict(zip(nobodys, each, strict=True))} for each in product(*(range(ends[n][1] + 1) for n in nobodys))
            )
            can.append(any(all(sum(much * of[v] for v, much in row.terms) <= row.most for row in rows) for of in every))
            within.append(all(sum(much * values[v] for v, much in row.terms) <= row.most for row in left))
        # Where the others break a row by themselves, nothing can be; what is left says of the part's own rows only.
        if any(can):
            assert can == within, rows
            binds += not all(can)
    assert told > 500 and binds > 200


def test_no_choice_of_lessons_breaks_a_cut() -> None:
    rng = Random("covers")
    made = 0
    for _ in range(300):
        items = tuple((rng.randint(1, 9), (number,)) for number in range(rng.randint(3, 7)))
        row = SharedRow("minutes", tuple((number, much) for number, (much, _) in enumerate(items)), rng.randint(5, 20))
        cut = broken_cover(row, items, {number: rng.random() for number in range(len(items))})
        made += cut is not None
        for choice in product((0, 1), repeat=len(items)) if cut is not None else ():
            if sum(much * taken for (much, _), taken in zip(items, choice, strict=True)) <= row.most:
                assert sum(choice[number] for number, _ in cut.terms) <= cut.most, (items, row.most, cut)
    assert made > 50


def test_no_bound_is_above_exhaustive_search() -> None:
    assert _in_rows(range(8)) > 2


@pytest.mark.slow
@pytest.mark.parametrize("first", range(8, 208, 20))
def test_no_more_bounds_are_above_exhaustive_search(first: int) -> None:
    assert _in_rows(range(first, first + 20)) > 5


def test_nor_where_aims_are_held_loosely(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each aim is held at one more than it need come to; what that is worth to one class has a price before all others."""
    monkeypatch.setattr("sequencer.solver.prices.search.SHARE_OF_LEEWAY", 1000)
    asked = 0
    for seed in range(12):
        if exhaustive.best(read_facts(coupled(seed))) is None:
            continue
        shared = Shared(coupled(seed))
        assert shared.search.begin(shared.budget)
        for place, aim in enumerate(shared.whole.aims):
            bounds = shared.bound(place)
            asked += shared.prices.asked_at_a_price(place)
            shared.search.least(place, shared.budget)
            value = shared.search.value(aim.name)
            assert max(bounds) <= value, f"coupled seed {seed}, {aim.name}: {value} is best, held loosely"
            shared.search.hold(aim, value + 1)
            shared.apart.hold(place, value + 1)
            shared.prices.hold(place, value + 1)
    assert asked > 10


def _in_rows(seeds: Iterable[int]) -> int:
    """Compare the bounds of random cases with what exhaustive search finds best; how many of them have rows."""
    coupled_by_rows = 0
    for seed in seeds:
        rng = Random(f"prices {seed}")
        data = coupled(seed)
        best = exhaustive.best(read_facts(data))
        if best is None:
            continue
        shared = Shared(data)
        coupled_by_rows += bool(shared.rows)
        assert shared.search.begin(shared.budget)
        for place, (aim, value) in enumerate(zip(shared.whole.aims, best.values, strict=True)):
            told = f"coupled seed {seed}, {aim.name}: {value} is best"
            assert max(shared.bound(place)) <= value, told
            asked = shared.prices.aim
            assert asked is not None
            best_prices = BestPrices(shared.prices.shared)
            for _ in range(3):
                prices = np.array([rng.choice([0, rng.randint(0, 3 * SCALE)]) for _ in asked.rows], dtype=np.int64)
                answered, fresh = asked.ask(prices, shared.budget)
                proven = best_prices.take(asked.rows, answered, fresh)
                assert _as_hard_parts(shared, prices).leasts == answered.leasts, told
                assert answered.least <= proven and math.ceil(proven / SCALE) <= value, told
            shared.search.least(place, shared.budget)
            assert shared.search.value(aim.name) == value, told
            shared.search.hold(aim, value)
            shared.apart.hold(place, value)
            shared.prices.hold(place, value)
    return coupled_by_rows


def _as_hard_parts(shared: Shared, prices: Thousandths) -> PartsAsked:
    """What parts answer where only sequences cheaper than those known are asked for."""
    asked, parts = shared.prices.aim, shared.prices.parts
    assert asked is not None
    for part in parts:
        part.hard = True
        part.begin()
    cut_short, _ = asked.ask(prices, Budget(shared.budget.ends, 1e-4))
    answered, fresh = asked.ask(prices, shared.budget)
    assert answered.whole and not fresh and cut_short.least <= answered.least
    for part in parts:
        part.hard = False
    return answered


def without_a_model_of_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plan coupled classes by prices and a few at a time alone."""
    for name in ("questions.solve.MOST_TOGETHER", "solver.prices.many.MOST_TOGETHER", "solver.prices.many.MOST_IN_ONE"):
        monkeypatch.setattr(f"sequencer.{name}", 0)


def test_without_a_model_of_all_classes_nothing_is_claimed_that_is_not_so(monkeypatch: pytest.MonkeyPatch) -> None:
    without_a_model_of_all(monkeypatch)
    assert _class_by_class(range(6)) > 2


def test_nor_with_one() -> None:
    # In the last two a wish looks at several classes that are kept in step, which are one part.
    assert _class_by_class((*range(6, 12), 308, 1005)) > 4


@pytest.mark.slow
@pytest.mark.parametrize("first", range(6, 2006, 100))
def test_nor_in_two_thousand_cases(first: int, monkeypatch: pytest.MonkeyPatch) -> None:
    without_a_model_of_all(monkeypatch)
    assert _class_by_class(range(first, first + 100)) > 40


@pytest.mark.slow
@pytest.mark.parametrize("first", range(12, 2012, 100))
def test_nor_with_one_in_two_thousand_cases(first: int) -> None:
    assert _class_by_class(range(first, first + 100)) > 40


def test_nor_where_periods_are_stepped_through(monkeypatch: pytest.MonkeyPatch) -> None:
    step_through(monkeypatch)
    assert _class_by_class(range(20, 26)) > 2


@pytest.mark.slow
@pytest.mark.parametrize("first", range(26, 1026, 100))
def test_nor_where_they_are_in_a_thousand_cases(first: int, monkeypatch: pytest.MonkeyPatch) -> None:
    step_through(monkeypatch)
    assert _class_by_class(range(first, first + 100)) > 40


def step_through(monkeypatch: pytest.MonkeyPatch) -> None:
    """Step through the periods of all classes, and plan them by prices and a few at a time alone."""
    without_a_model_of_all(monkeypatch)
    for name in ("FEWEST_LESSONS", "FEWEST_RETRIEVALS"):
        monkeypatch.setattr(f"sequencer.solver.chain.aims_by_periods.{name}", 0)


def _class_by_class(seeds: Iterable[int]) -> int:
    """Compare answers to random cases with what exhaustive search finds best; how many of them are proven best."""
    proven = 0
    for seed in seeds:
        data = coupled(seed)
        best = exhaustive.best(read_facts(data))
        answer = solve(scenario_from_data(data), SolveSettings(seconds=300, effort=20))
        told = f"coupled seed {seed}"
        if best is None:
            assert answer.status == INFEASIBLE, told
            continue
        assert answer.verdict is not None and answer.verdict.sound, told
        values = [aim.value for aim in answer.aims]
        assert values >= list(best.values), told
        for aim, value in zip(answer.aims, best.values, strict=True):
            if aim.value != value:
                break
            assert aim.bound is not None and aim.bound <= value, f"{told}, {aim.aim}"
        if answer.status == OPTIMAL:
            proven += 1
            assert values == list(best.values), told
    return proven
