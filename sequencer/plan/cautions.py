"""The usual cautions, where a sequence holds work that can hurt someone; the school's policy and qualified people decide."""

from __future__ import annotations

from sequencer.instance.facts import LessonFacts
from sequencer.plan.distance_notes import LABORATORY, takes_distances_from_the_table
from sequencer.plan.sequence import Laid
from sequencer.words import LIVE

_BY_TAG = {
    "practical": "Practical work: follow the employer's risk assessment and the school's policy; qualified staff decide.",
    "fieldwork": "Fieldwork: follow the employer's risk assessment and the school's visits policy; qualified staff decide.",
}
"""Tags that ask for a caution; common practice, no source."""

LIVE_VIDEO = "Live video with pupils: follow the school's safeguarding and remote-teaching policies; its qualified staff decide."


def cautions(laid: Laid) -> list[str]:
    """The cautions that a sequence's lessons call for, each once."""
    called_for = {caution for lesson in laid.all_placed() for caution in cautions_of(laid, lesson)}
    found = [caution for caution in (*_BY_TAG.values(), LIVE_VIDEO) if caution in called_for]
    return [*found, LABORATORY] if takes_distances_from_the_table(laid.instance) else found


def cautions_of(laid: Laid, lesson: LessonFacts) -> list[str]:
    """The cautions that one placed lesson calls for."""
    found = [text for tag, text in _BY_TAG.items() if tag in lesson.tags]
    return [*found, LIVE_VIDEO] if laid.taught(lesson.index) == LIVE else found
