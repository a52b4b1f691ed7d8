"""What rules ask of several parts at once, posted by itself: no model of all classes is made for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from sequencer.aims import BY_NAME
from sequencer.aims.base import CostTerm, Objective
from sequencer.instance.facts import Instance
from sequencer.rules import RULES
from sequencer.rules.base import Rule
from sequencer.rules.counting import Count
from sequencer.solver.gaps import Limits
from sequencer.solver.model import Prepared
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Literal, PostedStatement, Posting
from sequencer.solver.variables import Variables
from sequencer.words import WISHES


@dataclass
class SharedRules(Parts):
    """Where lessons of classes can start, and only what rules ask of several parts, but for parallel classes in step.

    Parameters
    ----------
    part_of
        The part of each class. What looks at several classes of one part is that part's own.
    """

    part_of: Mapping[int, int] = field(default_factory=dict)

    def keep_count(self, rule: int, count: Count) -> None:
        if self._several(count.classes):
            super().keep_count(rule, count)

    def count_costs(self, rule: int, count: Count) -> Iterator[CostTerm]:
        if self._several(count.classes):
            yield from super().count_costs(rule, count)

    def apart_costs(self, rule: int, before: int, after: int, unit: str, limits: Limits, wish: int) -> Iterator[CostTerm]:
        if self._several(self.instance.lessons[each].class_index for each in (before, after)):
            yield from super().apart_costs(rule, before, after, unit, limits, wish)

    def _several(self, classes: Iterable[int]) -> bool:
        return len({self.part_of[each] for each in classes if each in self.part_of}) > 1

    def aims(self) -> dict[str, Objective]:
        """By name what several parts pay together of an aim; all that is paid of one that is no sum over classes."""
        found = {}
        for name in self.instance.aims:
            if not BY_NAME[name].summed:
                found[name] = BY_NAME[name].cost(self)
            elif name == WISHES:
                found[name] = Objective(name, tuple(term for rule in sharing(self.instance) for term in rule.costs(self)))
        return found


def shared_rules(prepared: Prepared, part_of: Mapping[int, int]) -> SharedRules:
    """What rules ask of several parts, posted, given the part of each class."""
    posting = _QuietAtFirst()
    variables = Variables(posting, prepared.instance, prepared.domains, tuple(sorted(part_of)))
    posting.quiet, posting.named = False, True
    parts = SharedRules(
        prepared.instance, prepared.days, posting, variables, (), (), (), (), (), (), prepared.order, part_of=part_of
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
