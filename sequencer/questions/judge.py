"""The referee: judges any sequence against any scenario by the rules' definitions.

It is plain Python, knows nothing of the solver or of the model, and counts every aim itself. Every sequence leaves the
product with its verdict.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sequencer.aims import aim_values
from sequencer.instance.facts import Instance
from sequencer.plan.sequence import Laid, Sequence
from sequencer.rules import count_rules as counts
from sequencer.rules import lesson_rules as lessons
from sequencer.rules import practising
from sequencer.rules import teacher_rules as teachers
from sequencer.rules.verdict import RULES, Breach, Verdict
from sequencer.rules.wishes import ungranted

_JUDGES: tuple[Callable[[Laid], Iterator[Breach]], ...] = (
    lessons.shape,
    lessons.made_lessons,
    lessons.not_before_today,
    lessons.prerequisites,
    counts.high_load_runs,
    counts.tag_windows,
    practising.practice,
    practising.assessments,
    lessons.retrieval,
    lessons.chosen_revisits,
    lessons.live_demands,
    counts.live_quotas,
    lessons.feedback,
    lessons.dates,
    lessons.place,
    counts.weekly_shape,
    teachers.teacher_weeks,
    teachers.in_step,
    teachers.shared_classes,
)


def judge(instance: Instance, sequence: Sequence) -> Verdict:
    """Every rule that the sequence breaks, in the order of the rules, every aim's value, and the wishes not granted."""
    laid = Laid(instance, sequence)
    breaches = [breach for judge_rule in _JUDGES for breach in judge_rule(laid)]
    return Verdict(tuple(sorted(breaches, key=lambda breach: breach.rule)), aim_values(laid), ungranted(laid))


__all__ = ["RULES", "Breach", "Verdict", "judge"]
