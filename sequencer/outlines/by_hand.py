"""Outlines made by hand: judged by the referee, completed where wanted, and put beside the best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from sequencer.errors import Problem, UnusableInput
from sequencer.outlines.inside import Inside, PartFacts
from sequencer.outlines.laid_outline import LessonOutline, PlacedPart, laid_outlines
from sequencer.outlines.no_outline import why_no_outline
from sequencer.outlines.outline_search import best_outlines
from sequencer.outlines.outlined import OutlinedLesson, Outlines, is_meant, only, outline_sequence
from sequencer.outlines.settled_parts import exercise_part, insides
from sequencer.plan.sequence import Laid

MOST_LINES = 400
"""Lines of one lesson made by hand: the most parts that it may have, and a check between any two."""


@dataclass(frozen=True)
class GivenPart:
    """A line of an outline made by hand: the part, by id or title, and its minutes; no part for a check that is not listed.

    ``lesson`` is a lesson's id, title or unit/id; ``place`` is a problem of the line without a message.
    """

    class_id: str
    lesson: str
    part: str | None
    minutes: int
    place: Problem


def judge_by_hand(
    laid: Laid,
    given: Sequence[GivenPart],
    complete: bool = False,
    minutes: int | None = None,
    on: date | None = None,
    lesson: str | None = None,
) -> Outlines:
    """Judge outlines made by hand; or complete them: what is given keeps its order and minutes, the rest is added best.

    Periods have ``minutes`` instead of those stated, on that day alone where one is given. Only the ``lesson`` named is told.

    Raises
    ------
    UnusableSettings
        When there is no such lesson among those given.
    UnusableInput
        When a line names no lesson with parts that is still to come, or no part of it, or a lesson has too many.
    """
    best = {each.inside.lesson: each for each in outline_sequence(laid, minutes=minutes, on=on).lessons}
    problems: list[Problem] = []
    lines: dict[int, list[GivenPart]] = {}
    there = insides(laid, minutes, on)
    meant: dict[str, Inside | None] = {}
    for line in given:
        name = f"{line.class_id}:{line.lesson}"
        if name not in meant:
            meant[name] = next((each for each in there if is_meant(each, name)), None)
        inside = meant[name]
        if inside is None:
            said = f"{line.class_id} has no lesson {line.lesson} with parts that is still to come"
            problems.append(replace(line.place, message=said))
        else:
            lines.setdefault(inside.lesson, []).append(line)
    found: list[tuple[Inside, LessonOutline]] = []
    for those in lines.values():
        if len(those) > MOST_LINES:
            problems.append(replace(those[0].place, message=f"begins a lesson of {len(those)} lines; at most {MOST_LINES}"))
    if problems:
        raise UnusableInput(tuple(problems))
    for inside in [each for each in there if each.lesson in lines]:
        found.append(_placed(laid, inside, best[inside.lesson], lines[inside.lesson], complete, problems))
    if problems:
        raise UnusableInput(tuple(problems))
    if complete:
        return only([_completed(inside, outline, best[inside.lesson]) for inside, outline in found], lesson)
    rows = laid_outlines([inside for inside, _ in found], [outline for _, outline in found])
    return only([OutlinedLesson(each.inside, each, False, best=best[each.inside.lesson]) for each in rows], lesson)


def _placed(
    laid: Laid, inside: Inside, best: OutlinedLesson, lines: list[GivenPart], complete: bool, problems: list[Problem]
) -> tuple[Inside, LessonOutline]:
    """A lesson with the exercises that its lines name, or else those of the best outline, and the lines as its outline."""
    scenario = laid.instance.scenario
    suiting = [exercise_part(scenario, inside, pool, each) for pool in scenario.pools for each in pool.exercises]
    words = {(line.part or "").casefold() for line in lines}
    chosen = [part for part in suiting if part is not None and {part.id.casefold(), part.title.casefold()} & words]
    if not chosen and complete:
        chosen = [part for part in best.inside.parts if part.exercise is not None]
    inside = inside.with_exercises(tuple(chosen))
    placed = []
    for line in lines:
        number = _number(inside.parts, line.part) if line.part is not None else None
        if line.part is not None and number is None:
            problems.append(replace(line.place, message=f"names no part of {inside.title}: {line.part}"))
        placed.append(PlacedPart(number, line.minutes))
    return inside, tuple(placed)


def _number(parts: Sequence[PartFacts], word: str) -> int | None:
    by_id = (number for number, part in enumerate(parts) if part.id == word)
    return next(by_id, next((number for number, part in enumerate(parts) if part.title.casefold() == word.casefold()), None))


def _completed(inside: Inside, outline: LessonOutline, best: OutlinedLesson) -> OutlinedLesson:
    """The best outline in which what is given keeps its order and minutes; checks that are not listed are made anew."""
    minutes: dict[int, int] = {}
    for each in outline:
        if each.part is not None:
            minutes[each.part] = minutes.get(each.part, 0) + each.minutes
    parts, before = list(inside.parts), None
    for number, lasts in minutes.items():
        part, after = inside.parts[number], () if before is None else (before,)
        parts[number] = replace(part, least=lasts, most=lasts, after=(*part.after, *after), optional=False)
        before = part.id
    bound = replace(inside, parts=tuple(parts))
    found = best_outlines([bound])
    if not found.outlines:
        return OutlinedLesson(inside, None, found.proven, why_no_outline(bound, []) if found.proven else None, best)
    (laid,) = laid_outlines([inside], found.outlines)
    return OutlinedLesson(inside, laid, found.proven, best=best)
