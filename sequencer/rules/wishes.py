"""Wishes that a sequence does not grant: the rules whose numbers are a preference, written from their definitions.

It is plain Python and knows nothing of the solver or of the model. Of some classes only those wishes are counted that look at no
other class.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sequencer.plan.sequence import Laid
from sequencer.rules import wished_counts as counts
from sequencer.rules import wished_lessons as lessons
from sequencer.rules import wished_pairs as pairs
from sequencer.rules import wished_teachers as teachers
from sequencer.rules.wish import Ungranted

_WISHES: tuple[Callable[[Laid], Iterator[Ungranted]], ...] = (
    pairs.prerequisite_windows,
    counts.high_load_runs,
    counts.tag_windows,
    lessons.live_wishes,
    counts.live_quotas,
    pairs.feedback,
    lessons.dates,
    counts.weekly_shape,
    teachers.teacher_weeks,
    pairs.in_step,
)


def ungranted(laid: Laid) -> tuple[Ungranted, ...]:
    """Every wish that the sequence does not grant, in the order of the rules."""
    return tuple(wish for wishes in _WISHES for wish in wishes(laid))


__all__ = ["Ungranted", "ungranted"]
