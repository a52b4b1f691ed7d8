"""The cheapest change, and what is best without a rule, are called so only where that is proven; what is proven is called so."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from sequencer import Explanation, explain, explanation_json, explanation_text, price, scenario_from_data, scenario_yaml
from sequencer.__main__ import main
from tests.builders import Data, assessment, scenario

THREE_TESTS = scenario([assessment("a"), assessment("b"), assessment("c")], 1, "Mon 1, Tue 1, Wed 1", aims=["left out"])
ONE_A_WEEK: Data = THREE_TESTS | {"rules": {"week": {"most_lessons": 1}}}


@pytest.fixture(scope="module")
def explained() -> Explanation:
    return explain(scenario_from_data(ONE_A_WEEK))


def test_the_cheapest_is_called_so_where_that_is_proven(explained: Explanation) -> None:
    assert explained.cheapest and [repair.cost for repair in explained.repairs] == [4, 12, 12]
    told = explanation_text(explained)
    assert "The cheapest change that gives a sequence, and others that do (each tried, and passed by the referee):" in told
    alone = replace(explained, repairs=explained.repairs[:1])
    assert "The cheapest change that gives a sequence (tried, and passed by the referee):" in explanation_text(alone)
    assert [repair["proven_cheapest"] for repair in explanation_json(explained)["repairs"]] == [True, False, False]


def test_a_change_that_works_is_not_called_the_cheapest(explained: Explanation) -> None:
    hasty = replace(explained, cheapest=False)
    told = explanation_text(hasty)
    assert "Changes that work, each by itself" in told and "heapest" not in told
    assert "whether a smaller one would do was not settled" in told
    assert "A change that works (tried" in explanation_text(replace(hasty, repairs=hasty.repairs[:1]))
    body = explanation_json(hasty)
    assert body["nothing_cheaper"] is False
    assert [repair["proven_cheapest"] for repair in body["repairs"]] == [False, False, False]


def test_both_sides_of_a_price_say_what_is_proven(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    read = scenario_from_data(ONE_A_WEEK)
    found = price(read, "week")
    assert (found.status_with, found.status_without) == ("infeasible", "optimal")
    file = tmp_path / "scenario.yaml"
    file.write_text(scenario_yaml(read), encoding="utf-8")
    assert main(["price", str(file), "--rule", "week"]) == 0
    assert "  left out: 0 (proven best) instead of no sequence (proven)\n" in capsys.readouterr().out
