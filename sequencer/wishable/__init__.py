"""Rules whose numbers may be a preference: each judged once, whether it is hard or a wish.

A violation of weight 0 is a breach, which the referee reports; any other is a wish that is not granted, which the aim ``wishes``
counts. It is plain Python and knows nothing of the solver or of the model.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sequencer.sequence import Laid
from sequencer.wishable import counts, lessons, pairs, teachers
from sequencer.wishable.violation import Violation

_JUDGES: tuple[Callable[[Laid], Iterator[Violation]], ...] = (
    pairs.prerequisite_windows,
    counts.high_load_runs,
    counts.tag_windows,
    lessons.live_wishes,
    counts.live_quotas,
    pairs.feedback,
    lessons.wished_dates,
    counts.weekly_shape,
    teachers.teacher_weeks,
    pairs.in_step,
)


def violations(laid: Laid) -> Iterator[Violation]:
    """Every instance of these rules that the sequence does not keep, in the order of the rules."""
    return (violation for judge in _JUDGES for violation in judge(laid))


def ungranted(laid: Laid) -> tuple[Violation, ...]:
    """The wishes that are not granted."""
    return tuple(violation for violation in violations(laid) if violation.weight)


__all__ = ["Violation", "ungranted", "violations"]
