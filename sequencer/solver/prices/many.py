"""Classes that share rules, planned apart: a first plan, then aim by aim under prices; a model of all only where a gap stays."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cached_property, partial
from random import Random

from sequencer.aims import aim_values
from sequencer.errors import RefereeDisagrees
from sequencer.plan.sequence import Laid, Sequence, joined
from sequencer.solver.aim_search import MOST_TOGETHER, GroupResult, GroupSearch, StageResult
from sequencer.solver.apart import ClassesApart
from sequencer.solver.deadline import OutOfTime
from sequencer.solver.model import ClassesModel, Prepared
from sequencer.solver.prices.all_together import AllTogether
from sequencer.solver.prices.columns import PartColumn
from sequencer.solver.prices.elsewhere import AskMany
from sequencer.solver.prices.few_together import FewTogether
from sequencer.solver.prices.first_plan import TRIES, FirstPlan, Plan
from sequencer.solver.prices.one_heap import share_one_heap
from sequencer.solver.prices.search import SharedPrices
from sequencer.solver.prices.shared_rules import sharing
from sequencer.solver.progress import PricesNow, Progress
from sequencer.solver.raised import RaisedLimit
from sequencer.solver.solver_calls import AT_ONCE, LEAST_EFFORT, Budget, Calls, StopSignal, share_of_next

SHARE_OF_FIRST = 0.4
"""Share of the time for a first plan; without one there is still the model of all classes."""

FEW_TRIES, TO_BEGIN = 2, 8.0
"""Tries for each part, and the effort with which the model of all classes is asked after them, before more are made."""

SHARE_OF_AIM = 0.7
"""Share of what is left that each aim has at least: those after it are made small only as far as it leaves them room."""

SHARE_OF_BOUNDS = 0.8
"""Share of an aim's effort that goes to its bound; the rest goes to the plan."""

SHARE_ONE_BY_ONE = 0.25
"""Share of what is left for an aim's bound for planning one class at a time anew before prices, beside what the others have."""

SHARE_OF_TRY = 0.15
"""Share of what is left for one try with a few classes."""

SHARE_TOGETHER = 0.8
"""Share of what an aim has left for a sequence at its bound, of all parts in one model."""

MOST_IN_ONE = 2000
"""Lessons of which, all in one model, a sequence at a bound is asked for, near which prices have left few."""

SHARE_OF_MENDING = 0.5
"""Share of what an aim has left for planning a few classes at a time anew, while others wait."""

TRIES_OF_CHOICE = 1
"""Tries for each part to mend the best choice of whole columns; who breaks rules then stands as in the plan that is held."""

MOST_OF_TRY = 1.5
"""Most effort for one try."""

IN_VAIN, MOST_IN_VAIN = 3, 60
"""So many tries in vain for each part end the search for better plans, and no more than this in all."""

IN_VAIN_FOR_ONE = 30
"""And so many for each unit of an aim that there is to gain."""

WORTH_A_SWEEP = 0.1
"""While planning one class at a time anew gains such a part of what there is to gain, it is done once more."""


AskedTogether = Callable[[AllTogether, int, int, Mapping[int, int], Sequence, Budget], int]


