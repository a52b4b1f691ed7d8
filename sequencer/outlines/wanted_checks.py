"""In the model: a check is made only where rules 2 to 5 want one.

As few are made as will do, so that none is made for nothing; but a hard share of minutes (rule 7) could have some made for its
own sake. Where one holds, each made check needs a reason: that without it a stretch were too long, a heavy part were not followed
up, or an objective had no check, or none after it is explained for the last time. A reason is a variable that can hold only where
that is so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from sequencer.outlines.inside import CLOSING
from sequencer.outlines.outline_model import LessonModel
from sequencer.outlines.part_places import Element
from sequencer.outlines.part_rule import never


def only_wanted_checks(model: LessonModel, before: LessonModel | None) -> None:
    """Ask that each made check has a reason, where the lesson has a share that is no wish; ``before`` is the lesson before it."""
    if not model.inside.shared or model.inside.rules["share"].wish or "share" in model.loosened.rules:
        return
    reasons: dict[int, list[Any]] = {q: [] for q, _ in model.made}
    _too_long_without(model, reasons)
    if model.inside.rules["heavy_applied"] is not None:
        for heavy in model.elements:
            if heavy.part.heavy_content:
                _follows(model, heavy, reasons)
    for objective in model.objectives:
        _checks(model, objective, reasons)
    if before is not None:
        _received(model, before, reasons)
    for q, made in model.made:
        model.post(made <= sum(reasons[q]))


def _reason(
    model: LessonModel, reasons: dict[int, list[Any]], q: int, where: Iterable[Any] = (), unless: Iterable[Any] = ()
) -> Any:
    """A reason for a made check, which can hold only where some literals do, and others do not."""
    reason = model.boolean()
    reasons[q].append(reason)
    for each in where:
        model.post(reason <= each)
    for each in unless:
        model.post(reason + each <= 1)
    return reason


# -- rule 3 --------------------------------------------------------------------------------------------------------------


def _too_long_without(model: LessonModel, reasons: dict[int, list[Any]]) -> None:
    """The stretches before and after a made check together are longer than the most."""
    numbers = model.inside.rules["stretch"]
    if numbers is None or not model.longest:
        return
    told = {p: _told(model, p) for p in model.positions}
    earlier: dict[int, Any] = {model.positions[0]: 0}
    for p in model.positions:
        earlier[p + 1] = _stretch(model, p, told[p], earlier[p], model.made_before(p))
    later: dict[int, Any] = {model.positions[-1] + 1: 0}
    for p in reversed(model.positions):
        later[p] = _stretch(model, p, told[p], later[p + 1], model.made_before(p + 1))
    for q, _ in model.made:
        reason = _reason(model, reasons, q)
        model.post(earlier[q] >= reason)
        model.post(later[q] >= reason)
        model.post(earlier[q] + later[q] >= ((numbers.most or 0) + 1) * reason)


def _told(model: LessonModel, p: int) -> Any:
    """At most the minutes that are explained at a position."""
    told = model.up_to(model.longest)
    content = [(each, here) for each in model.elements if each.part.content and not never(here := model.at(each, p))]
    model.post(told <= model.longest * sum(here for _, here in content))
    for each, here in content:
        model.post(told <= model.minutes(each) + model.longest * (1 - here))
    return told


def _stretch(model: LessonModel, p: int, told: Any, beyond: Any, made: Any) -> Any:
    """At most the minutes of the stretch that a position belongs to, on one side of it; ``beyond`` are those next to it there."""
    stretch = model.up_to(model.longest)
    model.post(stretch <= told + beyond)
    model.post(stretch <= told + model.longest * (1 - made))
    model.post(stretch <= model.longest * (1 - model.breaks(p)))
    return stretch


# -- rule 4 --------------------------------------------------------------------------------------------------------------


def _follows(model: LessonModel, heavy: Element, reasons: dict[int, list[Any]]) -> None:
    """A heavy part waits up to a made check, and nothing else follows it up in time."""
    carries = model.next is not None and model.inside.rules["heavy_applied"].carry_over
    taken = model.next.taking(heavy.part) if model.next is not None and carries else []
    lacks = _unanswered(model, heavy, lambda here, closing: [here + sum(closing) + each <= 2 for each in taken], False)
    for each in taken:
        model.post(lacks[model.positions[-1] + 1] + each <= 1)
    waits: Any = 0
    for p in (*model.positions, model.positions[-1] + 1):
        if p in reasons and not never(waits):
            _reason(model, reasons, p, (waits, lacks[p]), (model.broken_heavy.get(heavy.part.id, 0),))
        here, before = model.at(heavy, p), waits
        waits = model.boolean()
        model.post(waits <= before + here)
        model.post(
            waits <= sum(model.at(each, p) for each in model.elements if each.part.content and each.part.shares(heavy.part))
        )
        model.post(waits <= 1 - model.made_before(p) + here)


def _unanswered(model: LessonModel, heavy: Element, at_end: Callable[[Any, list[Any]], list[Any]], left: bool) -> dict[int, Any]:
    """For each position, whether from it on nothing follows a heavy part up in time, made checks before the position aside.

    ``left`` asks that the lesson then ends, or closing parts follow; ``at_end`` gives what is asked where these follow.
    """
    lacks: dict[int, Any] = {model.positions[-1] + 1: model.boolean()}
    for p in reversed(model.positions):
        lacks[p] = here = model.boolean()
        there = [(each.part, at) for each in model.elements if not never(at := model.at(each, p))]
        others = [(part, at) for part, at in there if not (part.shares(heavy.part) and (part.answering or part.content))]
        closing = [at for part, at in others if part.where == CLOSING]
        ended = sum(closing if left else [at for _, at in others])
        model.post(here <= 1 - sum(at for part, at in there if part.answering and part.shares(heavy.part)))
        model.post(here <= lacks[p + 1] + ended)
        model.post(here <= 1 - model.made_before(p + 1) + ended)
        for other in [at for part, at in others if part.where != CLOSING] if left else []:
            model.post(here + other <= 1)
        for constraint in at_end(here, closing) if closing else ():
            model.post(constraint)
    return lacks


# -- rules 2 and 5 -------------------------------------------------------------------------------------------------------


def _checks(model: LessonModel, objective: str, reasons: dict[int, list[Any]]) -> None:
    """A made check is the only check on an objective; or nothing else on it follows the last of its explain and model parts."""
    on_it = [each for each in model.elements if objective in each.part.objectives]
    content = [each for each in on_it if each.part.content]
    if not content:
        return
    answers = [each for each in on_it if each.part.answering]
    checks = [model.present(each) for each in answers if each.part.kind == "check"]
    covers = {q: model.covers(objective, q) for q, _ in model.made}
    whole, order = model.inside.rules["whole_objectives"], model.inside.rules["order_of_parts"]
    later: list[Any] = []
    if whole is not None and whole.carry_over and model.next is not None:
        theirs = [each for each in model.next.elements if each.part.kind == "check" and objective in each.part.objectives]
        later = [*(model.next.present(each) for each in theirs), *(made for _, made in model.next.made)]
    for q, cover in covers.items() if whole is not None and objective not in model.inside.excused else ():
        _reason(model, reasons, q, (cover,), (*checks, *(other for place, other in covers.items() if place != q), *later))
    for q in covers if order is not None else ():
        others = [other for place, other in covers.items() if place != q]
        for p in range(q):
            if all(never(model.at(each, p)) for each in content):
                continue
            here, served = sum(model.at(each, p) for each in content), sum(model.present(each) for each in answers) + sum(others)
            reason = _reason(model, reasons, q, (model.made_before(q), here, served))
            for each in answers:
                model.post(reason + model.present(each) - model.by(each, p) <= 1)
            for place, other in covers.items():
                if place != q and place > p:
                    model.post(reason + other <= 1)
            for each in later:
                model.post(reason + each <= 1 + sum(checks) + sum(others))


# -- what the lesson before has left ---------------------------------------------------------------------------------------


def _received(model: LessonModel, before: LessonModel, reasons: dict[int, list[Any]]) -> None:
    """A made check is the only check on an objective left to the lesson, or takes a heavy part left to it."""
    for objective, left in before.left.items():
        checks = [each for each in model.elements if each.part.kind == "check" and objective in each.part.objectives]
        for q in reasons:
            others = (other for place, other in model.made if place != q)
            _reason(model, reasons, q, (left,), (*map(model.present, checks), *others))
    for heavy, carried in before.heavy_left if model.made else ():
        unless = (before.broken_heavy.get(heavy.part.id, 0),)
        reason = _reason(model, reasons, model.made[0][0], (carried, before.present(heavy)), unless)
        waits = _unanswered(before, heavy, lambda *_: [], left=True)
        for p, here in before.places(heavy):
            model.post(reason + here <= 1 + waits[p + 1])
            model.post(reason + here + before.made_before(p + 1) <= 2)
        for each in model.taking(heavy.part, listed=True):
            model.post(reason + each <= 1)
