"""How far a sequence is from where its lessons stood before, as an aim that comes before all others."""

from __future__ import annotations

from sequencer.model.aims import Aim
from sequencer.model.costs import CostTerm
from sequencer.model.parts import Parts
from sequencer.moves import Standing
from sequencer.words import DISRUPTION


def disruption(parts: Parts, standing: Standing) -> Aim:
    """The number of lessons that do not lie where they stood: each counts one, less the start in which it would.

    A lesson that was taught before its class's first period has no start, and none that stood can lie there.
    """
    count, terms, lost = 0, [], 0
    for index, variables in parts.variables.lessons.items():
        lesson = variables.lesson
        if index not in standing or lesson.earlier:
            continue
        count += 1
        slots = parts.instance.slots_for(lesson)
        stood = next((slot.number for slot in slots if (slot.date, slot.period) == standing[index]), None)
        if stood is not None and stood in variables.starts:
            terms.append(CostTerm(variables.at(stood), -1, f"{lesson.ref} where it stood"))
        else:
            lost += 1
    return Aim(DISRUPTION, tuple(terms), count, lost)
