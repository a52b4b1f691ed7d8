"""Whether parts of fixed minutes have an outline: what trying orders says is what the lesson's model says, by the referee too."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from sequencer.outlines.laid_outline import LaidOutline
from sequencer.outlines.order_search import OrderSearch
from sequencer.outlines.outline_search import best_outlines
from sequencer.outlines.part_rules import breaches
from tests.outlines.made import inside_of, lesson_data, random_lesson


def _agree(seed: int) -> bool:
    chance = random.Random(seed)
    parts, usual, rules, minutes, taught = random_lesson(chance)
    for part in parts:
        for key in ("split", "optional", "priority"):
            part.pop(key, None)
    for key in ("share", "set_work", "lesson_threads"):
        rules.pop(key, None)
    data = lesson_data(parts, usual, rules, lesson_minutes=minutes + 8, taught=taught, free=chance.random() < 0.3)
    (inside,) = inside_of(data)
    excused = frozenset("p") if chance.random() < 0.2 else frozenset()
    inside = replace(inside, parts=tuple(replace(part, least=part.most) for part in inside.parts), excused=excused)
    found = OrderSearch(inside).outline()
    assert (found is not None) == bool(best_outlines([inside]).outlines), (seed, data, excused)
    assert found is None or not breaches(LaidOutline(inside, found)), (seed, data, excused)
    return found is not None


def test_trying_orders_says_what_the_model_says() -> None:
    exist = [_agree(seed) for seed in range(120)]
    assert 20 < sum(exist) < 110


@pytest.mark.slow
def test_trying_orders_says_what_the_model_says_of_three_thousand_lessons() -> None:
    for seed in range(3000):
        _agree(seed)
