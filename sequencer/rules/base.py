"""What a rule is: its key and numbers in the language, how it judges a sequence, and what it asks of the model.

A rule is one file of this folder (see the README beside). Judging is plain Python over a sequence laid out; posting speaks to
the model through what it offers (``solver/parts.py``), so that no rule imports the solver.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, ClassVar

from sequencer.instance.facts import ClassFacts, CohortFacts, Instance, LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.rules.verdict import Breach, Ungranted
from sequencer.scenario.rules_schema import ClassRules, CohortRules, LessonRules, RuleEntry, RuleNumbers

LESSON, CLASS = LessonRules, ClassRules
"""Where a rule's numbers may stand: down to a single lesson, or for a class or the whole scenario only."""


class Rule:
    """One rule of the design.

    Its docstring says exactly what it means, in plain English: the README's table and ``rules NAME`` print it.
    """

    number: ClassVar[int]
    """Its number in the design."""
    place: ClassVar[int] = 0
    """Its place among the rules of that number."""
    name: ClassVar[str]
    """What a verdict calls it."""
    key: ClassVar[str] = ""
    """Its key in the language; empty where it has none of its own."""
    level: ClassVar[type[LessonRules]] = CLASS
    of_cohorts: ClassVar[type[CohortRules] | None] = None
    """Where numbers of a cohort may stand, for a rule that counts over one."""
    numbers: ClassVar[type[RuleNumbers | RuleEntry] | None] = None
    """Its numbers, as a user writes them; of a rule that lists what it asks for, those of an entry."""
    described: ClassVar[str] = ""
    """What its key is for, in a sentence; its number and name unless said."""

    def judge(self, laid: Laid) -> Iterator[Breach]:
        """Where a sequence breaks the rule."""
        yield from ()

    def wishes(self, laid: Laid) -> Iterator[Ungranted]:
        """What a sequence does not grant of the rule where it is wished; of some classes what looks at no other class."""
        yield from ()

    def post(self, model: Any) -> None:
        """Ask of the model what the rule demands."""

    def costs(self, model: Any) -> Iterator[Any]:
        """What it costs that the model does not grant what the rule wishes."""
        yield from ()

    def follow(self, chain: Any) -> None:
        """Ask of the programme over one class's periods what the rule demands there (``solver/chain``).

        Unless said it asks nothing: what is proven then still holds, but what is found may break the rule. What says all of the
        rule by the slots in which each lesson may start needs no asking.
        """

    def in_force(self, facts: LessonFacts | ClassFacts | CohortFacts) -> Any:
        """Its numbers for a lesson, a class or a cohort; None where it is off."""
        return facts.rules[self.key]

    def stated(self, facts: LessonFacts | ClassFacts | CohortFacts) -> Iterator[tuple[Any, int]]:
        """Its numbers here, and those wished beside them; each with the weight of the wish, 0 where hard."""
        numbers = self.in_force(facts)
        if numbers is not None:
            yield numbers, getattr(numbers, "wish", None) or 0
        beside = getattr(numbers, "wished", None)
        if beside is not None:
            yield beside, beside.weight or 1

    def cuts(self, instance: Instance) -> Iterator[str]:
        """What of its numbers was cut to what is there, in sentences."""
        yield from ()

    def couples(self, instance: Instance) -> Iterable[Iterable[int]]:
        """Classes that it looks at together, by their positions."""
        return ()
