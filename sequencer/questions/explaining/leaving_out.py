"""The fewest lessons without which all else that a scenario states can hold."""

from __future__ import annotations

from sequencer.plan.sequence import Laid
from sequencer.questions.solve import SolveSettings, solve
from sequencer.scenario.changes.edits import Edit, edited
from sequencer.scenario.class_schema import ClassLesson
from sequencer.scenario.schema import Scenario
from sequencer.solver.solver_calls import StopSignal
from sequencer.words import LEFT_OUT, OPTIMAL

MOST_PRIORITY = 1000
"""What leaving out a lesson counts that may not be left out, where others count 1."""


def fewest_left_out(
    scenario: Scenario, settings: SolveSettings, stop: StopSignal, kept: tuple[str, str] | None = None
) -> tuple[list[tuple[str, str]], bool] | None:
    """The lessons, by class and ``unit/lesson``, as the product's own aim finds them, and whether these are proven to be fewest.

    None where there was no time.

    Parameters
    ----------
    kept
        A lesson that is not to be one of them.
    """
    edits = []
    for place, unit in enumerate(scenario.units):
        for number, lesson in enumerate(unit.lessons):
            path = ("units", place, "lessons", number)
            edits += [Edit((*path, "optional"), True), Edit((*path, "priority"), 1 if lesson.optional else MOST_PRIORITY)]
    if kept is not None:
        edits.append(_kept(scenario, *kept))
    softened = edited(scenario, edits).model_copy(update={"aims": (LEFT_OUT,)})
    answer = solve(softened, settings, stop=stop)
    if answer.sequence is None:
        return None
    laid = Laid(answer.instance, answer.sequence)
    left_out = [
        (answer.instance.class_of(facts).id, f"{facts.unit}/{facts.role}")
        for facts in answer.instance.lessons
        if not laid.placed(facts.index)
    ]
    return left_out, answer.status == OPTIMAL


def _kept(scenario: Scenario, class_id: str, ref: str) -> Edit:
    """What keeps a class from leaving out a lesson."""
    place = next(place for place, each in enumerate(scenario.classes) if each.id == class_id)
    own = scenario.classes[place].lessons
    stated = own.get(ref) or own.get(ref.partition("/")[2]) or ClassLesson()
    return Edit(("classes", place, "lessons", ref), stated.model_copy(update={"optional": False}))
