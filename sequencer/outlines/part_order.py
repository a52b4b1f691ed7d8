"""Rule 2 of the inside of a lesson: the order of its parts."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any, ClassVar

from sequencer.outlines.inside import CLOSING, MIDDLE, OPENING
from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.part_rule import Broken, PartRule
from sequencer.scenario.rules_schema import RuleNumbers

_PLACES = {OPENING: "an opening", MIDDLE: "a middle", CLOSING: "a closing"}
_ORDER = tuple(_PLACES)


class PartsInOrder(RuleNumbers):
    """Rule 2: the order of the parts."""

    unless_stated: ClassVar[str] = "on"


class PartOrder(PartRule):
    """A part comes after those it names. Explain and model parts keep the order listed, unless the lesson is free.

    For each objective: no check or apply part before its first explain or model part; at least one after its last, where any
    stands in the lesson and the objective is not left to the next lesson to check; previews before all of these, reviews after
    all. Opening parts come first and closing parts last, in the order listed, also where the rule is off.
    """

    number, name, key, numbers = 2, "order", "order_of_parts", PartsInOrder
    described = "Rule 2: the order of the parts; `off` keeps only that opening parts come first and closing parts last."

    def judge(self, laid: LaidOutline) -> Iterator[Broken]:
        """Where opening and closing parts do not stand at the ends, and pieces not in order, whether or not the rule is off."""
        parts = laid.inside.parts
        for one, other in pairwise(laid.rows):
            if _ORDER.index(one.where) > _ORDER.index(other.where):
                yield self.breach(f'"{other.title}" comes after "{one.title}", which is {_PLACES[one.where]} part')
            elif (
                one.where == other.where != MIDDLE and one.part and other.part and parts.index(one.part) > parts.index(other.part)
            ):
                yield self.breach(f'"{other.title}" comes after "{one.title}": {one.where} parts keep the order listed')
        yield from super().judge(laid)

    def broken(self, laid: LaidOutline, numbers: Any) -> Iterator[Broken]:
        """What of the order an outline breaks."""
        yield from self._after(laid)
        listed = (word for word, _ in laid.inside.objectives)
        for objective in dict.fromkeys((*listed, *(word for row in laid.rows for word in row.objectives))):
            yield from self._objective(laid, objective)

    def _after(self, laid: LaidOutline) -> Iterator[Broken]:
        parts, rows = laid.inside.parts, laid.rows
        first = {row.part.id: place for place, row in reversed(list(enumerate(rows))) if row.part is not None}
        last = {row.part.id: place for place, row in enumerate(rows) if row.part is not None}
        for part in parts:
            for name in part.after if part.id in first else ():
                if name in last and last[name] > first[part.id]:
                    yield self.breach(f'"{part.title}" comes before "{rows[last[name]].title}", which it is to follow')
        content = [row for row in rows if row.content and row.where == MIDDLE and row.part is not None]
        for one, other in pairwise(content) if not laid.inside.free else ():
            assert one.part is not None and other.part is not None
            if parts.index(one.part) > parts.index(other.part):
                yield self.breach(f'"{other.title}" comes after "{one.title}": explain and model parts keep the order listed')

    def _objective(self, laid: LaidOutline, objective: str) -> Iterator[Broken]:
        rows, title = [row for row in laid.rows if objective in row.objectives], laid.inside.title_of(objective)
        places = {id(row): place for place, row in enumerate(laid.rows)}
        content = [places[id(row)] for row in rows if row.content]
        answers = [places[id(row)] for row in rows if row.answering]
        if content:
            for row in rows:
                if row.answering and places[id(row)] < content[0]:
                    yield self.breach(f'"{row.title}" comes before "{title}" is explained')
            if answers and max(answers) < content[-1] and objective not in laid.left_to_check:
                yield self.breach(f'"{title}" is explained again after the last check or apply part on it')
        for row in rows:
            here, others = places[id(row)], [*content, *answers]
            if row.kind == "preview" and others and here > min(others):
                yield self.breach(f'"{row.title}" previews "{title}" after it has begun')
            if row.kind == "review" and others and here < max(others):
                yield self.breach(f'"{row.title}" reviews "{title}" before it is done')

    def post(self, model: Any, numbers: Any) -> None:
        """The same, by which part has been placed up to a position."""
        elements = model.elements
        for each in elements:
            for other in elements:
                if other.part.id in each.part.after and other is not each:
                    model.follows(each, other)
        middle = [each for each in elements if each.part.content and each.part.where == MIDDLE]
        for place, each in enumerate(middle):
            for other in middle[:place] if not model.inside.free else ():
                if other.part is not each.part:
                    model.follows(each, other)
        for objective in model.objectives:
            self._post_objective(model, objective)

    def _post_objective(self, model: Any, objective: str) -> None:
        those = [each for each in model.elements if objective in each.part.objectives]
        content = [each for each in those if each.part.content]
        answers = [each for each in those if each.part.answering]
        if content:
            explained = any(model.sure(each) for each in content)
            for each in answers:
                for p in model.positions:
                    voided = 0 if explained else 1 - model.explained(objective)
                    model.post(model.by(each, p) <= sum(model.by(one, p - 1) for one in content) + voided)
            voided = self._void(model, objective, answers)
            for each in content:
                for p, here in model.places(each):
                    later = sum(model.present(one) - model.by(one, p) for one in answers)
                    checks = sum(made for q, made in model.made if q > p)
                    model.post(here <= later + checks + voided + model.left_to_check(objective))
        for each in those:
            for other in [*content, *answers]:
                if each.part.kind == "preview":
                    model.follows(other, each)
                if each.part.kind == "review":
                    model.follows(each, other)
        for each in those:
            for p, here in model.places(each) if each.part.kind == "review" else ():
                for q, _ in model.made:
                    if q > p:
                        model.post(here + model.covers(objective, q) <= 1)

    def _void(self, model: Any, objective: str, answers: list[Any]) -> Any:
        """Whether no check or apply part of an objective stands in the lesson, made checks included."""
        if any(model.sure(each) for each in answers):
            return 0
        void = model.boolean()
        for each in answers:
            model.post(void + model.present(each) <= 1)
        for q, _ in model.made:
            model.post(void + model.covers(objective, q) <= 1)
        return void
