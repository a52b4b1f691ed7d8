"""The aim `distance`."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from sequencer.aims.base import Aim, CostTerm, Objective
from sequencer.aims.shared_distance import shared_distance
from sequencer.instance.facts import LessonFacts
from sequencer.plan.outcomes import retrievals
from sequencer.plan.sequence import Laid
from sequencer.words import DISTANCE


class DistanceAim(Aim):
    """Days between the distance kept and the preferred one, over all retrievals.

    In the model it is the sum over days of |(y placed by the day) - (x placed by the day less the preferred distance)|, which is
    exactly |date(y) - date(x) - preferred|. A retrieval lesson that revisits several lessons cannot be at the preferred
    distance from all of them: what it costs at least from each of its starts (``shared_distance``) tightens the relaxation.
    """

    name = DISTANCE

    def value(self, laid: Laid) -> int:
        return sum(outcome.distance for outcome in retrievals(laid))

    def cost(self, model: Any) -> Objective:
        terms: list[CostTerm] = []
        shared: dict[int, list[tuple[Any, list[CostTerm]]]] = {}
        for serving in model.retrieval:
            for link, serves in model.serves[serving.lesson]:
                taught, there = model.variables.lessons[link.before], model.variables.lessons[link.after]
                (numbers,) = taught.lesson.retrievals
                own = list(_distance_terms(model, link.statement, taught.lesson, taught, there, numbers.preferred, serves))
                terms += own
                if serves is model.posting.true:
                    shared.setdefault(link.after, []).append((link, own))
        for meeting in model.meetings:
            lesson, met = model.instance.lessons[meeting.lesson], model.meeting_starts[meeting.lesson, meeting.number]
            anchor, statement = model.counted_from(meeting), model.statement(4, met.name)
            terms += _distance_terms(model, statement, lesson, anchor, met, meeting.numbers.preferred, met.placed)
        return self.objective(terms, floor=sum(_least_when_shared(model, index, group) for index, group in shared.items()))

    def price(self, chain: Any) -> Any:
        return chain.price(distance=True)


def _least_when_shared(model: Any, index: int, group: list[tuple[Any, list[CostTerm]]]) -> int:
    """Post what a retrieval lesson costs at least from each of its starts; the least of these."""
    met = model.variables.lessons[index]
    least = shared_distance(model, met.starts, [link for link, _ in group])
    statement = model.statement(4, f"{met.lesson.ref}: distance from all that it revisits")
    for start, cost in least.items():
        if cost is None:
            model.posting.clause(statement, ~met.at(start))
    possible = {start: cost for start, cost in least.items() if cost is not None}
    costs = model.total((term.variable, term.weight) for _, own in group for term in own)
    model.posting.linear(statement, costs >= model.total((met.at(start), cost) for start, cost in possible.items()))
    return min(possible.values(), default=0)


def _distance_terms(
    model: Any, statement: Any, lesson: LessonFacts, taught: Any, met: Any, preferred: int, serves: Any
) -> Iterator[CostTerm]:
    """Days off the preferred distance between two dates of a lesson's class, while the second serves."""
    here = model.days[lesson.class_index]
    day_of = {start: here.day_of(lesson, start) for start in taught.starts}
    marks = sorted({day + preferred for day in day_of.values()} | {here.day[start] for start in met.starts})
    for mark, following in pairwise(marks):
        last = max((start for start, day in day_of.items() if day <= mark - preferred), default=None)
        should = taught.by(last) if last is not None else model.posting.false
        is_met = met.by(here.last_by(mark))
        gap = model.posting.boolean(f"{statement.label}: off by day {mark}")
        model.posting.clause(statement, ~serves, ~is_met, should, gap)
        model.posting.clause(statement, ~serves, is_met, ~should, gap)
        yield CostTerm(gap, following - mark, f"{statement.label}: days off", lesson.class_index, lesson.index)
