"""A way out that is found in haste: the fewest lessons without which all else can hold; and any way out made smaller.

Parts that it does without are dropped, and the others turned back as far as can be.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from sequencer.plan.sequence import Laid
from sequencer.questions.explaining.known_conflicts import DialKey
from sequencer.questions.solve import SolveSettings, solve
from sequencer.scenario.changes.edits import Edit, edited
from sequencer.scenario.class_schema import ClassLesson
from sequencer.scenario.schema import Scenario
from sequencer.solver.solver_calls import StopSignal
from sequencer.words import LEFT_OUT, OPTIMAL

Works = Callable[[Mapping[DialKey, int]], bool]
"""Whether a choice makes the scenario possible; that it does not is also said when it was not settled, or the time is over."""

MOST_PRIORITY = 1000
"""What leaving out a lesson counts that may not be left out, where others count 1."""


def fewest_left_out(
    scenario: Scenario, settings: SolveSettings, stop: StopSignal, kept: tuple[str, str] | None = None
) -> tuple[list[tuple[str, str]], bool] | None:
    """The lessons, by class and ``unit/lesson``, as the product's own aim finds them, and whether these are proven to be fewest.

    None where there was no time; a lesson that is to be ``kept`` is none of them.
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


def without_needless_parts(
    turned: Mapping[DialKey, int], price: Callable[[DialKey, int], int], works: Works
) -> dict[DialKey, int]:
    """The choice without what it does not need: dials left alone, many at a time first, the dearest first."""
    kept = dict(turned)
    size = len(kept)
    while size > 1:
        size = -(-size // 2)
        order = sorted(kept, key=lambda dial: (-price(dial, kept[dial]), dial))
        for start in range(0, len(order), size):
            fewer = {dial: steps for dial, steps in kept.items() if dial not in order[start : start + size]}
            if fewer and len(fewer) < len(kept) and works(fewer):
                kept = fewer
    return kept


def turned_back(turned: Mapping[DialKey, int], works: Works) -> dict[DialKey, int]:
    """The choice with no dial turned further than by the least number of steps that will do for all."""
    most = max(turned.values())
    together = _least(most, lambda steps: works({dial: min(steps, own) for dial, own in turned.items()}))
    return {dial: min(together, own) for dial, own in turned.items()}


def each_turned_back(turned: Mapping[DialKey, int], works: Works) -> dict[DialKey, int]:
    """The choice with each dial turned no further than it must be beside the others."""
    kept = dict(turned)
    for dial in turned:
        kept[dial] = _least(kept[dial], lambda steps, dial=dial: works({**kept, dial: steps}))  # type: ignore[misc]
    return kept


def _least(most: int, enough: Callable[[int], bool]) -> int:
    """The least number from 1 on that is enough, where the most is, and so is whatever is more than enough."""
    low, high = 1, most
    while low < high:
        middle = (low + high) // 2
        if enough(middle):
            high = middle
        else:
            low = middle + 1
    return high
