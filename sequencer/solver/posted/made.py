"""Lessons that patterns make: there as long as they are needed, and no longer."""

from __future__ import annotations

from sequencer.solver.links import Link
from sequencer.solver.parts import Parts
from sequencer.solver.posted.distances_kept import does_not_serve, post_link
from sequencer.solver.posting import Literal, Statement


def made_lessons_go_with_what_they_are_made_for(parts: Parts) -> None:
    """Feedback and writing are placed exactly when one of the lessons that they are made for is; practice only then (rule 12)."""
    for index, variables in parts.variables.lessons.items():
        lesson = variables.lesson
        if lesson.made is None or lesson.delivered is not None or variables.placed is parts.posting.true:
            continue
        statement = Statement(12, f"{parts.instance.class_of(lesson).id}: {lesson.ref} goes with what it is made for")
        wanted = [parts.variables.lessons[other].placed for other in lesson.made_for]
        if lesson.made != "retrieval":
            parts.posting.clause(statement, ~variables.placed, *wanted)
        if lesson.made in ("feedback", "writing"):
            for placed in wanted:
                parts.posting.clause(statement, ~placed, variables.placed)
        if lesson.made == "practice":
            _is_needed(parts, index)


def _is_needed(parts: Parts, index: int) -> None:
    """A made practice lesson is the only one in the window of the dense lesson it is made for (rule 3)."""
    practice = parts.variables.lessons[index]
    for serving in parts.practice:
        if serving.lesson not in practice.lesson.made_for:
            continue
        for link in serving.links:
            if link.after == index:
                post_link(parts, link, practice.placed)
                _nothing_new_between(parts, link, practice.placed)
            else:
                does_not_serve(parts, link, practice.placed)
    gone_by = all(serving.lesson not in practice.lesson.made_for for serving in parts.practice)
    if gone_by:
        parts.posting.clause(Statement(3, f"{practice.name}: nothing is left for it to serve"), ~practice.placed)


def _nothing_new_between(parts: Parts, link: Link, while_: Literal) -> None:
    dense, practice = parts.variables.lessons[link.before], parts.variables.lessons[link.after]
    numbers = dense.lesson.practice
    if numbers is None or not numbers.no_new_content:
        return
    facts = parts.instance.class_of(dense.lesson)
    for start in dense.starts:
        for met in practice.starts:
            if link.low[start] <= met <= link.high[start]:
                for slot in range(start + dense.lesson.length, met):
                    parts.posting.clause(
                        link.statement, ~while_, ~dense.at(start), ~practice.at(met), ~parts.new_content(facts, slot)
                    )
