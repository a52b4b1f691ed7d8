"""Scenarios made wrong are refused with a problem document, or solved; ``python -m tests.api.mutated`` sends many more."""

from __future__ import annotations

import asyncio

import pytest

from tests.api.mutated import SETTINGS, tried
from tests.api.mutations import KINDS, mutated

SAMPLE = range(120)


def test_none_of_a_sample_is_a_defect() -> None:
    report = asyncio.run(tried(2, SAMPLE, timed=False))
    assert report.wrong == []
    assert {kind for kind, _ in report.statuses} == set(KINDS)
    assert {200, 413, 422} <= {status for _, status in report.statuses}
    assert sum(report.statuses.values()) == len(SAMPLE)
    assert report.peak <= SETTINGS.most_memory


def test_a_seed_makes_the_same_cases_again() -> None:
    assert [mutated(1, number) for number in range(40)] == [mutated(1, number) for number in range(40)]
    assert mutated(1, 0) != mutated(2, 0)


@pytest.mark.slow
def test_none_of_many_is_a_defect() -> None:
    report = asyncio.run(tried(1, range(10_000)))
    assert report.wrong == []
    assert report.peak <= SETTINGS.most_memory
