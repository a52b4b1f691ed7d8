"""The narrowest wins: rule numbers of scenario, class, unit, lesson and the class's word on a lesson, merged."""

from __future__ import annotations

from sequencer.scenario.rules_schema import LessonRules, RuleNumbers


class Resolved:
    """The rules that apply to one lesson: levels from widest to narrowest, merged number by number."""

    def __init__(self, *levels: LessonRules | None) -> None:
        self._levels = [level for level in levels if level is not None]

    def on(self, rule: str) -> bool:
        """Whether the rule holds: the narrowest level that states it decides; on when none does."""
        stated = self._stated(rule)
        return not stated[-1].off if stated else True

    def number(self, rule: str, name: str) -> object:
        """The number stated at the narrowest level, None when none states it."""
        numbers = [getattr(numbers, name) for numbers in self._stated(rule)]
        return next((number for number in reversed(numbers) if number is not None), None)

    def whole(self, rule: str, name: str, default: int) -> int:
        """A whole number with its default."""
        number = self.number(rule, name)
        return number if isinstance(number, int) else default

    def limit(self, rule: str, name: str) -> int | None:
        """A whole number that is unlimited unless stated."""
        number = self.number(rule, name)
        return number if isinstance(number, int) else None

    def wish(self, rule: str) -> int:
        """The weight of the rule as a preference, 0 where it is hard."""
        return self.whole(rule, "wish", 0)

    def wished(self, rule: str, name: str) -> int | None:
        """A number wished beside the hard ones, the narrowest; None where there is none, or it or the rule is off."""
        stated = [numbers.wished for numbers in self._stated(rule) if numbers.wished is not None]  # type: ignore[attr-defined]
        if not self.on(rule) or not stated or stated[-1].off:
            return None
        return next((number for level in reversed(stated) if (number := getattr(level, name)) is not None), None)

    def _stated(self, rule: str) -> list[RuleNumbers]:
        return [numbers for level in self._levels if (numbers := getattr(level, rule)) is not None]
