"""The aim `early finish`."""

from __future__ import annotations

from heapq import heappop, heappush
from typing import Any

from sequencer.aims.base import Aim, CostTerm, Objective
from sequencer.instance.facts import ClassFacts
from sequencer.plan.sequence import Laid
from sequencer.words import EARLY_FINISH


class EarlyFinish(Aim):
    """Spare slots before each class's last required teach lesson that no date fixes, summed."""

    name = EARLY_FINISH

    def value(self, laid: Laid) -> int:
        spare = 0
        for facts in laid.classes:
            last = max((laid.pos(lesson.index) for lesson in laid.in_order(facts.index) if lesson.to_finish), default=0)
            spare += sum(slot.number < last for slot in laid.spare_slots(facts.index))
        return spare

    def cost(self, model: Any) -> Objective:
        found = [_of_class(model, facts) for facts in model.classes()]
        terms = (term for terms, _, _ in found for term in terms)
        return self.objective(terms, sum(constant for _, constant, _ in found), sum(floor for _, _, floor in found))

    def price(self, chain: Any) -> Any:
        return chain.price(spare_before=frozenset(number for number, lesson in enumerate(chain.lessons) if lesson.to_finish))


def _of_class(model: Any, facts: ClassFacts) -> tuple[list[CostTerm], int, int]:
    """The slots up to the end of the last lesson awaited, less those that lessons take: terms, a constant and a floor."""
    every = [model.variables.lessons[index] for index in facts.lessons]
    awaited = [each for each in every if each.lesson.to_finish and each.starts]
    if not awaited:
        return [], 0, 0
    open_ = _open_slots(model, facts, awaited)
    terms = [
        CostTerm(literal, 1, f"{facts.id} slot {slot} comes before the end", facts.index) for slot, literal in enumerate(open_)
    ]
    for each in every:
        if each.starts and not each.lesson.to_finish:
            literal = _before_the_end(model, facts, each, awaited, open_)
            terms.append(CostTerm(literal, -each.lesson.length, f"{each.name} takes slots before the end", facts.index))
    return terms, 1 - sum(each.lesson.length for each in awaited), _floor(awaited, every)


def _open_slots(model: Any, facts: ClassFacts, awaited: list[Any]) -> list[Any]:
    """For each slot but the last a literal that something awaited ends after it; each implies the one before."""
    statement = model.statement(0, f"{facts.id}: early finish")
    soonest = max(each.starts[0] + each.lesson.length for each in awaited)
    last = [each for each in awaited if each.starts[-1] + each.lesson.length >= soonest]
    found: list[Any] = []
    for slot in facts.slots[:-1]:
        open_ = model.posting.boolean(f"{facts.id} not done by slot {slot.number}")
        for each in last:
            model.posting.clause(statement, open_, each.by(slot.number - each.lesson.length + 1))
        if found:
            model.posting.clause(statement, ~open_, found[-1])
        found.append(open_)
    return found


def _before_the_end(model: Any, facts: ClassFacts, variables: Any, awaited: list[Any], open_: list[Any]) -> Any:
    """That a lesson is placed before something awaited; it may be false where it is, which makes the aim no smaller."""
    if any(model.order.comes_before(variables.lesson.index, each.lesson.index) for each in awaited):
        return variables.placed
    statement = model.statement(0, f"{facts.id}: early finish")
    before = model.posting.boolean(f"{variables.name} before the end")
    model.posting.clause(statement, ~before, variables.placed)
    for start in variables.starts:
        still = open_[start] if start < len(open_) else model.posting.false
        model.posting.clause(statement, ~before, variables.by(start - 1), still)
    return before


def _floor(awaited: list[Any], every: list[Any]) -> int:
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
