"""The referee: judges any sequence against any scenario by the rules' definitions.

It is plain Python, knows nothing of the solver or of the model, and counts every aim itself. Every sequence leaves the
product with its verdict.
"""

from __future__ import annotations

from sequencer.aims import aim_values
from sequencer.instance.facts import Instance
from sequencer.plan.sequence import Laid, Sequence
from sequencer.rules import RULES, ungranted
from sequencer.rules.verdict import Breach, Verdict


def judge(instance: Instance, sequence: Sequence) -> Verdict:
    """Every rule that the sequence breaks, in the order of the rules, every aim's value, and the wishes not granted."""
    laid = Laid(instance, sequence)
    breaches = tuple(breach for rule in RULES for breach in rule.judge(laid))
    return Verdict(breaches, aim_values(laid), ungranted(laid))


__all__ = ["Breach", "Verdict", "judge"]
