"""A what-if that changes a lesson which a pattern makes, and so cannot, is a problem of the scenario with its place."""

from __future__ import annotations

import pytest

from sequencer import UnusableInput, scenario_from_data
from tests.builders import Data, day, scenario, teach

CHANGES: list[Data] = [
    {"change": "make optional", "lesson": "u/a-practice"},
    {"change": "move dates", "lesson": "u/a-practice", "on": day(1, "Tue")},
    {"change": "lesson", "lesson": "u/a-practice", "length": 2},
    {"change": "lesson", "lesson": "u/a-practice", "no_longer_names": "a"},
    {"change": "requirement", "lesson": "u/a-practice", "requires": "a", "off": True},
]


def with_change(change: Data) -> Data:
    return scenario(
        [teach("a", load=4)],
        unit={"pattern": "usual"},
        patterns=[{"id": "usual", "practice": {}}],
        what_ifs=[{"name": "otherwise", "changes": [change]}],
    )


@pytest.mark.parametrize("change", CHANGES)
def test_it_is_said_at_its_place(change: Data) -> None:
    with pytest.raises(UnusableInput) as refusal:
        scenario_from_data(with_change(change))
    (problem,) = refusal.value.problems
    assert problem.where == "what_ifs[0].changes[0].lesson"
    assert problem.message.startswith("is made by a pattern; ")


@pytest.mark.parametrize("change", [CHANGES[0], CHANGES[1], {"change": "lesson", "lesson": "u/a-practice", "live": "refuse"}])
def test_of_one_class_it_can_be_said(change: Data) -> None:
    assert scenario_from_data(with_change({**change, "class": "9B"})).what_ifs
