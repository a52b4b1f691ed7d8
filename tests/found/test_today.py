"""Scenarios in which what is over, or what a rule leaves open, was once judged wrongly; each file says what should happen."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sequencer import Answer, SolveSettings, answer_json, load_scenario, solve
from sequencer.__main__ import main

FOLDER = Path(__file__).parent


def _text(name: str) -> str:
    return (FOLDER / name).read_text(encoding="utf-8")


def _answer(text: str) -> Answer:
    return solve(load_scenario(text), SolveSettings())


def _solved(text: str) -> dict[str, Any]:
    """The answer's body, which must be the best and sound."""
    body = answer_json(_answer(text))
    assert body["status"] == "optimal", body
    assert body["verdict"]["sound"], body["verdict"]
    return body


def _past(body: dict[str, Any]) -> list[int]:
    """The rules that what is over breaks."""
    assert all(breach["past"] for breach in body["verdict"]["breaches"])
    return [breach["rule"] for breach in body["verdict"]["breaches"]]


def _aim(body: dict[str, Any], name: str) -> int:
    return next(aim["value"] for aim in body["aims"] if aim["aim"] == name)  # type: ignore[no-any-return]


# -- what today takes away ---------------------------------------------------------------------------------------------


def test_a_place_that_is_gone_is_reported() -> None:
    body = _solved(_text("place-gone.yaml"))
    assert _past(body) == [8]


def test_a_place_that_was_never_there_leaves_no_sequence() -> None:
    # Without today the lab is there on 4 January; in a class whose lab was closed then too, it never was.
    text = _text("place-gone.yaml").replace("on: 2027-01-11", "on: [2027-01-04, 2027-01-11]")
    assert _answer(text).status == "infeasible"


def test_a_pair_of_which_today_leaves_no_order_is_reported() -> None:
    body = _solved(_text("both-to-be-placed.yaml"))
    assert _past(body) == [1]


def test_a_pair_that_never_had_an_order_leaves_no_sequence() -> None:
    # Had the class not met on the Friday before, L2 could never come after L1.
    text = _text("both-to-be-placed.yaml") + "closures: [{name: Closed, on: 2027-01-08}]\n"
    assert _answer(text).status == "infeasible"


def test_one_more_than_the_week_can_hold_is_a_breach(capsys: Any) -> None:
    code = main(["check", str(FOLDER / "past-at-the-limit.yaml"), str(FOLDER / "past-at-the-limit.json")])
    told = capsys.readouterr().out
    assert code == 1
    assert "9A: week 1 has 2 lessons, at most 1 asked" in told
    assert "Past" not in told


def test_what_a_parallel_class_had_before_its_first_period_is_prepared() -> None:
    body = _solved(_text("prep-before.yaml"))
    assert _aim(body, "even week") == 0


# -- what a rule leaves open -------------------------------------------------------------------------------------------


def test_what_is_chosen_without_room_is_carried_over() -> None:
    body = _solved(_text("chosen-refused.yaml"))
    assert [row["date"] for row in body["lessons"]] == ["2027-01-11"]
    assert _aim(body, "carried over") == 1


def test_a_delivered_lesson_may_be_late_on_any_date(capsys: Any) -> None:
    assert main(["check", str(FOLDER / "late-any-date.yaml"), str(FOLDER / "late-any-date.sequence.json")]) == 0


def test_a_strict_quota_asks_nothing_of_weeks_in_class() -> None:
    _solved(_text("strict-quota.yaml"))


def test_practice_that_was_skipped_is_owed_no_more() -> None:
    body = _solved(_text("practice-skipped.yaml"))
    assert _aim(body, "carried over") == 0


def test_practice_of_what_is_not_dense_comes_after_it_all_the_same() -> None:
    assert _answer(_text("practice-not-dense.yaml")).status == "infeasible"
