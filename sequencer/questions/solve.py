"""Settings in, answer out: status, sequence, every aim with its bound, the referee's verdict, run facts."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache, partial
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING

from sequencer.errors import RefereeDisagrees, UnusableSettings
from sequencer.instance.build import build_instance
from sequencer.instance.facts import Instance
from sequencer.plan.differences import MoveWeights, Standing
from sequencer.plan.notes import bank_holiday_notes, delay_notes, distance_notes, kit_notes, remote_notes
from sequencer.plan.sequence import Laid, Sequence, joined
from sequencer.questions.alternatives import (
    ALTERNATIVES_WORKERS,
    KEPT_FOR_ALTERNATIVES,
    Alternative,
    Further,
    check_wanted,
    find_alternatives,
)
from sequencer.questions.judge import Verdict, judge
from sequencer.questions.more_worth import MoreWorth, more_worth
from sequencer.questions.plain_reasons import plain_reasons, unheard_density, unheard_wishes, unpractised
from sequencer.rules import RULES
from sequencer.scenario.schema import Scenario
from sequencer.solver.aim_search import MOST_TOGETHER, GroupResult, GroupSearch
from sequencer.solver.apart import ClassesApart, parts_of
from sequencer.solver.chain.aims_by_periods import by_periods
from sequencer.solver.deadline import Deadline, OutOfTime
from sequencer.solver.model import ClassesModel, Prepared, build_model, coupled_classes, prepare
from sequencer.solver.prices import many_classes
from sequencer.solver.progress import Progress
from sequencer.solver.solver_calls import EFFORT_PER_SECOND, Budget, Calls, StopSignal, share_of_next
from sequencer.solver.sought import SequenceSought
from sequencer.words import DISRUPTION, FEASIBLE, INFEASIBLE, OPTIMAL, UNKNOWN

if TYPE_CHECKING:
    from sequencer.solver.prices.elsewhere import AskMany
    from sequencer.solver.prices.many import ManyClasses


@dataclass(frozen=True)
class SolveSettings:
    """How a scenario is solved: in so many seconds of wall-clock time, over all aims.

    Parameters
    ----------
    workers
        Number of the solver's searches; the answer depends on it, not on the machine's cores.
    effort
        Limit on the solver's own count of its work (its deterministic time), over all aims once a first sequence is found; what
        an ordinary machine does in somewhat less than the seconds allowed unless stated.
    alternatives, loss
        How many further sequences are looked for that are as good on every aim and as different as can be, for which a third of
        the time and effort left after a first sequence is kept; and how much worse an aim may be in them, only for the last aims.
    """

    seconds: float = 30.0
    seed: int = 0
    workers: int = 3
    effort: float | None = None
    alternatives: int = 0
    loss: Mapping[str, int] = field(default_factory=dict)

    def shortened(self, share: float) -> SolveSettings:
        """These settings with a share of the time and all of the effort, so that only the clock can change the answer."""
        effort = self.seconds * EFFORT_PER_SECOND if self.effort is None else self.effort
        return replace(self, seconds=self.seconds * share, effort=effort)


@dataclass(frozen=True)
class AimResult:
    """One aim of an answer: the value reached, and the bound below which none is possible; ``proven`` where the two are equal.

    Both are None when there is no sequence, the bound of one that was handed in, too. A ``conditional`` bound holds only for the
    values reached on earlier aims, because one of them is not proven.
    """

    aim: str
    value: int | None
    bound: int | None
    proven: bool
    conditional: bool


@dataclass(frozen=True)
class RunFacts:
    """How an answer came about; everything that may differ from run to run is here.

    Parameters
    ----------
    stopped_by
        What cut the search short: ``hand``, ``time`` (the wall clock), ``effort`` (the solver's own count of its work, which does
        not depend on the machine), or None.
    repeatable
        Whether the same scenario, settings and version give the same answer: false when the wall clock or a hand cut it.
    """

    seconds: float
    build_seconds: float
    seed: int
    workers: int
    repeatable: bool
    stopped_by: str | None
    version: str
    solver: str


@dataclass(frozen=True)
class Answer:
    """The answer to a scenario: one of the four statuses, and with a sequence its aims and verdict.

    Parameters
    ----------
    alternatives, further
        Further sequences as good as this one, or within the loss allowed, in the order found, each as different as can be from
        all before it; and what was asked for beyond the best sequence, None when nothing was or there is no sequence.
    disruption
        How many lessons do not lie where they were to stay, which comes before every aim; None where none was to stay.
    planned
        Whether the sequence was handed in, so that nothing is known of what would be best.
    more_worth
        What more of something that classes share would be worth at most, where that was looked into.
    """

    instance: Instance
    status: str
    sequence: Sequence | None
    aims: tuple[AimResult, ...]
    verdict: Verdict | None
    notes: tuple[str, ...]
    run: RunFacts = field(compare=False)
    alternatives: tuple[Alternative, ...] = ()
    further: Further | None = None
    disruption: AimResult | None = None
    planned: bool = False
    more_worth: tuple[MoreWorth, ...] = ()


def solve(
    scenario: Scenario,
    settings: SolveSettings | None = None,
    progress: Callable[[Progress], None] | None = None,
    stop: StopSignal | None = None,
    standing: Standing | None = None,
    weights: MoveWeights | None = None,
    most_moved: int | None = None,
    elsewhere: AskMany | None = None,
) -> Answer:
    """The best sequence for a scenario, aim by aim in the scenario's order.

    Parameters
    ----------
    progress
        Called with every improvement, from the solver's threads.
    stop
        A signal by which another thread ends the search, keeping the best sequence so far.
    standing
        Where lessons are to stay: as few as can be lie elsewhere, and every aim comes after that.
    weights
        What it costs to move a lesson; one each unless stated.
    most_moved
        How many lessons may lie elsewhere than where they are to stay; then the aims come first, and among sequences that are
        best on them as little moves as can be.
    elsewhere
        Asks classes that share rules elsewhere, as on other machines; the answer is the same.

    Raises
    ------
    UnusableSettings
        When alternatives or a loss are asked for that cannot be.
    RefereeDisagrees
        When the referee rejects a sequence, or counts an aim differently: a defect of this package.
    """
    settings = settings or SolveSettings()
    stop = stop or StopSignal()
    began = time.monotonic()
    instance = build_instance(scenario)
    check_wanted(settings.alternatives, settings.loss, instance.aims)
    notes = [cut for rule in RULES for cut in rule.cuts(instance)] + unpractised(instance)
    notes += unheard_wishes(instance) + unheard_density(instance)
    if standing is not None and settings.alternatives:
        raise UnusableSettings(["alternatives cannot be asked for where lessons are to stay"])
    groups = coupled_classes(instance)
    if most_moved is not None:
        # The number that may move is one for all classes.
        groups = (tuple(range(len(instance.classes))),)
    effort = settings.seconds * EFFORT_PER_SECOND if settings.effort is None else settings.effort
    budget = Budget(began + settings.seconds, effort)
    deadline = Deadline(budget.ends, lambda: stop.by if stop.stopped else None)
    searches: list[GroupSearch[Sequence] | ManyClasses] = []
    found, building, cut = True, 0.0, None
    try:
        prepared = prepare(instance, standing is None, deadline)
        building = time.monotonic() - began

        # A first sequence for every group before any aim is made small: one hard class must not leave the others without.
        for group in groups:
            build_began = time.monotonic()
            build = partial(build_model, prepared, standing=standing, weights=weights, deadline=deadline)
            few = sum(len(instance.classes[each].lessons) for each in group) <= MOST_TOGETHER
            # What a few classes in step come to together says more than each of them; many of them would be too large a part.
            in_step = parts_of(group, instance) if few else ()
            parts = in_step if len(in_step) > 1 else tuple((each,) for each in group)
            if len(parts) > 1 and most_moved is None:
                alone = [_alone(prepared, build(part), settings, stop) for part in parts]
                apart = ClassesApart(tuple(alone))
                searches.append(many_classes(prepared, apart, build, settings.seed, settings.workers, stop, progress, elsewhere))
            else:
                model = build(group, most_moved=most_moved)
                sought, periods = SequenceSought(model), by_periods(prepared, model, stop, settings.workers)
                searches.append(GroupSearch(sought, settings.seed, settings.workers, stop, progress, periods=periods))
            building += time.monotonic() - build_began
            found = searches[-1].begin(budget)
            if not found:
                break
    except OutOfTime as over:
        found, cut = False, over.by
    if not found:
        # Nothing is gained by making the other groups' aims small.
        impossible = cut is None and searches[-1].impossible
        status = INFEASIBLE if impossible else UNKNOWN
        reasons = plain_reasons(instance) if impossible else []
        cuts = [cut, *(search.calls.stopped_by for search in searches)]
        clocked = cut is not None or any(search.calls.clocked for search in searches)
        run = _run_facts(settings, began, building, cuts, clocked)
        unknown = tuple(AimResult(name, None, None, False, False) for name in instance.aims)
        return Answer(instance, status, None, unknown, None, (*notes, *reasons), run)

    stop.holding = True
    results: list[GroupResult[Sequence]] = []
    with budget.lent(1 - KEPT_FOR_ALTERNATIVES if settings.alternatives else 1) as for_aims:
        for place, search in enumerate(searches):
            with for_aims.lent(share_of_next(len(searches) - place)) as own:
                results.append(search.settle(own))
    sequence = joined(result.sequence for result in results)
    verdict = judge(instance, sequence)
    first = standing is not None and most_moved is None
    names = (*(DISRUPTION,) * first, *instance.aims, *(DISRUPTION,) * (most_moved is not None))
    settled = tuple(_aim_result(name, place, results) for place, name in enumerate(names))
    disruption = next((aim for aim in settled if aim.aim == DISRUPTION), None)
    aims = tuple(aim for aim in settled if aim is not disruption)
    _agree(verdict, aims)
    status = OPTIMAL if all(aim.proven for aim in settled) else FEASIBLE

    calls = Calls(settings.seed, ALTERNATIVES_WORKERS, stop)
    alternatives: tuple[Alternative, ...] = ()
    further = None
    if settings.alternatives:
        asked = Further(settings.alternatives, dict(settings.loss), none_left=False)
        alternatives, further = find_alternatives(prepared, groups, results, sequence, asked, budget, calls, progress)
    cuts = [*(search.calls.stopped_by for search in searches), calls.stopped_by]
    run = _run_facts(settings, began, building, cuts, calls.clocked or any(search.calls.clocked for search in searches))
    laid = Laid(instance, sequence)
    notes += laid_notes(laid)
    worth = more_worth(result.stages[place] for place in range(len(names)) for result in results)
    return Answer(
        instance, status, sequence, aims, verdict, tuple(notes), run, alternatives, further, disruption, more_worth=worth
    )  # fmt: skip


def _alone(prepared: Prepared, model: ClassesModel, settings: SolveSettings, stop: StopSignal) -> GroupSearch[Sequence]:
    """The search of some classes that are planned apart from others."""
    periods = by_periods(prepared, model, stop, priced=True)
    return GroupSearch(SequenceSought(model), settings.seed, settings.workers, stop, periods=periods)


def laid_notes(laid: Laid) -> tuple[str, ...]:
    """What there is to say of a sequence beyond its rules and aims."""
    return (
        *bank_holiday_notes(laid),
        *remote_notes(laid),
        *delay_notes(laid),
        *distance_notes(laid.instance),
        *kit_notes(laid.instance),
    )


def check(scenario: Scenario, sequence: Sequence) -> Verdict:
    """The referee's judgement of any sequence against a scenario."""
    return judge(build_instance(scenario), sequence)


