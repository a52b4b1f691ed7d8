"""The shared opening by an independent two-stage integer programme, solved by HiGHS through SciPy.

First stage: what begins and what holds each period before the date that all futures have. Second stage: the rest of each future,
in rows of its own (``tests/crosscheck``, written from the rules and without a look at the model). Aim by aim the greatest loss is
made small and then the sum, or the weighted sum alone; a loss is a future's value less that of its own best, found by HiGHS too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from tests.crosscheck import milp
from tests.crosscheck.chosen_rows import ChosenRows
from tests.crosscheck.facts import Facts
from tests.crosscheck.linear_aims import aim_expression
from tests.crosscheck.rows import Expression, Rows, plus, total

FAR = 10_000
"""More than any loss: variables of these rows are never negative, so the greatest loss is counted from -FAR."""

Own = Mapping[str, tuple[int, ...]]
"""Each future's best values, aim by aim."""


@dataclass
class _Future:
    classes: list[ChosenRows]
    values: dict[str, Expression]


def own_best(futures: Mapping[str, Facts]) -> dict[str, tuple[int, ...]] | None:
    """Every future's best values; None where one has no sequence."""
    found = {name: milp.best_values(facts, len(facts.aims)) for name, facts in futures.items()}
    return {name: values for name, values in found.items() if values is not None} if None not in found.values() else None


def best_stages(
    futures: Mapping[str, Facts], own: Own, until: date, weights: Mapping[str, int] | None, seconds: float = 60
) -> list[int] | None:
    """What every stage comes to at best, in turn; None where no opening can be shared.

    Raises
    ------
    TimeoutError
        When HiGHS proves nothing in time.
    """
    rows = Rows()
    posted = {name: _posted(rows, facts) for name, facts in futures.items()}
    _begin_alike(rows, [each.classes for each in posted.values()], until)
    aims = next(iter(futures.values())).aims
    found = []
    for place, aim in enumerate(aims):
        losses = {name: plus((1, each.values[aim]), (1, {-1: -own[name][place]})) for name, each in posted.items()}
        stages: list[Expression] = []
        if weights is None:
            greatest = rows.variable(2 * FAR)
            for loss in losses.values():
                rows.at_most(plus((1, loss), (-1, {greatest: 1, -1: -FAR})), 0)
            stages.append({greatest: 1, -1: -FAR})
        stages.append(plus(*((weights[name] if weights else 1, loss) for name, loss in losses.items())))
        for expression in stages:
            value = rows.minimum(expression, seconds)
            if value is None:
                assert not found, "a stage was settled, so there is an opening"
                return None
            found.append(value)
            rows.at_most(expression, value)
    return found


def _posted(rows: Rows, facts: Facts) -> _Future:
    """The rows of one future, and its aims."""
    _, classes, joint, wished = milp.rows_of(facts, rows)
    values = {}
    for aim in facts.aims:
        expression = joint.even_week() if aim == "even week" else plus(*((1, aim_expression(each, aim)) for each in classes))
        values[aim] = plus((1, expression), (1, wished), (1, joint.wished)) if aim == "wishes" else expression
    return _Future(list(classes), values)


def _begin_alike(rows: Rows, futures: list[list[ChosenRows]], until: date) -> None:
    for same in zip(*futures, strict=True):
        numbers = [
            {(slot.day, slot.period): number for number, slot in enumerate(each.slots) if slot.day < until} for each in same
        ]
        common = set.intersection(*(set(each) for each in numbers))
        lessons = {key for each in same for key in each.starts}
        for period in common:
            for key in lessons:
                views = [_of(each, key, number[period]) for each, number in zip(same, numbers, strict=True)]
                for first, other in pairwise(views):
                    for one, two in zip(first, other, strict=True):
                        difference = plus((1, total(one)), (-1, total(two)))
                        rows.at_most(difference, 0)
                        rows.at_least(difference, 0)


def _of(each: ChosenRows, key: tuple[str, str, str], number: int) -> tuple[list[int], list[int]]:
    """Variables that the lesson begins in the slot, and that it holds it."""
    if key not in each.lessons:
        return [], []
    lesson = each.lessons[key]
    return each.placed(lesson, lambda start: start == number), each.holding(number, lambda other: other.key == key)
