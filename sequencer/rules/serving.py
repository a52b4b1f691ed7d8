"""What serves a lesson that is to be practised or met again, in the model."""

from __future__ import annotations

from typing import Any


def serving_literals(model: Any, serving: Any) -> list[Any]:
    """One literal per link that serves, a carry literal where it is possible, and the clause that one of them holds."""
    posting, lesson = model.posting, model.variables.lessons[serving.lesson]
    facts = lesson.lesson
    statement = model.statement(serving.rule, f"{model.instance.class_of(facts).id}: {facts.ref} is {serving.what}")
    can_carry = bool(lesson.starts) and lesson.starts[-1] >= serving.carry_from
    if len(serving.links) == 1 and not can_carry:
        only = serving.links[0]
        posting.clause(only.statement, ~lesson.placed, model.variables.lessons[only.after].placed)
        model.keep_link(only)
        return [lesson.placed]
    literals: list[Any] = []
    for link in serving.links:
        serves = posting.boolean(f"{link.statement.label}")
        posting.clause(link.statement, ~serves, lesson.placed)
        posting.clause(link.statement, ~serves, model.variables.lessons[link.after].placed)
        model.keep_link(link, serves)
        literals.append(serves)
    if can_carry:
        carry = posting.boolean(f"{statement.label} in the next plan")
        posting.clause(statement, ~carry, lesson.placed)
        posting.clause(statement, ~carry, ~lesson.by(serving.carry_from - 1))
        model.carried.setdefault((serving.rule, serving.lesson), []).append(carry)
        posting.at_most_one(statement, [*literals, carry])
        posting.clause(statement, ~lesson.placed, *literals, carry)
    else:
        posting.at_most_one(statement, literals)
        posting.clause(statement, ~lesson.placed, *literals)
    return literals


def does_not_serve(model: Any, link: Any, while_: Any, first: int = 0) -> None:
    """A practice lies outside the window of a dense lesson that starts in a slot from ``first`` on.

    Or new content lies between, where that is not allowed.
    """
    dense, other = model.variables.lessons[link.before], model.variables.lessons[link.after]
    facts = model.instance.class_of(dense.lesson)
    numbers = dense.lesson.practice
    assert numbers is not None
    for start in dense.starts:
        for met in other.starts:
            if start < first or not link.low[start] <= met <= link.high[start]:
                continue
            between = range(start + dense.lesson.length, met) if numbers.no_new_content else ()
            new = [model.new_content(facts, slot) for slot in between]
            model.posting.clause(link.statement, ~while_, ~dense.at(start), ~other.at(met), *new)
