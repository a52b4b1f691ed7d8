"""The usual cautions, where a sequence holds work that can hurt someone; the school's policy and qualified people decide."""

from __future__ import annotations

from sequencer.distances.told import LABORATORY, takes_distances_from_the_table
from sequencer.sequence import Laid
from sequencer.words import LIVE

_BY_TAG = {
    "practical": "Practical work: follow the employer's risk assessment and the school's policy; qualified staff decide.",
    "fieldwork": "Fieldwork: follow the employer's risk assessment and the school's visits policy; qualified staff decide.",
}
"""Tags that ask for a caution; common practice, no source."""

LIVE_VIDEO = "Live video with pupils: follow the school's safeguarding and remote-teaching policies; its qualified staff decide."


def cautions(laid: Laid) -> list[str]:
    """The cautions that a sequence's lessons call for, each once."""
    placed = list(laid.all_placed())
    found = [text for tag, text in _BY_TAG.items() if any(tag in lesson.tags for lesson in placed)]
    if any(laid.taught(lesson.index) == LIVE for lesson in placed):
        found.append(LIVE_VIDEO)
    if takes_distances_from_the_table(laid.instance):
        found.append(LABORATORY)
    return found
