"""The aim `early finish` of one class: spare slots before its last required teach lesson that no date fixes."""

from __future__ import annotations

from dataclasses import dataclass
from heapq import heappop, heappush

from sequencer.instance.facts import ClassFacts
from sequencer.solver.costs import CostTerm
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Literal, Statement
from sequencer.solver.variables import LessonVariables


@dataclass(frozen=True)
class Finish:
    """What it comes to: the weighted sum of the terms plus a constant, never below the floor."""

    terms: tuple[CostTerm, ...] = ()
    constant: int = 0
    floor: int = 0


def class_finish(parts: Parts, facts: ClassFacts) -> Finish:
    """The slots up to the end of the last lesson awaited, less those that lessons take."""
    every = [parts.variables.lessons[index] for index in facts.lessons]
    awaited = [each for each in every if each.lesson.to_finish and each.starts]
    if not awaited:
        return Finish()
    open_ = _open_slots(parts, facts, awaited)
    terms = [
        CostTerm(literal, 1, f"{facts.id} slot {slot} comes before the end", facts.index) for slot, literal in enumerate(open_)
    ]
    for each in every:
        if each.starts and not each.lesson.to_finish:
            literal = _before_the_end(parts, facts, each, awaited, open_)
            terms.append(CostTerm(literal, -each.lesson.length, f"{each.name} takes slots before the end", facts.index))
    return Finish(tuple(terms), 1 - sum(each.lesson.length for each in awaited), _floor(awaited, every))


def _open_slots(parts: Parts, facts: ClassFacts, awaited: list[LessonVariables]) -> list[Literal]:
    """For each slot but the last a literal that something awaited ends after it; each implies the one before."""
    statement = Statement(0, f"{facts.id}: early finish")
    soonest = max(each.starts[0] + each.lesson.length for each in awaited)
    last = [each for each in awaited if each.starts[-1] + each.lesson.length >= soonest]
    found: list[Literal] = []
    for slot in facts.slots[:-1]:
        open_ = parts.posting.boolean(f"{facts.id} not done by slot {slot.number}")
        for each in last:
            parts.posting.clause(statement, open_, each.by(slot.number - each.lesson.length + 1))
        if found:
            parts.posting.clause(statement, ~open_, found[-1])
        found.append(open_)
    return found


def _before_the_end(
    parts: Parts, facts: ClassFacts, variables: LessonVariables, awaited: list[LessonVariables], open_: list[Literal]
) -> Literal:
    """That a lesson is placed before something awaited; it may be false where it is, which makes the aim no smaller."""
    if any(parts.order.comes_before(variables.lesson.index, each.lesson.index) for each in awaited):
        return variables.placed
    statement = Statement(0, f"{facts.id}: early finish")
    before = parts.posting.boolean(f"{variables.name} before the end")
    parts.posting.clause(statement, ~before, variables.placed)
    for start in variables.starts:
        still = open_[start] if start < len(open_) else parts.posting.false
        parts.posting.clause(statement, ~before, variables.by(start - 1), still)
    return before


def _floor(awaited: list[LessonVariables], every: list[LessonVariables]) -> int:
    """How many slots before the soonest start of the last lesson awaited stay spare however the others are placed.

    Every lesson is taken to pieces of one slot, each with the first and the last slot that it can have. Slot by slot the piece
    that must go soonest is the way to fill most.
    """
    soonest = max(each.starts[0] for each in awaited)
    pieces: list[list[int]] = [[] for _ in range(soonest)]
    held: set[int] = set()
    for each in every:
        for piece in range(each.lesson.length if each.starts else 0):
            held.update(start + piece for start in each.starts)
            if each.starts[0] + piece < soonest:
                pieces[each.starts[0] + piece].append(each.starts[-1] + piece)
    waiting: list[int] = []
    spare = 0
    for slot, new in enumerate(pieces):
        for last in new:
            heappush(waiting, last)
        while waiting and waiting[0] < slot:
            heappop(waiting)
        if slot in held and waiting:
            heappop(waiting)
        else:
            spare += 1
    return spare
