"""What is made small when a lesson is outlined: each aim's value in plain Python, and its cost in the model."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.part_rules import judged


@dataclass(frozen=True)
class OutlineAim:
    """One aim: its name, what an outline comes to, and what it costs in a lesson's model with the most that can be."""

    name: str
    value: Callable[[LaidOutline], int]
    cost: Callable[[Any], tuple[Any, int]]


def _left_out_cost(model: Any) -> tuple[Any, int]:
    optional = [each for each in model.elements if each.part.optional and each.piece == 0]
    cost = sum(each.part.priority * (1 - model.present(each)) for each in optional)
    return cost, sum(each.part.priority for each in optional)


def _left_out(laid: LaidOutline) -> int:
    return sum(part.priority for part in laid.inside.parts if part.optional and not laid.minutes_of(part))


def _short(laid: LaidOutline, of_apply: bool) -> int:
    """By how many minutes the parts placed fall short of their most, others than apply parts by their load."""
    those = [part for part in laid.inside.parts if (part.kind == "apply") == of_apply and laid.minutes_of(part)]
    return sum((1 if of_apply else part.load) * (part.most - sum(laid.minutes_of(part))) for part in those)


def _short_cost(model: Any, of_apply: bool) -> tuple[Any, int]:
    cost, most = 0, 0
    for each in model.elements:
        if (each.part.kind == "apply") == of_apply:
            weight = 1 if of_apply else each.part.load
            if each.piece == 0:
                cost = cost + weight * each.part.most * model.present(each)
                most += weight * each.part.most
            cost = cost - weight * model.minutes(each)
    return cost, most


AIMS: tuple[OutlineAim, ...] = (
    OutlineAim("optional parts left out", _left_out, _left_out_cost),
    OutlineAim("made checks", lambda laid: laid.made, lambda model: (sum(made for _, made in model.made), len(model.made))),
    OutlineAim("wishes", lambda laid: sum(each.cost for each in judged(laid) if each.wish), lambda model: model.wishes),
    OutlineAim("carried over", lambda laid: len(laid.carried), lambda model: model.carried),
    OutlineAim("apply minutes short", lambda laid: _short(laid, True), lambda model: _short_cost(model, True)),
    OutlineAim("other minutes short", lambda laid: _short(laid, False), lambda model: _short_cost(model, False)),
    OutlineAim("longest stretch", lambda laid: max(laid.stretches(), default=0), lambda model: (model.stretch, model.longest)),
)  # fmt: skip
"""In the order in which they are settled."""

APPLY = next(place for place, aim in enumerate(AIMS) if aim.name == "apply minutes short")
"""The place of minutes short of apply parts; that of all others comes next."""
