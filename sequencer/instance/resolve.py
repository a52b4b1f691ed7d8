"""The narrowest wins: rule numbers of scenario, class, unit, lesson and the class's word on a lesson, merged."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache, lru_cache
from typing import Any

from sequencer.scenario.rules_schema import ClassRules, RuleKeys, RuleNumbers


class RulesInForce:
    """The numbers of each rule that holds in one place, by the rule's key; None for a rule that is switched off."""

    def __init__(self, numbers: dict[str, Any]) -> None:
        self._numbers = numbers
        self._all = tuple(numbers.values())

    def __getitem__(self, key: str) -> Any:
        return self._numbers[key]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, RulesInForce) and self._all == other._all

    def __hash__(self) -> int:
        return hash(self._all)


class Resolved:
    """The rules that apply to one lesson or class: levels from widest to narrowest, merged number by number."""

    def __init__(self, *levels: RuleKeys | None, keys_of: type[RuleKeys] = ClassRules) -> None:
        self._levels = [level for level in levels if level is not None]
        self._keys_of = keys_of

    def in_force(self, keys: Iterable[str], but: Iterable[str] = ()) -> RulesInForce:
        """The numbers of these rules as they hold; some are off, whatever is stated."""
        return _in_force(self._keys_of, tuple(self._levels), tuple(keys), tuple(but))

    def numbers(self, rule: str) -> Any:
        """The rule's numbers as they hold, each that nothing states as it is unless stated; None where the rule is off.

        Of a rule that lists what it asks for the narrowest list holds.
        """
        stated = self._stated(rule)
        if stated and isinstance(stated[-1], tuple):
            return stated[-1]
        if not stated:
            return _unstated(self._keys_of, rule)
        return None if stated[-1].off else _merged(stated)

    def on(self, rule: str) -> bool:
        """Whether the rule holds: the narrowest level that states it decides; on when none does."""
        stated = self._stated(rule)
        return not stated[-1].off if stated else True

    def number(self, rule: str, name: str) -> Any:
        """A number as the narrowest level states it, whether or not the rule is off; None when none does."""
        numbers = [getattr(numbers, name) for numbers in self._stated(rule)]
        return next((number for number in reversed(numbers) if number is not None), None)

    def _stated(self, rule: str) -> list[Any]:
        return [numbers for level in self._levels if (numbers := getattr(level, rule, None)) is not None]


@lru_cache(maxsize=4096)
def _in_force(keys_of: type[RuleKeys], levels: tuple[RuleKeys, ...], keys: tuple[str, ...], but: tuple[str, ...]) -> RulesInForce:
    """Many lessons share their levels."""
    resolved = Resolved(*levels, keys_of=keys_of)
    return RulesInForce({key: None if key in but else resolved.numbers(key) for key in keys})


@cache
def _unstated(keys_of: type[RuleKeys], rule: str) -> Any:
    """What holds of a rule that nothing states."""
    numbers = keys_of.numbers_of(rule)
    return numbers.model_construct(**numbers.usual) if numbers is not None else ()


def _merged(stated: list[RuleNumbers]) -> RuleNumbers:
    """Each number as the narrowest of the levels that state it has it."""
    numbers = type(stated[-1])
    found: dict[str, Any] = {}
    for name in numbers.model_fields:
        values = [value for level in stated if (value := getattr(level, name)) is not None]
        if values and isinstance(values[-1], RuleNumbers):
            found[name] = None if values[-1].off else _merged(values)
        elif values:
            found[name] = values[-1]
    return numbers.model_construct(**{**numbers.usual, **found})
