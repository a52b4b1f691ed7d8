"""The aim `carried over`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sequencer.aims.base import Aim, CostTerm, Objective
from sequencer.aims.next_plan import carried_terms
from sequencer.plan.outcomes import CARRIED, LATE, practices, retrievals
from sequencer.plan.sequence import Laid
from sequencer.words import CARRIED_OVER


class CarriedOver(Aim):
    """Practices and retrievals carried over, and retrievals late."""

    name = CARRIED_OVER

    def value(self, laid: Laid) -> int:
        return sum(outcome.state in (CARRIED, LATE) for outcome in practices(laid) + retrievals(laid))

    def cost(self, model: Any) -> Objective:
        return self.objective((*carried_terms(model), *_late_terms(model)))

    def price(self, chain: Any) -> Any:
        return chain.price(carried=True, late=True) if chain.carrying else None


def _late_terms(model: Any) -> Iterator[CostTerm]:
    """Starts from which a retrieval is late; one that is given up is not."""
    for serving in model.retrieval:
        taught = model.variables.lessons[serving.lesson]
        for start in serving.late:
            if start in taught.starts:
                yield CostTerm(taught.at(start), 1, f"{taught.lesson.ref} late", taught.lesson.class_index)
    for meeting in model.meetings:
        anchor, given_up = model.counted_from(meeting), model.given_up.get((meeting.lesson, meeting.number))
        for start in (start for start, window in meeting.windows.items() if window.late):
            late = anchor.at(start)
            if given_up is not None:
                late = model.posting.boolean(f"{anchor.name} late from {start}")
                model.posting.clause(model.statement(4, anchor.name), ~anchor.at(start), given_up, late)
            yield CostTerm(late, 1, f"{anchor.name} late", model.instance.lessons[meeting.lesson].class_index)
