"""What rules ask of several classes at once, posted by itself: no model of all classes is made for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ortools.sat.python import cp_model

from sequencer.aims import BY_NAME
from sequencer.aims.base import CostTerm, Objective
from sequencer.instance.facts import Instance
from sequencer.rules import RULES
from sequencer.rules.base import Rule
from sequencer.rules.counting import Count
from sequencer.solver.model import Prepared
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Literal, PostedStatement, Posting
from sequencer.solver.variables import Variables
from sequencer.words import WISHES


class SharedRules(Parts):
    """Where lessons of classes can start, and only the rules that look at several of them, but for parallel classes in step."""

    def keep_count(self, rule: int, count: Count) -> None:
        if len(count.classes) > 1:
            super().keep_count(rule, count)

    def count_costs(self, rule: int, count: Count) -> Iterator[CostTerm]:
        if len(count.classes) > 1:
            yield from super().count_costs(rule, count)

    def aims(self) -> dict[str, Objective]:
        """By name what several classes pay together of an aim; all that is paid of one that is no sum over classes."""
        found = {}
        for name in self.instance.aims:
            if not BY_NAME[name].summed:
                found[name] = BY_NAME[name].cost(self)
            elif name == WISHES:
                found[name] = Objective(name, tuple(term for rule in sharing(self.instance) for term in rule.costs(self)))
        return found


def shared_rules(prepared: Prepared, classes: tuple[int, ...]) -> SharedRules:
    """The rules that look at several of these classes, posted."""
    posting = _QuietAtFirst()
    variables = Variables(posting, prepared.instance, prepared.domains, classes)
    posting.quiet, posting.named = False, True
    parts = SharedRules(
        prepared.instance, prepared.days, posting, variables, (), (), (), (), (), (), prepared.order
    )  # fmt: skip
    for rule in sharing(prepared.instance):
        rule.post(parts)
    return parts


def sharing(instance: Instance) -> list[Rule]:
    """The rules that look at several classes."""
    return [rule for rule in RULES if any(len(set(classes)) > 1 for classes in rule.couples(instance))]


class _QuietAtFirst(Posting):
    """While it is quiet, nothing is asked of variables: each class's own model asks it."""

    quiet = True

    def clause(self, statement: PostedStatement, *literals: Literal) -> None:
        if not self.quiet:
            super().clause(statement, *literals)

    def linear(self, statement: PostedStatement, constraint: cp_model.BoundedLinearExpression | bool) -> None:
        if not self.quiet:
            super().linear(statement, constraint)

    def exactly_one(self, statement: PostedStatement, literals: Iterable[Literal]) -> None:
        if not self.quiet:
            super().exactly_one(statement, literals)