def _run_facts(settings: SolveSettings, began: float, building: float, cuts: list[str | None], clocked: bool) -> RunFacts:
    stopped_by = next((cut for cut in ("hand", "time", "effort") if cut in cuts), None)
    return RunFacts(
        seconds=round(time.monotonic() - began, 3),
        build_seconds=round(building, 3),
        seed=settings.seed,
        workers=settings.workers,
        repeatable=stopped_by in (None, "effort") and not clocked,
        stopped_by=stopped_by,
        version=package_version("unit-sequencer"),
        solver=f"OR-Tools CP-SAT {package_version('ortools')}",
    )


def _aim_result(name: str, place: int, results: list[GroupResult[Sequence]]) -> AimResult:
    stages = [result.stages[place] for result in results]
    value, bound = sum(stage.value for stage in stages), sum(stage.bound for stage in stages)
    return AimResult(name, value, bound, value == bound, any(stage.conditional for stage in stages))


def _agree(verdict: Verdict, aims: tuple[AimResult, ...]) -> None:
    if not verdict.sound:
        raise RefereeDisagrees("; ".join(breach.message for breach in verdict.breaches))
    for aim in aims:
        if verdict.aims[aim.aim] != aim.value:
            raise RefereeDisagrees(f"{aim.aim}: the model counts {aim.value}, the referee {verdict.aims[aim.aim]}")


@cache
def package_version(package: str) -> str:
    """The version of an installed package."""
    try:
        return version(package)
    except PackageNotFoundError:
        return "unknown"
