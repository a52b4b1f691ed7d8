"""What an earlier decision would be worth, and weights that what-ifs state: worked by hand on four periods."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from sequencer import (
    SharedOpening,
    UnusableInput,
    compare,
    load_scenario,
    losses_by_aim,
    openings_json,
    openings_text,
    scenario_from_data,
    scenario_yaml,
    share_opening,
    share_openings,
)
from sequencer.__main__ import main
from tests.builders import Data, day, teach
from tests.opening.test_share import SETTINGS, by, drawn, shared

MONDAY, TUESDAY, SECOND = day(1, "Mon"), day(1, "Tue"), day(2, "Mon")


def costing(**weights: int) -> Data:
    """Each of a, b and c optional; one what-if wants b by the first Tuesday, the other c, both of them a on the Monday."""
    lessons = [teach(name, optional=True, priority=1) for name in "abc"]
    what_ifs = {each: [by("a", MONDAY), by(each[-1], TUESDAY)] for each in ("wants_b", "wants_c")}
    data = drawn(what_ifs, lessons, aims=["left out"])
    for what_if in data["what_ifs"]:
        if what_if["name"] in weights:
            what_if["weight"] = weights[what_if["name"]]
    return data


def test_what_each_date_loses_is_told_in_one_table() -> None:
    """Known by Tuesday, Monday is a in all. Known by the second Monday, Tuesday cannot be b in one and c in the other."""
    ready: list[SharedOpening] = []
    compared = compare(scenario_from_data(costing()), SETTINGS)
    dates = [date.fromisoformat(each) for each in (TUESDAY, SECOND)]
    found = share_openings(compared, dates, SETTINGS, ready=ready.append)
    assert list(found) == ready and [each.until for each in found] == dates
    early, late = (losses_by_aim(each)[0] for each in found)
    assert (early.aim, early.greatest, early.total) == ("left out", 0, 0)
    assert (late.greatest, late.greatest_most, late.total, late.total_most) == (1, 1, 1, 1)
    assert found[1] == share_opening(compared, dates[1], SETTINGS)
    body = openings_json(found, True)
    assert [(each["until"], each["proven"], each["losses"][0]["total"]) for each in body["decisions"]] == [
        (TUESDAY, True, 0),
        (SECOND, True, 1),
    ]
    lines = openings_text(found, True).splitlines()
    assert lines[1].split() == ["known", "by", "opening", "left", "out"]
    assert lines[2].endswith("proven best  0; 0 in all") and lines[3].endswith("proven best  1; 1 in all")


def test_where_no_opening_exists_its_row_says_so() -> None:
    compared = compare(scenario_from_data(drawn({each: [by(each, MONDAY)] for each in "ab"})), SETTINGS)
    found = share_openings(compared, [date.fromisoformat(TUESDAY)], SETTINGS)
    assert losses_by_aim(found[0]) == ()
    assert "none exists" in openings_text(found, True)
    (row,) = openings_json(found, True)["decisions"]
    assert (row["status"], row["proven"], row["losses"]) == ("infeasible", True, [])


@pytest.mark.parametrize(("name", "lesson"), [("wants_b", "b"), ("wants_c", "c")])
def test_weights_of_what_ifs_are_those_of_the_opening(name: str, lesson: str) -> None:
    _, answer = shared(costing(**{name: 5}), SECOND)
    assert answer.weights == {"base": 1, "wants_b": 1, "wants_c": 1, name: 5}
    assert answer.opening["9B", (date.fromisoformat(TUESDAY), 1)] == ("9B", "u", lesson)


def test_weights_that_are_asked_for_replace_them() -> None:
    _, answer = shared(costing(wants_b=5), SECOND, {"wants_c": 2})
    assert answer.weights == {"base": 1, "wants_b": 1, "wants_c": 2}
    _, answer = shared(costing(wants_b=5), SECOND, {})
    assert answer.weights is None and {stage.what for stage in answer.stages} == {"greatest", "sum"}


def test_losses_count_by_weight() -> None:
    _, answer = shared(costing(wants_b=5, wants_c=3), SECOND)
    (losses,) = losses_by_aim(answer)
    assert (losses.greatest, losses.total) == (1, 3) == (1, answer.stages[0].value)


def test_a_weight_is_kept_when_it_is_written_and_must_be_one() -> None:
    read = scenario_from_data(costing(wants_b=5))
    assert load_scenario(scenario_yaml(read)) == read
    assert [each.weight for each in read.what_ifs] == [5, None]
    with pytest.raises(UnusableInput, match=r"what_ifs\[0\].weight"):
        scenario_from_data(costing(wants_b=0))


def test_the_command_line_takes_several_dates_and_tells_of_each(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "costing.json"
    file.write_text(json.dumps(costing(wants_b=5)), encoding="utf-8")
    asked = ["compare", str(file), "--opening-until", f"{SECOND},{TUESDAY}"]
    assert main(asked) == 0
    out, told = capsys.readouterr()
    assert "by weight" in out and "0; 0 in all" in out and "1; 1 in all" in out
    assert [line.partition(":")[0] for line in told.splitlines()] == [
        "base",
        "wants_b",
        "wants_c",
        "opening until Tue 3 Nov 2026",
        "opening until Mon 9 Nov 2026",
    ]
    assert (
        main(
            ["compare", str(file), "--opening-until", TUESDAY, "--opening-until", SECOND, "--weights", "none", "--format", "json"]
        )
        == 0
    )
    body = json.loads(capsys.readouterr().out)
    assert [each["weights"] for each in body["shared_openings"]] == [None, None]
    assert [each["until"] for each in body["decisions"]] == [TUESDAY, SECOND]


def test_what_the_command_line_cannot_be_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "costing.json"
    file.write_text(json.dumps(costing()), encoding="utf-8")
    assert main(["compare", str(file), "--opening-until", f"{SECOND},2031-01-01", "--weights", "wants_d=2"]) == 2
    told = capsys.readouterr().err
    assert "2031-01-01" in told and "weights, wants_d: names no future" in told
    assert main(["compare", str(file), "--weights", "none"]) == 2
    assert "belong to --opening-until" in capsys.readouterr().err