class ManyClasses:
    """Settles the aims of many classes in order.

    Parameters
    ----------
    build
        A model of some classes.
    elsewhere
        Asks parts elsewhere.
    floor
        A bound of an aim that needs no search, those before it at some values; the arithmetic one unless stated.
    """

    def __init__(
        self,
        prepared: Prepared,
        apart: ClassesApart[Sequence],
        build: Callable[[tuple[int, ...]], ClassesModel],
        seed: int,
        workers: int,
        stop: StopSignal,
        report: Callable[[Progress], None] | None = None,
        elsewhere: AskMany | None = None,
        floor: Callable[[int, Mapping[str, int]], int] | None = None,
    ) -> None:
        share_one_heap()
        self._prepared, self._apart, self._report, self._stop = prepared, apart, report, stop
        self._build, self._seed, self._workers = build, seed, workers
        self._started = time.monotonic()
        self.calls = Calls(seed, 1, stop)
        self._random = Random(seed)
        self._prices = SharedPrices(prepared, apart, elsewhere)
        self._shared, self._parts = self._prices.shared, self._prices.parts
        self._floor = floor
        self._every = tuple(range(len(self._parts)))
        self._classes = tuple(sorted(index for part in apart.parts for index in part))
        self._ids = tuple(prepared.instance.classes[index].id for index in self._classes)
        self._part_of = {index: part for part, classes in enumerate(apart.parts) for index in classes}
        self._part_of_id = {prepared.instance.classes[index].id: part for index, part in self._part_of.items()}
        self._aims = apart.searches[0].model.aims
        lessons = sum(len(prepared.instance.classes[index].lessons) for index in self._classes)
        self._all_in_one, self._are_few = lessons <= MOST_IN_ONE, lessons <= MOST_TOGETHER
        self._few = FewTogether(self._shared, self._parts, self._prices.steps.links, build, self.calls)
        self._first = FirstPlan(self._few, len(self._parts), self._learn, self._broken, stop, seed)
        self._sharing = sharing(prepared.instance)
        self._plan: Plan = {}
        self._values: dict[str, int] = {}
        self.impossible = False

    @cached_property
    def _together(self) -> AllTogether:
        """All parts in one model."""
        build, report = partial(self._build, self._classes), self._told if self._report is not None else None
        return AllTogether(build, self._apart, self._prices, self._seed, self._workers, self._stop, report)

    def begin(self, budget: Budget) -> bool:
        """Look for a first plan; whether one is held."""
        self.impossible = self._shared.coupling.impossible
        if self.impossible:
            return False
        models, staying = [part.model for part in self._parts], None
        if models[0].model.moved is not None:
            # What cannot stay goes where the others leave room.
            staying = sorted(range(len(models)), key=lambda part: models[part].aims[0].floor)
        first = partial(self._first_plan, budget.part(SHARE_OF_FIRST), staying)
        plan = first(FEW_TRIES if self._all_in_one else TRIES)
        if plan is None and self._all_in_one and not self.impossible:
            # That there is none the model of all classes often says at once.
            plan = self._begin_together(lambda search: search.look(Budget(budget.ends, TO_BEGIN)))
            if plan is None and not self.impossible:
                plan = first(TRIES)
        if plan is None and not self.impossible:
            plan = self._begin_together(lambda search: search.begin(budget))
        if plan is not None:
            self._keep(plan)
            self.calls.stopped_by = None
        return plan is not None

    def _first_plan(self, budget: Budget, staying: list[int] | None, tries: int) -> Plan | None:
        plan = self._first.find(budget, staying, tries)
        self.impossible = self._first.impossible
        return plan

    def _begin_together(self, look: Callable[[GroupSearch[Sequence]], object]) -> Plan | None:
        """A first plan from the model of all classes, which can also say that there is none."""
        search = self._together.search
        look(search)
        self.impossible = search.impossible
        self.calls.clocked |= search.calls.clocked
        self.calls.stopped_by = search.calls.stopped_by
        return self._learn(search.held, self._every) if search.begun else None

    def start_from(self, sequence: Sequence) -> None:
        """Begin with a plan that is known."""
        self._keep(self._learn(sequence, self._every))

    def settle(self, budget: Budget) -> GroupResult[Sequence]:
        """Every aim in turn, those before it being held; the best plan when the budget runs out."""
        bounds: list[int] = []
        raised: list[tuple[RaisedLimit, ...]] = []
        for place, aim in enumerate(self._aims):
            # Aims that can come to no less take no time.
            open_ = sum(
                self._values[each.name] > shared.floor
                for each, shared in zip(self._aims[place:], self._shared.aims[place:], strict=True)
            )
            bound = self._least(place, budget, max(1, open_))
            value = self._values[aim.name]
            if bound > value:
                raise RefereeDisagrees(f"{aim.name}: the models prove at least {bound}, the referee counts {value}")
            bounds.append(bound)
            raised.append(self._prices.worth(place))
            self._tell(place, bound)
            self._apart.hold(place, value)
            self._prices.hold(place, value)
        self.calls.clocked |= self._apart.clocked or self._prices.clocked
        stages: list[StageResult] = []
        for aim, bound, more in zip(self._aims, bounds, raised, strict=True):
            conditional = any(not stage.proven for stage in stages)
            stages.append(StageResult(aim.name, self._values[aim.name], bound, conditional, more))
        if not all(stage.proven for stage in stages):
            by_clock = budget.ends <= time.monotonic() or self.calls.clocked
            self.calls.stopped_by = self._stop.by if self._stop.stopped else "time" if by_clock else "effort"
        return GroupResult(self._sequence(self._plan), tuple(stages))

    def _least(self, place: int, budget: Budget, parts: int) -> int:
        """Make one aim small: a bound of it, with a plan as good as was found."""
        name, bound = self._aims[place].name, self._shared.aims[place].floor
        if self._floor is not None:
            bound = max(bound, self._floor(place, self._values))
        self._tell(place, bound)
        if self._values[name] <= bound:
            return bound
        with budget.lent(max(SHARE_OF_AIM, share_of_next(parts))) as own:
            most = {number: self._values[aim.name] for number, aim in enumerate(self._aims[:place])}
            with own.lent(SHARE_OF_BOUNDS) as for_bounds:
                bound = max(bound, self._prices.alone(place, self._sequence(self._plan), self._values, for_bounds))
                self._tell(place, bound)
                if self._values[name] - bound > len(self._parts):
                    with for_bounds.lent(SHARE_ONE_BY_ONE) as for_each:
                        self._sweep(place, bound, most, for_each)
                    self._prices.beside = self._sequence(self._plan)
                if self._report is not None:
                    self._prices.heard = partial(self._heard, place, bound)
                bound = self._prices.bound(place, bound, self._values[name], self._values, for_bounds)
            self._tell(place, bound)
            if self._values[name] > bound and (chosen := self._prices.chosen(own)) is not None:
                self._try(chosen, place, bound, most, own)
            with own.lent(SHARE_TOGETHER) as for_all:
                bound = self._together_by(AllTogether.better, place, bound, most, for_all)
            with own.lent(SHARE_OF_MENDING if parts > 1 else 1.0) as for_mending:
                self._mend(place, bound, most, for_mending)
            if self._are_few:
                bound = self._together_by(AllTogether.improve, place, bound, most, own)
        return bound

    def _together_by(self, how: AskedTogether, place: int, bound: int, most: dict[int, int], budget: Budget) -> int:
        """Look for a better plan in the model of all parts, where it can be had; the bound proven."""
        over = budget.over or budget.effort < LEAST_EFFORT or self._stop.stopped
        if self._values[self._aims[place].name] <= bound or over or not self._all_in_one:
            return bound
        try:
            together = self._together
        except OutOfTime:
            self._all_in_one, self.calls.clocked = False, True
            return bound
        bound = how(together, place, bound, most, self._sequence(self._plan), budget)
        self.calls.clocked |= together.search.calls.clocked
        self._keep_if_better(self._learn(together.search.held, self._every), place)
        return bound

    def _try(self, sequence: Sequence, place: int, bound: int, most: dict[int, int], budget: Budget) -> None:
        """Take up the best choice of columns, mended where it breaks rules."""
        plan = self._learn(sequence, self._every)
        with budget.lent(0.5) as own:
            mended = self._first.mend(plan, place, most, own, TRIES_OF_CHOICE)
        if mended is not None:
            self._keep_if_better(mended, place)
        elif self._keep_if_better(self._mixed(plan), place):
            with budget.lent(0.5) as own:
                self._sweep(place, bound, most, own)

    def _mixed(self, plan: Plan) -> Plan:
        """A plan that breaks no rule: parts that broke one stand as in the plan that is held, and so on until none is broken."""
        while broken := self._broken(plan):
            back = {part: self._plan[part] for parts in broken for part in parts if plan[part] is not self._plan[part]}
            if not back:
                return self._plan
            plan = plan | back
        return plan

    def _sweep(self, place: int, bound: int, most: dict[int, int], budget: Budget) -> None:
        """Plan one class after another anew, and all again while that gains much of what there is to gain."""
        name = self._aims[place].name
        gap = self._values[name] - bound + 1
        while not budget.over and self._values[name] - bound < gap:
            gap = round((1 - WORTH_A_SWEEP) * (self._values[name] - bound))
            self._one_by_one(place, most, budget)

    def _mend(self, place: int, bound: int, most: dict[int, int], budget: Budget) -> None:
        """Plan a few classes at a time anew, as long as it helps."""
        name = self._aims[place].name
        waiting: list[tuple[int, ...]] | None = None
        in_vain = 0
        while not budget.over and not self._stop.stopped:
            if in_vain >= min(IN_VAIN * len(self._parts), MOST_IN_VAIN, IN_VAIN_FOR_ONE * (self._values[name] - bound)):
                return
            if waiting is None:
                waiting = [free for free in self._prices.near(self._sequence(self._plan)) if self._worth_a_try(free)]
            several = self._some(waiting)
            in_vain += AT_ONCE
            if self._anew(several, place, most, budget.effort * SHARE_OF_TRY, budget):
                waiting, in_vain = None, 0

    def _one_by_one(self, place: int, most: dict[int, int], budget: Budget) -> None:
        """Plan each class anew beside what the others have, those first that pay most beyond their own least."""
        leasts = self._prices.leasts(place)
        over = {part: column.counts[self._aims[place].name] - leasts[part] for part, column in self._plan.items()}
        waiting = sorted((part for part in over if over[part] > 0), key=lambda part: (-over[part], part))
        for first in range(0, len(waiting), AT_ONCE):
            if budget.over or budget.effort < LEAST_EFFORT or self._stop.stopped:
                return
            each = budget.effort * AT_ONCE / (len(waiting) - first)
            self._anew([(part,) for part in waiting[first : first + AT_ONCE]], place, most, each, budget)

    def _anew(self, several: list[tuple[int, ...]], place: int, most: dict[int, int], effort: float, budget: Budget) -> bool:
        """Plan a few lots of classes anew, side by side; whether an aim came to less."""
        held, better = self._plan, False
        own = Budget(budget.ends, max(LEAST_EFFORT, min(MOST_OF_TRY, effort)))
        for free, found, spent in self._few.several(held, several, place, most, False, own):
            budget.effort -= spent / AT_ONCE
            if found is None:
                continue
            plan = self._plan | self._learn(found, free)
            if self._plan is held or not self._broken(plan):
                better |= self._keep_if_better(plan, place)
        return better

    def _some(self, waiting: list[tuple[int, ...]]) -> list[tuple[int, ...]]:
        """A few tries that have no part in common: those that wait first, then drawn ones."""
        chosen: list[tuple[int, ...]] = []
        for _ in range(AT_ONCE):
            taken = {part for free in chosen for part in free}
            free = next((each for each in waiting if taken.isdisjoint(each)), None)
            if free is not None:
                waiting.remove(free)
            else:
                free = self._few.drawn(self._random)
            if taken.isdisjoint(free) and self._worth_a_try(free):
                chosen.append(free)
        return chosen

    def _worth_a_try(self, free: tuple[int, ...]) -> bool:
        """Whether a model of some parts says anything soon: not of several that are stepped through."""
        return sum(self._parts[part].steps_through for part in free) <= 1

    def _keep_if_better(self, plan: Plan, place: int) -> bool:
        """Hold a plan that is better for an aim, then for the others, and no worse for those before it."""
        values = self._count(plan)
        names = [aim.name for aim in self._aims]
        before = [values[name] > self._values[name] for name in names[:place]]
        if any(before) or [values[name] for name in names[place:]] >= [self._values[name] for name in names[place:]]:
            return False
        better = values[names[place]] < self._values[names[place]]
        self._plan, self._values = plan, values
        return better

    def _keep(self, plan: Plan) -> None:
        self._plan, self._values = plan, self._count(plan)

    def _count(self, plan: Plan) -> dict[str, int]:
        """The referee's count of every aim."""
        if all(aim.alone for aim in self._shared.aims):
            return {aim.name: sum(column.counts[aim.name] for column in plan.values()) for aim in self._shared.aims}
        model = self._parts[0].model.model
        laid = Laid(self._prepared.instance, self._sequence(plan), self._classes)
        return aim_values(laid) | ({model.moved.name: model.moved.value(laid)} if model.moved is not None else {})

    def _sequence(self, plan: Plan) -> Sequence:
        return joined(column.sequence for column in plan.values())

    def _learn(self, sequence: Sequence, parts: tuple[int, ...]) -> dict[int, PartColumn]:
        """The columns of a sequence of some parts."""
        return {part: self._prices.column(part, self._parts[part].model.own(sequence)) for part in parts}

    def _broken(self, plan: Plan) -> list[tuple[int, ...]]:
        """For each rule that a plan breaks the parts concerned."""
        laid = Laid(self._prepared.instance, self._sequence(plan), self._classes)
        lessons = self._prepared.instance.lessons
        found: list[tuple[int, ...]] = []
        for breach in (breach for rule in self._sharing for breach in rule.judge(laid) if not breach.past):
            parts = {self._part_of[lessons[index].class_index] for index in breach.lessons}
            # Where a rule asks for lessons none may be concerned yet.
            parts = parts or {self._part_of_id[each] for each in breach.class_ids if each in self._part_of_id}
            found += [tuple(sorted(parts))] if parts else []
        return found

    def _heard(self, place: int, known: int, prices: PricesNow, bound: int) -> None:
        self._tell(place, min(max(known, bound), self._values[self._aims[place].name]), prices)

    def _told(self, progress: Progress) -> None:
        """What the search in one model reports, by this one's clock."""
        if self._report is not None:
            self._report(replace(progress, seconds=time.monotonic() - self._started))

    def _tell(self, place: int, bound: int, prices: PricesNow | None = None) -> None:
        if self._report is not None:
            name = self._aims[place].name
            self._report(Progress(name, self._ids, self._values[name], bound, time.monotonic() - self._started, prices))
