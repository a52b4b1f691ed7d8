"""Rules about the distance of two lessons: prerequisites, practice, listed retrieval, feedback."""

from __future__ import annotations

from sequencer.solver.links import Link
from sequencer.solver.parts import Parts
from sequencer.solver.posting import Literal, Statement
from sequencer.solver.servings import Serving


def lessons_follow_their_links(parts: Parts) -> None:
    """A lesson comes after what it requires, practises, revisits or answers, inside its window (rules 1 and 6).

    For every start of the earlier lesson an implication between order literals: starting no sooner than t, the later
    one starts no sooner than ``low[t]``; starting by t, it starts by ``high[t]``.
    """
    for link in parts.links:
        if link.binds:
            before, after = parts.variables.lessons[link.before], parts.variables.lessons[link.after]
            parts.posting.clause(link.statement, ~after.placed, before.placed)
        post_link(parts, link)


def identical_lessons_keep_their_order(parts: Parts) -> None:
    """Lessons that nothing tells apart are taught in the order listed: the same sequence under other names is not searched."""
    for link in parts.twins:
        before, after = parts.variables.lessons[link.before], parts.variables.lessons[link.after]
        parts.posting.clause(link.statement, ~after.placed, before.placed)
        post_link(parts, link)


def parallel_classes_keep_in_step(parts: Parts) -> None:
    """The same lesson of one unit in parallel classes lies within so many days (rule 11)."""
    for link in parts.steps:
        post_link(parts, link)


def dense_lessons_are_practised(parts: Parts) -> None:
    """A dense lesson has a practice lesson in its window, or is carried over where too few slots follow (rule 3).

    One literal per practice lesson says that it serves; at least one does, or the carry literal holds.
    """
    for serving in parts.practice:
        literals = _serving_literals(parts, serving)
        numbers = parts.instance.lessons[serving.lesson].practice
        assert numbers is not None
        if numbers.no_new_content:
            for link, serves in zip(serving.links, literals, strict=True):
                _nothing_new_between(parts, link, serves)
        _assessments_come_after(parts, serving, literals)


def _assessments_come_after(parts: Parts, serving: Serving, literals: list[Literal]) -> None:
    """An assessment that requires the dense lesson comes after the practice that serves it (rule 3).

    Of several that serve the one named by its literal is enough. Where the lesson is carried over none may lie in its window.
    """
    lessons = parts.instance.lessons
    assessments = [index for index in serving.assessed_by if index in parts.variables.lessons]
    for link, serves in zip(serving.links, literals, strict=True):
        for index in assessments:
            label = f"{lessons[index].ref} after the practice of {lessons[serving.lesson].ref} in {lessons[link.after].ref}"
            last = parts.days[lessons[index].class_index].count - 1
            low = (*(slot + lessons[link.after].length for slot in range(last + 1)), 0)
            post_link(parts, Link(link.after, index, low, (last,) * len(low), Statement(3, label)), serves)
    if assessments:
        for carry in parts.carried.get((3, serving.lesson), []):
            for link in serving.links:
                does_not_serve(parts, link, carry, serving.carry_from)


def _nothing_new_between(parts: Parts, link: Link, serves: Literal) -> None:
    """While the practice serves, no teach lesson holds a slot after the dense lesson's end and before the practice."""
    dense, practice = parts.variables.lessons[link.before], parts.variables.lessons[link.after]
    if not dense.starts or not practice.starts:
        return
    facts = parts.instance.classes[dense.lesson.class_index]
    for slot in range(dense.starts[0] + dense.lesson.length, practice.starts[-1]):
        ended = dense.by(slot - dense.lesson.length)
        parts.posting.clause(link.statement, ~serves, ~ended, practice.by(slot), ~parts.new_content(facts, slot))


def listed_retrievals_are_kept(parts: Parts) -> None:
    """A lesson to be retrieved is met again in its window, late where no slot lies in it, or is carried over (rule 4)."""
    for serving in parts.retrieval:
        literals = _serving_literals(parts, serving)
        for carry in parts.carried.get((4, serving.lesson), []):
            _carried_only_when_unmet(parts, serving, carry)
        parts.serves[serving.lesson] = tuple(zip(serving.links, literals, strict=True))


