"""An answer that shows a plan made before as it is: judged by the referee, with nothing looked for."""

from __future__ import annotations

from sequencer.errors import UnusableSettings
from sequencer.instance.build import build_instance
from sequencer.plan.sequence import Laid, Sequence
from sequencer.questions.judge import judge
from sequencer.questions.solve import AimResult, Answer, RunFacts, laid_notes, package_version
from sequencer.scenario.schema import Scenario
from sequencer.words import FEASIBLE


def as_planned(scenario: Scenario, sequence: Sequence) -> Answer:
    """The plan as an answer, each aim with its value and no bound: nothing is known of what would be best.

    Raises
    ------
    UnusableSettings
        When the plan breaks a rule, with every breach.
    """
    instance = build_instance(scenario)
    verdict = judge(instance, sequence)
    if not verdict.sound:
        raise UnusableSettings(
            [f"the plan breaks rule {each.rule}: {each.message}" for each in verdict.breaches if not each.past]
        )
    aims = tuple(AimResult(name, verdict.aims[name], None, False, False) for name in instance.aims)
    run = RunFacts(0.0, 0.0, 0, 0, True, None, package_version("unit-sequencer"), "as planned, nothing was looked for")
    return Answer(instance, FEASIBLE, sequence, aims, verdict, laid_notes(Laid(instance, sequence)), run, planned=True)
