"""Where nothing asks for a lesson to be taught live, it is set work: an open period is not made live by accident."""

from __future__ import annotations

from dataclasses import replace

from sequencer.instance.facts import Instance
from sequencer.plan.sequence import Sequence
from sequencer.words import LIVE, OPEN, SET_WORK


def without_idle_live(instance: Instance, sequence: Sequence) -> Sequence:
    """A sequence with live lessons turned to set work where no wish, demand or least number is the worse for it.

    Lessons are looked at in the order of the instance, so that the same sequence is always tidied in the same way.
    """
    live_at = {
        (instance.lessons[placement.lesson].class_index, placement.slot)
        for placement in sequence.placements
        if placement.taught == LIVE
    }
    placements = list(sequence.placements)
    for place, placement in enumerate(placements):
        lesson = instance.lessons[placement.lesson]
        slots = instance.slots_for(lesson)[placement.slot : placement.slot + lesson.length]
        if placement.taught != LIVE or lesson.better_live or lesson.live in ("prefer", "demand") or lesson.delivered is not None:
            continue
        here = (lesson.class_index, placement.slot)
        needed = any(
            count.least is not None and here in count.slots and len(live_at.intersection(count.slots)) <= count.least
            for count in instance.live_counts
        )
        if not needed and all(slot.taught == OPEN for slot in slots):
            placements[place] = replace(placement, taught=SET_WORK)
            live_at.discard(here)
    return replace(sequence, placements=tuple(placements))
