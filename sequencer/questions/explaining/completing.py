"""Whether part of a sequence, made by hand, can be completed; and how far a whole one is from the best."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from sequencer.instance.build import build_instance
from sequencer.instance.facts import Instance
from sequencer.plan.differences import Standing
from sequencer.plan.sequence import Sequence
from sequencer.questions.explaining.explain import ExplainSettings, Explanation, explain
from sequencer.questions.explaining.spread_out import pinned_to
from sequencer.questions.judge import Breach, judge
from sequencer.questions.solve import Answer, SolveSettings, solve
from sequencer.scenario.changes.edits import edited
from sequencer.scenario.schema import Scenario
from sequencer.solver.solver_calls import StopSignal


@dataclass(frozen=True)
class Completion:
    """What comes of completing a sequence.

    Parameters
    ----------
    answer, explanation
        The best sequence that keeps every lesson given where it is, or what keeps it from being completed, the dates and periods
        given among the statements; None where a lesson is given twice, or for a period in which its class does not meet.
    breaches
        Rules that the lessons break where they are given, whatever is placed beside them: with such it cannot be completed.
    """

    answer: Answer | None
    explanation: Explanation | None
    breaches: tuple[Breach, ...] = ()


def complete(scenario: Scenario, sequence: Sequence, seconds: float = 30.0, stop: StopSignal | None = None) -> Completion:
    """The best way to complete some or all of a sequence, or why there is none; each of the two may take so many seconds.

    Lessons that patterns make stay where they are given as far as the others allow (``Answer.disruption`` counts those that
    do not): no statement of the scenario puts them anywhere.
    """
    times = Counter(placement.lesson for placement in sequence.placements)
    if sequence.strays or any(count > 1 for count in times.values()):
        return Completion(None, None)
    kept = pinned(scenario, sequence)
    answer = solve(kept, SolveSettings(seconds=seconds), stop=stop, standing=_made(build_instance(kept), sequence) or None)
    if answer.sequence is not None:
        # A date that is given stands in the place of the lesson's own, so the scenario as it stands has the last word.
        verdict = judge(build_instance(scenario), answer.sequence)
        return Completion(answer, None, tuple(breach for breach in verdict.breaches if not breach.past))
    if answer.status != "infeasible":
        return Completion(answer, None)
    return Completion(answer, explain(kept, ExplainSettings(seconds, conflicts=1, repairs=1), stop))


def _made(instance: Instance, sequence: Sequence) -> Standing:
    """Where the lessons made by patterns are given."""
    found = {}
    for placement in sequence.placements:
        lesson = instance.lessons[placement.lesson]
        if lesson.made is not None and lesson.delivered is None:
            slot = instance.slots_for(lesson)[placement.slot]
            found[placement.lesson] = (slot.date, slot.period)
    return found


def pinned(scenario: Scenario, sequence: Sequence) -> Scenario:
    """The scenario in which the lessons of a sequence lie where it has them; made lessons and those delivered aside."""
    instance = build_instance(scenario)
    edits = []
    for placement in sequence.placements:
        lesson = instance.lessons[placement.lesson]
        if lesson.delivered is not None or lesson.made is not None:
            continue
        edits.append(pinned_to(scenario, lesson, instance.slots_for(lesson)[placement.slot]))
    return edited(scenario, edits)
