"""Random small lessons: what the model finds and proves is what trying everything finds; the referee accepts all of it."""

from __future__ import annotations

import random

import pytest

from tests.outlines.exhaustive import Tiny, best, best_of_two
from tests.outlines.made import lesson_data, outlined, random_lesson


def _agree(seed: int, small: bool, share: bool = False) -> None:
    chance = random.Random(seed)
    parts, usual, rules, minutes, taught = random_lesson(chance, small)
    if share:
        rules["share"] = chance.randint(20, 80)
    free = chance.random() < 0.2
    data = lesson_data(parts, usual, rules, lesson_minutes=minutes, taught=taught, free=free)
    expected = best(Tiny(data["units"][0]["lessons"][0], usual, rules, minutes, taught))
    found = outlined(data)
    assert found.proven
    assert (found.values or None) == expected, (seed, data, found)


def _agree_on_two(seed: int, share: bool = False) -> None:
    chance = random.Random(seed)
    parts, usual, rules, minutes, taught = random_lesson(chance, small=True)
    then, *_ = random_lesson(chance, small=True)
    parts, then = parts[:3], then[:2]
    for key in ("heavy_applied", "whole_objectives"):
        if rules.get(key) != "off" and chance.random() < 0.8:
            rules[key] = {**rules.get(key, {}), "carry_over": True}
    if share:
        rules["share"] = chance.randint(20, 80)
    data = lesson_data(parts, usual, rules, lesson_minutes=minutes, taught=taught, then=then)
    one, two = data["units"][0]["lessons"]
    expected = best_of_two(Tiny(one, usual, rules, minutes, taught), Tiny(two, usual, rules, minutes, taught))
    found = outlined(data)
    assert (found.values or None) == expected, (seed, data, found)


@pytest.mark.parametrize("first", range(0, 40, 10))
def test_small_lessons(first: int) -> None:
    for seed in range(first, first + 10):
        _agree(seed, small=True)


def test_two_lessons_of_which_one_may_leave_something_to_the_other() -> None:
    for seed in range(20):
        _agree_on_two(seed)


def test_lessons_of_which_pupils_work_a_share_and_no_check_is_made_for_that_alone() -> None:
    for seed in range(500, 520):
        _agree(seed, small=True, share=True)
        _agree_on_two(seed, share=True)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(6000, 7000, 100))
def test_a_thousand_lessons_of_which_pupils_work_a_share(first: int) -> None:
    for seed in range(first, first + 100):
        _agree(seed, small=False, share=True)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(8000, 8500, 50))
def test_five_hundred_pairs_of_which_pupils_work_a_share(first: int) -> None:
    for seed in range(first, first + 50):
        _agree_on_two(seed, share=True)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(1000, 3000, 100))
def test_two_thousand_lessons(first: int) -> None:
    for seed in range(first, first + 100):
        _agree(seed, small=False)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(5000, 5300, 50))
def test_three_hundred_pairs(first: int) -> None:
    for seed in range(first, first + 50):
        _agree_on_two(seed)
