"""What one class contributes to each aim, as linear expressions."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable

from tests.crosscheck.apart_rows import class_wishes
from tests.crosscheck.chosen_rows import ChosenRows
from tests.crosscheck.class_rows import ClassRows
from tests.crosscheck.rows import Expression, plus, total


def aim_expression(each: ChosenRows, aim: str) -> Expression:
    """The class's part of the aim; some aims add rows of their own."""
    settled: dict[str, Callable[[ChosenRows], Expression]] = {
        "left out": _left_out,
        "carried over": lambda each: each.carried,
        "left for the next plan": lambda each: each.next_plan,
        "dense as set work": _dense_as_set_work,
        "wishes": lambda each: plus((1, _wishes(each)), (1, each.wished), (1, class_wishes(each.facts, each))),
        "made lessons": _made_lessons,
        "distance": lambda each: each.distance,
        "even load": _even_load,
        "early finish": _early_finish,
    }
    return settled[aim](each)


def _left_out(each: ClassRows) -> Expression:
    terms = [(lesson.priority, lesson) for lesson in each.group.lessons if lesson.optional]
    constant = sum(priority for priority, _ in terms)
    return plus((1, {-1: constant}), *((-priority, total(each.placed(lesson))) for priority, lesson in terms))


def _made_lessons(each: ClassRows) -> Expression:
    return total(variable for lesson in each.group.lessons if lesson.made for variable in each.placed(lesson))


def _wishes(each: ClassRows) -> Expression:
    unhappy: Expression = defaultdict(float)
    for lesson in each.group.lessons:
        for variable, _, taught in each.starts[lesson.key]:
            if (taught, lesson.live) in (("set work", "prefer"), ("live", "avoid")):
                unhappy[variable] += 1
    return unhappy


def _dense_as_set_work(each: ClassRows) -> Expression:
    dense = [lesson for lesson in each.group.lessons if lesson.dense and lesson.live in ("prefer", "demand", None)]
    return total(variable for lesson in dense for variable, _, taught in each.starts[lesson.key] if taught == "set work")


def _even_load(each: ClassRows) -> Expression:
    heaviest = each.rows.variable(sum(lesson.load for lesson in each.group.lessons))
    for summed in each.by_week(lambda lesson: lesson.load).values():
        each.rows.at_least(plus((1, {heaviest: 1}), (-1, summed)), 0)
    return {heaviest: 1}


def _early_finish(each: ClassRows) -> Expression:
    """Spare slots before the last lesson awaited: the number of the slot it ends in, less the slots held before that."""
    needed = [lesson for lesson in each.group.lessons if lesson.awaited]
    if not needed:
        return {}
    ends = [each.rows.variable() for _ in each.slots]
    each.rows.at_least(total(ends), 1)
    each.rows.at_most(total(ends), 1)
    for lesson in needed:
        for variable, start, _ in each.starts[lesson.key]:
            reached = range(start + lesson.length - 1, len(each.slots))
            each.rows.at_least(plus((1, total(ends[n] for n in reached)), (-1, {variable: 1})), 0)
    spare = plus(*((number, {end: 1}) for number, end in enumerate(ends)))
    for number in range(len(each.slots)):
        held = each.rows.variable()
        each.rows.at_most(plus((1, {held: 1}), (-1, total(each.holding(number)))), 0)
        each.rows.at_most(plus((1, {held: 1}), (-1, total(ends[number + 1 :]))), 0)
        spare[held] -= 1
    return spare
