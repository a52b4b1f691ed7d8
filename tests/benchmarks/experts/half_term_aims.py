"""The aims of the expert model of a half term, and the rules that need variables of their own for them."""

from __future__ import annotations

from bisect import bisect_right
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from tests.benchmarks.experts.half_term_facts import IN_CLASS, OPEN, Facts
from tests.benchmarks.experts.stages import Aims

if TYPE_CHECKING:
    from tests.benchmarks.experts.half_term import Starts

Expression = cp_model.LinearExprT


class HalfTermAims:
    """Costs in the order of the saved half terms."""

    def __init__(self, model: cp_model.CpModel, facts: Facts, starts: Starts) -> None:
        self.model, self.facts, self.starts = model, facts, starts
        self.slot_dates = [period.date for period in facts.periods]
        self.dates = sorted(set(self.slot_dates))
        self.carried: list[cp_model.IntVar] = []
        self.distances: list[tuple[cp_model.IntVar, int]] = []
        self.met: dict[tuple[str, date], cp_model.IntVar] = {}
        self.live: dict[int, Expression] = {}
        for dense, serving in facts.serving.items():
            self._practice(dense, serving)
        for id, hosts in facts.listed.items():
            self._listed(id, *hosts)
        self._chosen()
        self.wishes, self.dense = self._live()
        self.heaviest = self._weeks()
        self.finish = self._finish()

    def in_order(self) -> Aims:
        """Aims with their costs, most important first."""
        items = self.facts.items.values()
        placed = self.starts.placed
        optional = [item.id for item in items if item.optional]
        made = [item.id for item in items if item.made]
        aims: Aims = [
            ("left out", sum(1 - placed(id) for id in optional)),
            ("carried over", sum(self.carried)),
            ("left for the next plan", sum(self.carried)),
            ("made lessons", sum(placed(id) for id in made)),
            ("wishes", self.wishes),
            ("dense as set work", self.dense),
            ("distance", sum(days * apart for apart, days in self.distances)),
            ("even load", self.heaviest),
            ("early finish", self.finish),
        ]
        return aims if made else [aim for aim in aims if aim[0] != "made lessons"]

    # -- practice and retrieval ----------------------------------------------------------------------------------------

    def _by(self, id: str, day: date) -> Expression:
        """Whether a lesson lies on a date or before."""
        return self.starts.by_slot(id, bisect_right(self.slot_dates, day) - 1)

    def _carries(self, id: str, slots: list[int]) -> cp_model.IntVar:
        """Whether something is left to the next plan, which the lesson may only do from some slots."""
        carried = self.model.new_bool_var(f"{id} carried over")
        self.model.add(carried <= sum(self.starts.here(id, at) for at in slots))
        self.carried.append(carried)
        return carried

    def _practice(self, dense: str, serving: list[str]) -> None:
        within, count = self.facts.practice_within, self.facts.count
        carried = self._carries(dense, [at for at in self.starts.x[dense] if count - 1 - at < within])
        for at, here in self.starts.x[dense].items():
            window = range(at + 1, at + within + 1)
            self.model.add(here <= carried + sum(self.starts.here(by, to) for by in serving for to in window))
            if len(serving) == 1:
                self.model.add(self.starts.by_slot(dense, at) <= self.starts.by_slot(serving[0], at + within) + carried)

    def _window_ends(self, id: str) -> list[int]:
        """Slots of a lesson whose window ends after the class's last date; others must have a date in their window."""
        least, most, _ = self.facts.window
        ends = []
        for at in self.starts.x[id]:
            taught = self.slot_dates[at]
            if taught + timedelta(days=most) > self.dates[-1]:
                ends.append(at)
            elif not any(least <= (day - taught).days <= most for day in self.dates):
                raise ValueError("the expert model does not know retrievals that are late")
        return ends

    def _listed(self, id: str, by: str) -> None:
        """Met again in the one retrieval lesson that lists it: window as rising sums, distance as the area between two."""
        least, most, preferred = self.facts.window
        carried = self._carries(id, self._window_ends(id))
        for at in self.starts.x[id]:
            taught = self.slot_dates[at]
            too_soon = self._by(by, taught + timedelta(days=least - 1))
            self.model.add(too_soon <= self._by(id, taught - timedelta(days=1)) + carried)
            self.model.add(self._by(id, taught) <= self._by(by, taught + timedelta(days=most)) + carried)
        self._apart(id, {day: self._by(by, day) for day in self.dates}, preferred, carried)

    def _apart(self, id: str, met_by: dict[date, Expression], preferred: int, carried: cp_model.IntVar) -> None:
        """Days between the distance kept and the preferred one: over how long only one of the two has come about."""
        moved = [day + timedelta(days=preferred) for day in self.dates]
        marks = sorted({*self.dates, *moved})
        met: Expression = 0
        for mark, after in pairwise(marks):
            met = met_by.get(mark, met)
            due = self._by(id, mark - timedelta(days=preferred))
            if isinstance(met, int) and isinstance(due, int) and met == due:
                continue
            apart = self.model.new_bool_var(f"{id} apart from {mark}")
            self.model.add(apart >= met - due - carried)
            self.model.add(apart >= due - met - carried)
            self.distances.append((apart, (after - mark).days))

    def _chosen(self) -> None:
        """Met again on one date each, where there is room."""
        facts, model = self.facts, self.model
        least, most, preferred = facts.window
        for id in facts.chosen:
            carried = self._carries(id, self._window_ends(id))
            met_by: dict[date, Expression] = {}
            so_far: Expression = 0
            for day in self.dates:
                opened = self._by(id, day - timedelta(days=least))
                closed = self._by(id, day - timedelta(days=most + 1))
                if not (isinstance(opened, int) and opened == 0):
                    met = model.new_bool_var(f"{id} met on {day}")
                    model.add(met <= opened - closed)
                    self.met[id, day] = met
                    now = model.new_bool_var(f"{id} met by {day}")
                    model.add(now == so_far + met)
                    model.add(now <= opened)
                    so_far = now
                met_by[day] = so_far
            model.add(so_far + carried == 1)
            for day in self.dates:
                later = max((other for other in self.dates if other <= day + timedelta(days=most)), default=None)
                if later is not None:
                    model.add(self._by(id, day) <= met_by[later] + carried)
            self._apart(id, met_by, preferred, carried)
        for day in self.dates if facts.chosen else ():
            slots = [at for at, on in enumerate(self.slot_dates) if on == day]
            met = [self.met[id, day] for id in facts.chosen if (id, day) in self.met]
            quizzes = sum(self.starts.held(at, list(facts.quizzes)) for at in slots)
            room = sum(room * self.starts.here(quiz, at) for quiz, room in facts.quizzes.items() for at in slots)
            anything = sum(self.starts.held(at) for at in slots)
            hosts = anything if facts.starters else quizzes
            model.add(sum(met) <= room + facts.starters * anything)
            model.add(sum(met) >= quizzes)
            for each in met:
                model.add(each <= hosts)

    # -- live, weeks, the end ------------------------------------------------------------------------------------------

    def _live(self) -> tuple[Expression, Expression]:
        """Quotas; what goes against wishes in remote slots, and dense lessons that are set work there."""
        facts, model, starts = self.facts, self.model, self.starts
        items = facts.items.values()
        wanting = [item.id for item in items if item.live == "prefer"]
        dense = [item.id for item in items if item.dense and item.live != "avoid"]
        avoiding = [item.id for item in items if item.live == "avoid"]
        costs: list[cp_model.IntVar] = []
        apart: list[cp_model.IntVar] = []
        for at in (at for at in range(facts.count) if facts.mode[at] != IN_CLASS):
            live: Expression = starts.held(at) if facts.mode[at] == "live" else 0
            if facts.mode[at] == OPEN:
                live = model.new_bool_var(f"live at {at}")
                model.add(live <= starts.held(at))
            self.live[at] = live
            cost = model.new_bool_var(f"against a wish at {at}")
            model.add(cost >= starts.held(at, wanting) - live)
            model.add(cost >= starts.held(at, avoiding) + live - 1)
            costs.append(cost)
            apart.append(model.new_bool_var(f"dense as set work at {at}"))
            model.add(apart[-1] >= starts.held(at, dense) - live)
        for slots, least, most in facts.quotas:
            model.add(sum(self.live[at] for at in slots) >= least)
            model.add(sum(self.live[at] for at in slots) <= most)
        return sum(costs), sum(apart)

    def _weeks(self) -> cp_model.IntVar:
        """The heaviest week, no lighter than an even spread of what is placed in any case."""
        items = self.facts.items.values()
        weeks = self.facts.weeks
        even = -(-sum(item.load for item in items if item.certain) // len(weeks))
        heaviest = self.model.new_int_var(even, sum(item.load for item in items), "heaviest week")
        for week in weeks:
            load = sum(item.load * self.starts.here(item.id, at) for item in items for at in week)
            self.model.add(load <= heaviest)
            if self.facts.most_load is not None:
                self.model.add(load <= self.facts.most_load)
        return heaviest

    def _finish(self) -> Expression:
        """Slots up to the last teach lesson that is not optional, less those that lessons take."""
        facts, model, starts = self.facts, self.model, self.starts
        required = [item.id for item in facts.items.values() if item.kind == "teach" and not item.optional]
        others = [item.id for item in facts.items.values() if item.id not in required]
        going_on = [model.new_bool_var(f"not over before {at}") for at in range(facts.count)]
        before_end = []
        for at in range(facts.count):
            model.add(going_on[at] >= starts.held(at, required))
            if at:
                model.add(going_on[at - 1] >= going_on[at])
            inside = model.new_bool_var(f"another lesson at {at} before the end")
            model.add(inside <= starts.held(at, others))
            model.add(inside <= going_on[at])
            before_end.append(inside)
        return sum(going_on) - sum(starts.placed(id) for id in required) - sum(before_end)

    # -- what was found ------------------------------------------------------------------------------------------------

    def taught(self, solver: cp_model.CpSolver, at: int) -> str:
        """How the lesson in a slot is taught."""
        if self.facts.mode[at] != OPEN:
            return self.facts.mode[at]
        return "live" if solver.value(self.live[at]) else "set work"

    def shared_out(self, solver: cp_model.CpSolver, hosts: dict[int, str]) -> dict[int, list[str]]:
        """What is met again by choice in each slot: in retrieval lessons first, one each, then where there is room."""
        found: dict[int, list[str]] = {}
        for day in self.dates:
            waiting = [id for id in self.facts.chosen if (id, day) in self.met and solver.boolean_value(self.met[id, day])]
            here = sorted(
                (at for at in hosts if self.slot_dates[at] == day), key=lambda at: (hosts[at] not in self.facts.quizzes, at)
            )
            for at in (at for at in here if hosts[at] in self.facts.quizzes):
                found[at] = [waiting.pop(0)]
            for at in here:
                room = self.facts.quizzes.get(hosts[at], 0) + self.facts.starters - len(found.get(at, []))
                found.setdefault(at, []).extend(waiting[:room])
                waiting = waiting[room:]
        return found
