"""Rule 12: lessons that may be left out, and those that patterns make."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sequencer.plan.sequence import Laid
from sequencer.rules.base import Rule
from sequencer.rules.verdict import Breach, breach_in, named


class MadeRule(Rule):
    """Optional lessons may be left out, the others never; what a pattern made goes when all that it was made for are left out,
    and made feedback and writing are placed as long as one of them is.
    """

    number, name = 12, "optional and made lessons"

    def judge(self, laid: Laid) -> Iterator[Breach]:
        for lesson in laid.lessons():
            if lesson.made is None or lesson.made == "retrieval" or lesson.delivered is not None:
                continue
            wanted = [laid.instance.lessons[index] for index in lesson.made_for if laid.placed(index)]
            if laid.placed(lesson.index):
                if not wanted:
                    yield breach_in(laid, 12, (lesson,), f"{named((lesson,))} is made for lessons that are all left out")
            elif lesson.made in ("feedback", "writing") and wanted:
                yield breach_in(laid, 12, (lesson,), f"{named((lesson,))} is made for {named(wanted)}, and is not placed")

    def post(self, model: Any) -> None:
        for index, variables in model.variables.lessons.items():
            lesson = variables.lesson
            if lesson.made is None or not model.may_go(index):
                continue
            statement = model.statement(12, f"{model.instance.class_of(lesson).id}: {lesson.ref} goes with what it is made for")
            wanted = [model.variables.lessons[other].placed for other in lesson.made_for]
            if lesson.made != "retrieval":
                model.posting.clause(statement, ~variables.placed, *wanted)
            if lesson.made in ("feedback", "writing"):
                for placed in wanted:
                    model.posting.clause(statement, ~placed, variables.placed)