def _serving_literals(parts: Parts, serving: Serving) -> list[Literal]:
    """One literal per link that serves, a carry literal where it is possible, and the clause that one of them holds."""
    posting, lesson = parts.posting, parts.variables.lessons[serving.lesson]
    facts = lesson.lesson
    statement = Statement(serving.rule, f"{parts.instance.class_of(facts).id}: {facts.ref} is {serving.what}")
    can_carry = bool(lesson.starts) and lesson.starts[-1] >= serving.carry_from
    if len(serving.links) == 1 and not can_carry:
        only = serving.links[0]
        posting.clause(only.statement, ~lesson.placed, parts.variables.lessons[only.after].placed)
        post_link(parts, only)
        return [lesson.placed]
    literals: list[Literal] = []
    for link in serving.links:
        serves = posting.boolean(f"{link.statement.label}")
        posting.clause(link.statement, ~serves, lesson.placed)
        posting.clause(link.statement, ~serves, parts.variables.lessons[link.after].placed)
        post_link(parts, link, serves)
        literals.append(serves)
    if can_carry:
        carry = posting.boolean(f"{statement.label} in the next plan")
        posting.clause(statement, ~carry, lesson.placed)
        posting.clause(statement, ~carry, ~lesson.by(serving.carry_from - 1))
        parts.carried.setdefault((serving.rule, serving.lesson), []).append(carry)
        posting.at_most_one(statement, [*literals, carry])
        posting.clause(statement, ~lesson.placed, *literals, carry)
    else:
        posting.at_most_one(statement, literals)
        posting.clause(statement, ~lesson.placed, *literals)
    return literals


def _carried_only_when_unmet(parts: Parts, serving: Serving, carry: Literal) -> None:
    """Where x is carried over its window runs past the last slot: whatever lists x comes before the window begins."""
    lesson = parts.variables.lessons[serving.lesson]
    for link in serving.links:
        other = parts.variables.lessons[link.after]
        for start in lesson.starts:
            if start >= serving.carry_from:
                parts.posting.clause(link.statement, ~carry, ~lesson.by(start), ~other.placed, other.by(link.low[start] - 1))


def does_not_serve(parts: Parts, link: Link, while_: Literal, first: int = 0) -> None:
    """A practice lies outside the window of a dense lesson that starts in a slot from ``first`` on.

    Or new content lies between, where that is not allowed.
    """
    dense, other = parts.variables.lessons[link.before], parts.variables.lessons[link.after]
    facts = parts.instance.class_of(dense.lesson)
    numbers = dense.lesson.practice
    assert numbers is not None
    for start in dense.starts:
        for met in other.starts:
            if start < first or not link.low[start] <= met <= link.high[start]:
                continue
            between = range(start + dense.lesson.length, met) if numbers.no_new_content else ()
            new = [parts.new_content(facts, slot) for slot in between]
            parts.posting.clause(link.statement, ~while_, ~dense.at(start), ~other.at(met), *new)


def post_link(parts: Parts, link: Link, *when: Literal) -> None:
    """The link's windows as implications between order literals, while the given literals hold."""
    before, after = parts.variables.lessons[link.before], parts.variables.lessons[link.after]
    posting = parts.posting
    unless = [~literal for literal in when]
    if not before.starts or not after.starts:
        return
    placed_before = [] if link.binds else [~before.placed]
    reached = None
    for place, start in enumerate(before.starts):
        low = link.low[start]
        if low == reached or low <= after.starts[0]:
            continue
        reached = low
        # Not by the start before this one, so at this one or later: `after` is not by low - 1.
        sooner = before.by(before.starts[place - 1]) if place else posting.false
        posting.clause(link.statement, *unless, *placed_before, sooner, ~after.by(low - 1))
    for place, start in enumerate(before.starts):
        high = link.high[start]
        next_high = link.high[before.starts[place + 1]] if place + 1 < len(before.starts) else None
        if high >= after.starts[-1] or high == next_high:
            continue
        posting.clause(link.statement, *unless, ~before.by(start), ~after.placed, after.by(high))
