"""How far a sequence is from where its lessons stood before, as an aim that comes before all others."""

from __future__ import annotations

from sequencer.plan.differences import MoveWeights, Standing
from sequencer.solver.aim_terms import Aim
from sequencer.solver.costs import CostTerm
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Statement, total
from sequencer.words import DISRUPTION


def disruption(parts: Parts, standing: Standing, weights: MoveWeights | None = None) -> Aim:
    """What the lessons weigh that do not lie where they stood; one each unless weights are given.

    Each counts as if it were not placed, less what the start that it has makes cheaper, or dearer. A lesson that was taught
    before its class's first period has no start, and none that stood can lie there.
    """
    weights = weights or MoveWeights()
    count, terms, floor = 0, [], 0
    for index, variables in parts.variables.lessons.items():
        lesson = variables.lesson
        if index not in standing or lesson.earlier:
            continue
        old, _ = standing[index]
        gone = weights.of(lesson.class_index, old, None)
        slots = parts.instance.slots_for(lesson)
        least = gone
        for start in variables.starts:
            slot = slots[start]
            stays = (slot.date, slot.period) == standing[index]
            weight = 0 if stays else weights.of(lesson.class_index, old, slot.date)
            least = min(least, weight)
            if weight != gone:
                terms.append(CostTerm(variables.at(start), weight - gone, f"{lesson.ref} in period {start}"))
        count += gone
        floor += least
    return Aim(DISRUPTION, tuple(terms), count, floor)


def at_most(parts: Parts, standing: Standing, most: int) -> None:
    """No more lessons than so many lie elsewhere than where they stood."""
    moved = disruption(parts, standing)
    terms = total((term.variable, term.weight) for term in moved.terms)
    parts.posting.linear(Statement(0, f"at most {most} lessons move"), terms + moved.constant <= most)
