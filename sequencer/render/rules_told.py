"""The rules for people: the table of all of them, and what one means exactly, from the rules' own words and numbers."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from dataclasses import dataclass, replace
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
    """One rule for people.

    Parameters
    ----------
    number
        Its number in the design.
    key
        Its key in the language, or that of the entries which ask for it; a word for it where it has none.
    meaning
        What it means exactly: one sentence, and paragraphs after it.
    numbers
        The model of its numbers, or of an entry; None where it has none.
    level
        Where its key may stand; empty where it has none.
    """

    number: int
    key: str
    meaning: str
    numbers: type[BaseModel] | None = None
    level: str = ""

    @property
    def sentence(self) -> str:
        """What it demands, in one sentence."""
        return " ".join(self.meaning.split("\n\n")[0].split())

    @property
    def written(self) -> str:
        """How it is written in the file."""
        if not self.level or self.numbers is None:
            return "on lessons"
        fields = ", ".join(field.alias or name for name, field in self.numbers.model_fields.items() if name != "off")
        if not issubclass(self.numbers, RuleNumbers):
            return f"`{self.key}: [{{{fields}}}]`"
        short = f", or a number: {self.numbers.main}" if self.numbers.main else ""
        return f"`{self.key}: {{{fields}}}`{short}" if fields else f"`{self.key}: off`"

    @property
    def unless_stated(self) -> str:
        """What holds where no scenario states it."""
        return str(getattr(self.numbers, "unless_stated", "none" if self.numbers is not None else "on"))


# Rules that have no file of their own yet; each goes from here when it has.
_UNMOVED = (
    RuleTold(
        0, "shape",
        "Each lesson lies at most once, in periods that exist, in the shape of its length; a period holds at most one lesson.\n\n"
        "It lies exactly once unless it is optional or was skipped. It takes `length` periods that follow one another in the "
        "class's order, on one date, in periods that are adjacent.",
    ),
    RuleTold(
        1, "prerequisites",
        "A lesson comes after those that it requires.\n\n"
        "It is placed only if they are, or were skipped. A window may be put on top: least and most days between the dates, "
        "periods after the end of the one required, or school weeks between.",
    ),
    RuleTold(
        3, "practice_after_dense",
        "A dense lesson (new content with a high load) is practised straight away.\n\n"
        "One practice lesson that names it begins within so many periods of its end, and, when stated, within so many days and "
        "with no new content strictly between. Others that name it need only come after it. When fewer periods of the class "
        "follow, its practice may be carried over. Homework set in the lesson serves too where that is allowed.",
    ),
    RuleTold(
        3, "practice_before_assessment",
        "An assessment comes after the practice of the dense lessons that it requires, itself or through other lessons.",
    ),
    RuleTold(
        4, "retrieval",
        "What was taught is met again on a date at least and at most so many days later.\n\n"
        "In a retrieval lesson of its class that revisits it or, where allowed, in the starter of any later lesson: where it is "
        "listed, or where the sequence chooses. If its window holds no period that is free, the first later one is the window, "
        "reported as late. It may be carried over only if its window reaches beyond the class's last period. Several retrievals "
        "have each a window, on distinct dates.",
    ),
    RuleTold(4, "starters", "The starter of a lesson meets at most so many earlier lessons again, listed ones included."),
    RuleTold(
        6, "marking",
        "Feedback comes at least, and when stated at most, so many school days after every lesson that it answers; a report "
        "deadline leaves as many for marking.",
    ),
    RuleTold(
        7, "dates", "A lesson lies not before, not after or on its date, in its period, and is marked before its report deadline."
    ),
    RuleTold(
        8, "place",
        "A lesson that needs something lies only in periods that offer it; restricted days refuse what they say.\n\n"
        "Remote periods offer only what their spell states.",
    ),
    RuleTold(12, "optional", "Optional lessons may be left out, those of the least priority first; the others never."),
    RuleTold(13, "strands", "Lessons or strands of a unit may be tied to one teacher of a class that several share."),
)  # fmt: skip


def rules_told() -> list[RuleTold]:
    """Every rule, in the order of the design."""
    found = [_of_rule(each) for each in RULES]
    known = {told.key for told in found}
    found += [
        replace(told, numbers=model, level=level) for told, model, level in map(_unmoved, _UNMOVED) if told.key not in known
    ]
    return sorted(found, key=lambda told: told.number)


def _unmoved(told: RuleTold) -> tuple[RuleTold, type[BaseModel] | None, str]:
    keyed = told.key in LessonRules.model_fields
    return told, LessonRules.numbers_of(told.key) if keyed else None, _DOWN_TO_A_LESSON if keyed else ""


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
    """The table of the rules, in Markdown."""
    rows = [f"| {told.number} | {told.sentence} | {told.written} | {told.unless_stated} |\n" for told in rules_told()]
    return "| | rule | in the file | unless stated |\n| --- | --- | --- | --- |\n" + "".join(rows)


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
