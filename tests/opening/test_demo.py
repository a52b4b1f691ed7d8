"""The demo of five futures with the opening they share until it is decided which comes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sequencer.__main__ import main
from tests.builders import Data

DEMO = Path(__file__).parents[2] / "scenarios" / "five-futures.yaml"


def body_of(capsys: pytest.CaptureFixture[str], *options: str) -> Data:
    assert main(["compare", str(DEMO), "--format", "json", *options]) == 0
    found: Data = json.loads(capsys.readouterr().out)["shared_opening"]
    return found


def test_the_demo_shares_its_opening_at_a_price_for_one_future_alone(capsys: pytest.CaptureFixture[str]) -> None:
    body = body_of(capsys, "--opening-until", "2026-11-23")
    assert body["status"] == "optimal"
    assert {
        (each["name"], loss["aim"]): loss["loss"] for each in body["continuations"] for loss in each["losses"] if loss["loss"]
    } == {("test a week earlier", "distance"): 4}
    before = {(each["date"], each["period"]): each["lesson"] for each in body["opening"] if each["lesson"]}
    assert len(before) >= 13
    for each in body["continuations"]:
        laid = {(lesson["date"], lesson["period"]): lesson["lesson"] for lesson in each["lessons"]}
        assert {period: lesson for period, lesson in laid.items() if period[0] < "2026-11-23"} == before


def test_the_demo_fits_on_a_screen_and_bad_options_are_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(DEMO), "--opening-until", "2026-11-16"]) == 0
    text = capsys.readouterr().out
    assert "One opening before Mon 16 Nov 2026, proven best for the worst case." in text
    assert len(text.splitlines()) <= 50
    assert main(["compare", str(DEMO), "--weights", "base=2"]) == 2
    assert main(["compare", str(DEMO), "--opening-until", "2026-11-16", "--weights", "=2"]) == 2
    assert main(["compare", str(DEMO), "--opening-until", "2026-11-16", "--close"]) == 2
    told = capsys.readouterr().err
    assert "weights belong to --opening-until" in told
    assert "must be a name and a whole number" in told
    assert "close cannot be asked for with a shared opening" in told
