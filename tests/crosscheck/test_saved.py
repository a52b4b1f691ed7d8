"""The saved random scenarios are those that the generators draw."""

from __future__ import annotations

import json

import pytest

from tests.crosscheck.saved import FAMILIES, FOLDER, scenario, written

GROUP = 10
GROUPS = [(family, first) for family, (_, count) in FAMILIES.items() for first in range(0, count, GROUP)]


@pytest.mark.parametrize("family", FAMILIES)
def test_all_are_saved_and_no_two_are_the_same(family: str) -> None:
    lines = (FOLDER / f"{family}.jsonl").read_text(encoding="utf-8").splitlines()
    assert len(lines) == FAMILIES[family][1] == len(set(lines))
    assert scenario(family, 3) == json.loads(lines[3])


@pytest.mark.parametrize("family", FAMILIES)
def test_some_drawn_again_are_those_saved(family: str) -> None:
    lines = (FOLDER / f"{family}.jsonl").read_text(encoding="utf-8").splitlines()
    assert [written(family, seed) for seed in (0, 1)] == lines[:2]


@pytest.mark.slow
@pytest.mark.parametrize(("family", "first"), GROUPS)
def test_all_drawn_again_are_those_saved(family: str, first: int) -> None:
    lines = (FOLDER / f"{family}.jsonl").read_text(encoding="utf-8").splitlines()
    for seed in range(first, first + GROUP):
        assert written(family, seed) == lines[seed], f"{family} seed {seed}"
