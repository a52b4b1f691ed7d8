"""The rules, one file each: what each means, how it judges a sequence, and what it asks of the model.

Every module of this folder that defines a ``Rule`` is found here; its numbers get their key in the language.
"""

from __future__ import annotations

from importlib import import_module
from pkgutil import iter_modules

from sequencer.plan.sequence import Laid
from sequencer.rules.base import Rule
from sequencer.rules.counting import CountingRule
from sequencer.rules.verdict import NAMES, Ungranted
from sequencer.scenario.rules_schema import rebuild

for _module in iter_modules(__path__):
    import_module(f"{__name__}.{_module.name}")


def _kinds(base: type[Rule]) -> list[type[Rule]]:
    return [kind for each in base.__subclasses__() for kind in (each, *_kinds(each)) if hasattr(kind, "number")]


RULES: tuple[Rule, ...] = tuple(sorted((kind() for kind in _kinds(Rule)), key=lambda rule: (rule.number, rule.place, rule.name)))
"""Every rule, in the order of the design."""

COUNTING: tuple[CountingRule, ...] = tuple(rule for rule in RULES if isinstance(rule, CountingRule))


def rule(key: str) -> Rule:
    """The rule with this key in the language."""
    return next(each for each in RULES if each.key == key)


NAMES.update((each.number, each.name) for each in RULES)
for _rule in RULES:
    if _rule.numbers is not None and _rule.key:
        for _level in filter(None, (_rule.level, _rule.of_cohorts)):
            _level.register(_rule.key, _rule.numbers, _rule.described or f"Rule {_rule.number}, {_rule.name}.")
rebuild()


def ungranted(laid: Laid) -> tuple[Ungranted, ...]:
    """Every wish that a sequence does not grant, in the order of the rules."""
    return tuple(wish for each in RULES for wish in each.wishes(laid))
