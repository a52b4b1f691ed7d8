"""The referee: judges any sequence against any scenario by the rules' definitions.

It is plain Python, knows nothing of the solver or of the model, and counts every aim itself. Every sequence leaves the
product with its verdict.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sequencer.aims import aim_values
from sequencer.check import lessons
from sequencer.check.verdict import RULES, Breach, Verdict
from sequencer.facts import Instance
from sequencer.sequence import Laid, Sequence
from sequencer.wishable import violations

_JUDGES: tuple[Callable[[Laid], Iterator[Breach]], ...] = (
    lessons.shape,
    lessons.prerequisites,
    lessons.practice,
    lessons.retrieval,
    lessons.live_demands,
    lessons.dates,
    lessons.place,
    lessons.shared_classes,
)
"""Rules that are always hard, and what is hard of the others beside ``wishable``."""


def judge(instance: Instance, sequence: Sequence) -> Verdict:
    """Every rule that the sequence breaks, in the order of the rules, every aim's value, and the wishes not granted."""
    laid = Laid(instance, sequence)
    breaches = [breach for judge_rule in _JUDGES for breach in judge_rule(laid)]
    found = tuple(violations(laid))
    breaches += [Breach(each.rule, each.class_ids, each.lessons, each.slots, each.message) for each in found if not each.weight]
    wishes = tuple(each for each in found if each.weight)
    return Verdict(tuple(sorted(breaches, key=lambda breach: breach.rule)), aim_values(laid), wishes)


__all__ = ["RULES", "Breach", "Verdict", "judge"]
