"""The best values by an integer programme: one binary variable for each lesson, first slot and way of teaching."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from tests.crosscheck.chosen_rows import ChosenRows
from tests.crosscheck.class_rows import ClassRows
from tests.crosscheck.facts import Facts
from tests.crosscheck.joint_rows import JointRows
from tests.crosscheck.linear_aims import aim_expression
from tests.crosscheck.quota_rows import quota_rows
from tests.crosscheck.rows import Expression, Rows, plus, total


def _shared_things(rows: Rows, facts: Facts, classes: Sequence[ClassRows]) -> None:
    users: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for each in classes:
        for number, slot in enumerate(each.slots):
            for thing in facts.shared:
                holding = each.holding(number, lambda y, thing=thing: y.place and thing in y.needs)
                users[thing, slot.day, slot.period] += holding
    for (thing, *_), variables in users.items():
        rows.at_most(total(variables), facts.shared[str(thing)][0])


def rows_of(facts: Facts, rows: Rows | None = None) -> tuple[Rows, list[ChosenRows], JointRows, Expression]:
    """The rows of every rule, beside others where some are given, and what teachers' wished quotas cost.

    Raises
    ------
    CannotState
        When the scenario holds a rule that these rows do not express.
    """
    rows = rows if rows is not None else Rows()
    classes = [ChosenRows(rows, facts, group) for group in facts.classes]
    _shared_things(rows, facts, classes)
    wished: Expression = {}
    for quota in facts.teacher_quotas:
        taught = [slot for each in classes for slot in each.slots if slot.teacher == quota["teacher"]]
        wished |= quota_rows(rows, facts, quota, taught, lambda slot: [v for each in classes for v in each.live(slot)])
    return rows, classes, JointRows(rows, facts, classes), wished


def best_values(facts: Facts, aims: int = 1, seconds: float = 120) -> tuple[int, ...] | None:
    """The best values of the first aims, settled one after another; None when there is no sequence.

    Raises
    ------
    CannotState
        When the scenario holds a rule that these rows do not express.
    TimeoutError
        When HiGHS proves nothing in time.
    """
    rows, classes, joint, wished = rows_of(facts)
    found = []
    for aim in facts.aims[:aims]:
        by_class = (aim_expression(each, aim) for each in classes)
        expression = joint.even_week() if aim == "even week" else plus(*((1, part) for part in by_class))
        if aim == "wishes":
            expression = plus((1, expression), (1, wished), (1, joint.wished))
        value = rows.minimum(expression, seconds)
        if value is None:
            assert not found, "an aim was settled, so there is a sequence"
            return None
        found.append(value)
        rows.at_most(expression, value)
    return tuple(found)
