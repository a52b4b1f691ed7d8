"""That the benchmark works, on its smallest instances: no times are judged here, and nothing large is solved."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sequencer import check, scenario_from_data, sequence_from_data
from tests.benchmarks import __main__ as command
from tests.benchmarks import report
from tests.benchmarks.experts import VARIANTS
from tests.benchmarks.instances import PUBLISHED, SAVED, benchmark, names
from tests.benchmarks.measure import run_alone


@pytest.mark.parametrize("several", [False, pytest.param(True, marks=pytest.mark.slow)], ids=["one", "several"])
@pytest.mark.parametrize("family", SAVED)
def test_saved_instances_read_and_their_known_sequences_keep_all_rules(family: str, several: bool) -> None:
    draw, seeds, _ = SAVED[family]
    for seed in seeds[:: max(1, len(seeds) // 3)] if several else seeds[:1]:
        instance = benchmark(f"{family}-{seed}")
        scenario = scenario_from_data(instance.scenario)
        verdict = check(scenario, sequence_from_data(scenario, list(instance.known)))
        assert verdict.sound, verdict.breaches[:2]
        # One lesson fewer breaks a rule: the check can fail.
        assert not check(scenario, sequence_from_data(scenario, list(instance.known[1:]))).sound
        # What is saved is what the generator draws, under this seed or the next that has a sequence.
        again = (draw(seed + 1000 * turn) if family != "growth" else draw(seed) for turn in range(30))
        assert any(json.loads(json.dumps(drawn)) == instance.scenario for drawn in again)


def test_there_are_as_many_instances_as_are_meant() -> None:
    assert len(names()) == len(set(names())) == len(PUBLISHED) + 50 + 10 + 5 + 10 + 3 + 1 + 8


@pytest.mark.parametrize("name", ["cars-10", pytest.param("half-term-2", marks=pytest.mark.slow)])
def test_expert_models_obey_the_referee_and_reach_our_values(name: str) -> None:
    """Two models written apart, judged by a third reading: the same proven values, or one of them is wrong."""
    mine = run_alone(name, 60, 1, 0)
    assert mine["status"] == "optimal" and mine["sound"], mine
    expert = benchmark(name).expert
    assert expert is not None
    for variant in VARIANTS[expert]:
        theirs = run_alone(name, 60, 1, 0, variant)
        assert theirs["sound"], theirs
        assert report.agreement(mine, theirs) == "same values, proven by both"
        spoilt = {**theirs, "aims": [[aim, value + 1, bound] for aim, value, bound in theirs["aims"]] or [["left out", 1, 1]]}
        assert report.agreement(mine, spoilt).startswith(report.WRONG)


@pytest.mark.slow
def test_the_report_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(command, "RESULTS", tmp_path)
    assert command.main(["cars-10", "growth-15", "growth-30", "--seconds", "4", "--repeats", "1", "--write"]) == 0
    (written,) = tmp_path.glob("*.md")
    text = written.read_text(encoding="utf-8")
    assert capsys.readouterr().out.strip() in text
    for words in ("| cars-10 ", "| growth-30 ", "same values, proven by both", "exponent", "OR-Tools"):
        assert words in text


def test_the_fitted_exponent_is_the_slope_of_the_logarithms() -> None:
    # Times of 2 n^3 have the exponent 3 exactly; one size alone has none.
    assert report.fitted_exponent((size, 2.0 * size**3) for size in (15, 30, 60, 120)) == pytest.approx(3)
    assert report.fitted_exponent([(15, 1.0)]) is None


def test_gaps_are_told_apart_from_proofs() -> None:
    told = [report.aim_text(*aim) for aim in ((57, 57), (57, 57, True), (50, 45, True), (None, None))]
    assert told == ["57", "57*", "50 ≥ 45 (10%)*", "none"]


def test_an_unknown_name_is_told() -> None:
    with pytest.raises(SystemExit):
        command.main(["no-such-family"])
