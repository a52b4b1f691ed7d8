"""Whether a scenario has a sequence: the product's own reading, model and first search, and nothing else."""

from __future__ import annotations

import math
import time
from dataclasses import replace

from ortools.sat.python import cp_model

from sequencer.instance.build import build_instance
from sequencer.instance.facts import Instance
from sequencer.questions.explaining.in_turn import in_turn
from sequencer.questions.judge import judge
from sequencer.rules.week import WeekRule
from sequencer.scenario.schema import Scenario
from sequencer.solver.deadline import Deadline, OutOfTime
from sequencer.solver.model import Prepared, build_model, coupled_classes, prepare
from sequencer.solver.solver_calls import Budget, Calls, StopSignal, tune

WORKERS = 3

RELAXATIONS = ((0, 0.1), (2, 2.0))
"""One worker's linear relaxation and effort, one after the other, before several workers take turns: where little is stated
beside a count, a proof by counting is wanted, and only a strong relaxation counts (19 lessons, three a week: 1.4 s to 0.1 s)."""


class Clock:
    """The time that is left for explaining, shared by everything that searches; ``longest`` is the most for one question."""

    def __init__(self, seconds: float, longest: float, stop: StopSignal | None = None) -> None:
        self.began = time.monotonic()
        self.ends = self.began + seconds
        self.longest = longest
        self.stop = stop or StopSignal()
        self._kept = 0.0
        self.asked = 0
        """Questions asked of the search so far."""

    @property
    def over(self) -> bool:
        """Whether nothing more is to be begun."""
        return self.stop.stopped or time.monotonic() >= self.ends

    @property
    def elapsed(self) -> float:
        """Seconds since explaining began."""
        return time.monotonic() - self.began

    @property
    def left(self) -> float:
        """Seconds that are left."""
        return max(0.0, self.ends - time.monotonic())

    def hold_back(self, share: float) -> None:
        """Keep a share of what is left for later."""
        self._kept = self.left * share
        self.ends -= self._kept

    def release(self) -> None:
        """Give back what was kept."""
        self.ends += self._kept
        self._kept = 0.0

    def until(self) -> float:
        """When one question that is asked now must be answered."""
        return min(self.ends, time.monotonic() + self.longest)


def possible(scenario: Scenario, clock: Clock) -> bool | None:
    """Whether a scenario has a sequence; None when that was not settled in time."""
    if clock.over:
        return None
    clock.asked += 1
    try:
        return _possible(scenario, clock, Deadline(clock.until(), lambda: clock.stop.by if clock.over else None))
    except OutOfTime:
        return None


def _possible(scenario: Scenario, clock: Clock, deadline: Deadline) -> bool | None:
    instance = build_instance(scenario if scenario.aims == () else scenario.model_copy(update={"aims": ()}))
    if any(_too_few(instance, class_index) for class_index in range(len(instance.classes))):
        return False
    prepared = prepare(instance, deadline=deadline)
    domains = prepared.domains
    if any(not domains.starts[index] for index in domains.sure):
        return False
    sequence = in_turn(prepared)
    if sequence is not None and judge(instance, sequence).sound:
        return True
    ends = clock.until()
    fewer = _without_idle_lessons(prepared)
    settled = True
    for group in coupled_classes(instance):
        # A sequence without the lessons that nothing asks for is one too, and soon found; else all are looked at.
        if fewer is not None and _search(fewer, group, ends, clock, deadline):
            continue
        found = _search(prepared, group, ends, clock, deadline)
        if found is False:
            return False
        settled = settled and found is True
    return True if settled else None


def _search(prepared: Prepared, group: tuple[int, ...], ends: float, clock: Clock, deadline: Deadline) -> bool | None:
    """What the model says of some classes."""
    said: list[bool] = []

    def take(_: object, status: object) -> bool:
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE):
            said.append(status != cp_model.INFEASIBLE)
        return bool(said)

    model = build_model(prepared, group, deadline=deadline).parts.posting.model
    for level, effort in RELAXATIONS:
        solver = cp_model.CpSolver()
        tune(solver, 1, True)
        solver.parameters.linearization_level = level
        solver.parameters.max_deterministic_time = effort
        solver.parameters.max_time_in_seconds = max(0.0, ends - time.monotonic())
        if clock.over or take(solver, solver.solve(model)):
            return said[0] if said else None
    Calls(0, WORKERS, clock.stop).run(model, Budget(ends, math.inf), take, first=True)
    return said[0] if said else None


def _without_idle_lessons(prepared: Prepared) -> Prepared | None:
    """The same with no place for lessons that may be left out and serve none that may not; None where there are none."""
    instance, sure = prepared.instance, prepared.domains.sure
    kept = set(sure)
    for index in sure:
        lesson = instance.lessons[index]
        kept.update(lesson.practised_by if lesson.practice is not None else ())
        kept.update(lesson.revisited_by if lesson.retrievals else ())
    choosing = any(instance.lessons[index].chosen for index in sure)
    for lesson in instance.lessons:
        if lesson.delivered is not None or (choosing and lesson.chooses):
            kept.add(lesson.index)
    if len(kept) == len(instance.lessons):
        return None
    starts = tuple(found if index in kept else () for index, found in enumerate(prepared.domains.starts))
    return replace(prepared, domains=replace(prepared.domains, starts=starts))


def _too_few(instance: Instance, class_index: int) -> bool:
    """Whether the lessons that a class must be taught outnumber its periods, or what its weeks may hold."""
    facts = instance.classes[class_index]
    waiting = [lesson for index in facts.lessons if (lesson := instance.lessons[index]).certain and lesson.delivered is None]
    if sum(lesson.length for lesson in waiting) > sum(facts.usable):
        return True
    if not all(facts.usable):
        return False
    room: dict[str, int] = {}
    for count in WeekRule().counts(instance):
        if count.classes == (class_index,) and not count.wish and count.most is not None:
            room[count.what] = room.get(count.what, 0) + (
                min(count.most, len(count.slots)) if count.what == "lesson" else count.most
            )
    loads = sum(lesson.load for lesson in waiting)
    return len(waiting) > room.get("lesson", len(waiting)) or loads > room.get("load", loads)
