"""The rules for people: the table of all of them, and what one means exactly, from the rules' own words and numbers."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import fill
from typing import get_args

from pydantic import BaseModel

from sequencer.rules import RULES
from sequencer.rules.base import Rule
from sequencer.scenario.base_schema import BaseScenario, RepairCosts
from sequencer.scenario.numbers import numbers_of
from sequencer.scenario.rules_schema import LessonRules, RuleNumbers

WIDTH = 100


_DOWN_TO_A_LESSON = "the scenario, a class, a pattern, a unit, a lesson, or one class's lesson"
_OF_A_CLASS = "the scenario or a class"
_AT_THE_TOP = "the whole scenario"


@dataclass(frozen=True)
class RuleTold:
    """One rule for people: its number in the design, and what it means exactly, one sentence and paragraphs after it.

    The ``key`` is its own in the language, or that of the entries which ask for it; a word for it where it has none. ``numbers``
    is the model of its numbers, or of an entry; ``level`` says where its key may stand.
    """

    number: int
    key: str
    meaning: str
    numbers: type[BaseModel] | None = None
    level: str = ""

    @property
    def sentence(self) -> str:
        """What it demands, in one sentence."""
        first, stop, _ = " ".join(self.meaning.split()).partition(". ")
        return first + stop.strip()

    @property
    def written(self) -> str:
        """How it is written in the file."""
        if self.numbers is None:
            return ""
        fields = ", ".join(field.alias or name for name, field in self.numbers.model_fields.items() if name != "off")
        if not issubclass(self.numbers, RuleNumbers):
            return f"`{self.key}: [{{{fields}}}]`"
        short = f", or a number: {self.numbers.main}" if self.numbers.main else ""
        return f"`{self.key}: {{{fields}}}`{short}" if fields else f"`{self.key}: off`"

    @property
    def unless_stated(self) -> str:
        """What holds where no scenario states it."""
        asks = self.numbers is not None and numbers_of(self.numbers)
        return str(getattr(self.numbers, "unless_stated", "")) or ("none" if asks else "on")


def rules_told() -> list[RuleTold]:
    """Every rule, in the order of the design."""
    return [_of_rule(rule) for rule in RULES]


def _of_rule(rule: Rule) -> RuleTold:
    meaning = inspect.getdoc(type(rule)) or ""
    if rule.key:
        level = _DOWN_TO_A_LESSON if rule.key in LessonRules.model_fields else _OF_A_CLASS
        return RuleTold(rule.number, rule.key, meaning, rule.numbers, level)
    for key, field in BaseScenario.model_fields.items():  # entries that say whose rule's they are
        for entry in get_args(field.annotation):
            if (inspect.getdoc(entry) or "").startswith(f"Rule {rule.number}:"):
                return RuleTold(rule.number, key, meaning, entry, _AT_THE_TOP)
    return RuleTold(rule.number, type(rule).__module__.rpartition(".")[2], meaning)


def rules_table() -> str:
    """The table of the rules that a scenario switches off or gives numbers, in Markdown."""
    rows = [f"| {told.sentence} | {told.written} | {told.unless_stated} |\n" for told in rules_told() if told.level]
    return "| rule | in the file | unless stated |\n| --- | --- | --- |\n" + "".join(rows)


def rules_text(key: str | None = None) -> str | None:
    """The list of rules, a line each, or what one means exactly; None where there is no such rule."""
    told = rules_told()
    if key is None:
        width = max(len(each.key) for each in told)
        return "".join(f"{each.number:2}  {each.key:{width}}  {each.sentence}\n" for each in told)
    return next(("\n".join(_lines(each)) + "\n" for each in told if each.key == key), None)


def _lines(told: RuleTold) -> Iterator[str]:
    yield f"Rule {told.number}: {told.key}"
    for paragraph in told.meaning.split("\n\n"):
        yield from ("", fill(" ".join(paragraph.split()), WIDTH))
    if told.numbers is None:
        return
    yield from ("", f"In the file, for {told.level}: {told.written.replace('`', '')}", f"Unless stated: {told.unless_stated}")
    for name, field in told.numbers.model_fields.items():
        yield fill(f"{field.alias or name}: {field.description}", WIDTH, initial_indent="  ", subsequent_indent="      ")
    wished = "wish" in told.numbers.model_fields
    yield (
        "Hard unless it is wished: what is wished may be broken, at its weight in the aim `wishes`." if wished else "Always hard."
    )
    for name, number in numbers_of(told.numbers).items():
        cost = getattr(RepairCosts(), number.cost_of_step)
        yield f"In a repair {name} is eased {number.step} at a time, for {cost} each (repair_costs: {number.cost_of_step})."
