"""A half term of one class, as ``half_terms.py`` draws them: start booleans, rising sums, tight distances.

It exploits what those instances have in common: lessons of one period, one retrieval each, no date but those of tests, practice
for dense lessons either listed one by one or made by one pattern, optional lessons that nothing depends on.
"""

from __future__ import annotations

import time

from ortools.sat.python import cp_model

from tests.benchmarks.experts.half_term_aims import HalfTermAims
from tests.benchmarks.experts.half_term_facts import Facts, Item, read_facts
from tests.benchmarks.experts.periods import row
from tests.benchmarks.experts.stages import Found, settle
from tests.builders import Data


class Starts:
    """Booleans lesson x slot, and for each slot whether the lesson lies in it or earlier.

    Where a lesson may stand aside, the last rising sum says whether it is placed.
    """

    def __init__(self, model: cp_model.CpModel, facts: Facts) -> None:
        self.model, self.facts = model, facts
        self.x: dict[str, dict[int, cp_model.IntVar]] = {}
        self.by: dict[str, list[cp_model.LinearExprT]] = {}
        for item in facts.items.values():
            first, last = facts.domain[item.id]
            slots = [at for at in range(first, last + 1) if facts.may_lie(item, at)]
            self.x[item.id] = {at: model.new_bool_var(f"{item.id} at {at}") for at in slots}
            (model.add_exactly_one if item.certain else model.add_at_most_one)(self.x[item.id].values())
            self._rise(item)
        for at in range(facts.count):
            model.add_at_most_one(variables[at] for variables in self.x.values() if at in variables)

    def _rise(self, item: Item) -> None:
        """Rising sums: constants outside the domain, variables inside."""
        slots = self.x[item.id]
        sums: list[cp_model.LinearExprT] = []
        before: cp_model.LinearExprT = 0
        last = max(slots, default=-1)
        for at in range(self.facts.count):
            if at in slots:
                if at == last and item.certain:
                    self.model.add(slots[at] == 1 - before)
                    before = 1
                else:
                    now = self.model.new_bool_var(f"{item.id} by {at}")
                    self.model.add(now == before + slots[at])
                    before = now
            sums.append(before)
        self.by[item.id] = sums

    def by_slot(self, id: str, at: int) -> cp_model.LinearExprT:
        """Whether the lesson lies in a slot or earlier; any slot number will do."""
        return 0 if at < 0 else self.by[id][min(at, self.facts.count - 1)]

    def placed(self, id: str) -> cp_model.LinearExprT:
        """Whether it is placed."""
        return self.by[id][-1]

    def here(self, id: str, at: int) -> cp_model.LinearExprT:
        """Whether it lies in a slot."""
        return self.x[id].get(at, 0)

    def held(self, at: int, ids: list[str] | None = None) -> cp_model.LinearExprT:
        """How many of the lessons (all unless given) lie in a slot."""
        return sum(self.x[id][at] for id in (self.x if ids is None else ids) if at in self.x[id])


def by_starts(raw: Data, scenario: Data, seconds: float, workers: int, seed: int) -> Found:
    """The whole model, aims in the usual order."""
    began = time.perf_counter()
    facts = read_facts(raw)
    model = cp_model.CpModel()
    starts = Starts(model, facts)
    _order(model, facts, starts)
    _runs_and_tags(model, facts, starts)
    aims = HalfTermAims(model, facts, starts)
    _made_practice(model, facts, starts)

    def rows(solver: cp_model.CpSolver) -> tuple[Data, ...]:
        hosts: dict[int, list[str]] = {}
        for id, variables in starts.x.items():
            for at, variable in variables.items():
                if solver.boolean_value(variable):
                    hosts.setdefault(at, []).append(id)
        revisits = aims.shared_out(solver, {at: ids[0] for at, ids in hosts.items()})
        found = []
        for at, (id,) in sorted(hosts.items()):
            item = facts.items[id]
            taught = aims.taught(solver, at)
            found.append(row(scenario, facts.periods[at], item.unit, item.name, taught=taught, revisits=revisits.get(at, [])))
        return tuple(found)

    return settle(model, aims.in_order(), rows, began, (seconds, workers, seed), first=True)


def _order(model: cp_model.CpModel, facts: Facts, starts: Starts) -> None:
    """What comes before what, feedback after its marking time, made lessons of one kind in turn."""
    for before, after in facts.precedence:
        for at in range(facts.count):
            model.add(starts.by_slot(after, at) <= starts.by_slot(before, at - 1))
    for test, talk, least, most in facts.answered:
        for at in starts.x[test]:
            open_slots = [to for to in starts.x[talk] if least <= facts.school_days(at, to) <= most and to > at]
            model.add(starts.here(test, at) <= sum(starts.here(talk, to) for to in open_slots))
    for first, second in facts.twins:
        for at in range(facts.count):
            model.add(starts.by_slot(second, at) <= starts.by_slot(first, at - 1))


def _runs_and_tags(model: cp_model.CpModel, facts: Facts, starts: Starts) -> None:
    """Two high-load lessons in a row at most; caps and threads on tags; the week's load."""
    high = [item.id for item in facts.items.values() if item.high]
    for first in range(facts.count - facts.run_cap):
        model.add(sum(starts.held(at, high) for at in range(first, first + facts.run_cap + 1)) <= facts.run_cap)
    for tag, most, of in facts.caps:
        tagged = [item.id for item in facts.items.values() if tag in item.tags]
        for first in range(max(1, facts.count - of + 1)):
            model.add(sum(starts.held(at, tagged) for at in range(first, min(first + of, facts.count))) <= most)
    for tag, least, of in facts.threads:
        others = [item.id for item in facts.items.values() if tag not in item.tags]
        for first in range(facts.count - of + 1):
            model.add(sum(starts.held(at, others) for at in range(first, first + of)) <= of - least)


def _made_practice(model: cp_model.CpModel, facts: Facts, starts: Starts) -> None:
    """A made practice lies in the window of what it was made for, alone among those that would serve there."""
    for dense, own in facts.made_for.items():
        within = facts.practice_within
        others = [practice for practice in facts.serving[dense] if practice != own]
        for at, here in starts.x[dense].items():
            window = range(at + 1, at + within + 1)
            mine = sum(starts.here(own, to) for to in window)
            model.add(mine >= starts.placed(own) + here - 1)
            for other in others:
                model.add(sum(starts.here(other, to) for to in window) <= 2 - here - starts.placed(own))
