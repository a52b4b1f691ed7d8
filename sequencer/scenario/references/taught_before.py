"""What classes were taught before the term: its own name, and rules that can say something of it."""

from __future__ import annotations

from sequencer.scenario.references.entries import Findings
from sequencer.scenario.references.outline import Outline
from sequencer.scenario.rules_schema import LessonRules
from sequencer.words import BEFORE

_MAKES_SENSE = ("retrieval", "marking")
"""Rules that say something of a lesson that has a date and no period: when it is met again, and when feedback on it comes."""


def before_is_nobodys_name(outline: Outline, findings: Findings) -> None:
    """No unit is called by the word that stands for what was taught before."""
    for unit in outline.root["units"].mappings():
        if unit["id"].text == BEFORE:
            findings.add(unit["id"], f"is taken: {BEFORE}/… names what a class was taught before the term")


def rules_suit_what_was_taught_before(outline: Outline, findings: Findings) -> None:
    """Only how it is met again and answered can still be said of what was taught before."""
    for class_ in outline.root["classes"].mappings():
        for topic in class_["taught_before"].mappings():
            for name, rule in topic["rules"].items():
                if rule.stated and name in LessonRules.model_fields and name not in _MAKES_SENSE:
                    can = " and ".join(_MAKES_SENSE)
                    findings.add(rule, f"says nothing of what was taught before the term; only {can} can", on_key=True)


BEFORE_CHECKS = (before_is_nobodys_name, rules_suit_what_was_taught_before)
