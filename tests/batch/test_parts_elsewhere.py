"""Classes asked elsewhere give the answer that they give here, over a cluster of any size; a worker may be lost."""

from __future__ import annotations

import os
import pickle
import signal
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from random import Random
from typing import Any

import pytest

from sequencer import (
    Answer,
    PartAnswer,
    PartQuestion,
    PartsBuilt,
    Recipe,
    Scenario,
    SolveSettings,
    StopSignal,
    answer_json,
    scenario_from_data,
    solve,
)
from sequencer.__main__ import main
from sequencer.solver.prices.pricing import PricedPart
from sequencer.workers.parts_elsewhere import PartsElsewhere
from tests.batch.folder import put
from tests.batch.test_cluster import needs_distributed
from tests.batch.test_processes import there
from tests.benchmarks.schools import part_of_department
from tests.test_prices import without_a_model_of_all
from tests.test_worth import _drawn as drawn

SETTINGS = SolveSettings(seconds=300, effort=4.0)


class Beside:
    """Answers from models built apart, as a worker does; loses every so manieth question."""

    def __init__(self, scenario: Scenario, loses: int = 0) -> None:
        self._built, self._loses = PartsBuilt(Recipe(scenario)), loses
        self.sizes: list[int] = []

    def __call__(self, questions: Sequence[PartQuestion]) -> list[PartAnswer | None]:
        answers: list[PartAnswer | None] = []
        for each in questions:
            self.sizes.append(len(pickle.dumps(each)))
            lost = self._loses and len(self.sizes) % self._loses == 0
            answers.append(None if lost else pickle.loads(pickle.dumps(self._built.answer(each))))
        return answers


def same(one: Answer, other: Answer) -> bool:
    return without_run(one) == without_run(other)


def without_run(answer: Answer) -> dict[str, Any]:
    return {key: value for key, value in answer_json(answer).items() if key != "run"}


@pytest.mark.parametrize("together", [True, False])
def test_elsewhere_it_is_the_same(together: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    if not together:
        without_a_model_of_all(monkeypatch)
    for data in (drawn(Random("worth 7")), drawn(Random("worth 23"))):
        scenario = scenario_from_data(data)
        here = solve(scenario, SETTINGS)
        for loses in (0, 3):
            beside = Beside(scenario, loses)
            assert same(solve(scenario, SETTINGS, elsewhere=beside), here)
            assert len(beside.sizes) > 3 and max(beside.sizes) < 4000
        assert here.run.repeatable


def test_elsewhere_only_cheaper_sequences_are_asked_for_as_here(monkeypatch: pytest.MonkeyPatch) -> None:
    begin = PricedPart.begin

    def begin_hard(self: PricedPart) -> None:
        begin(self)
        self.hard = True

    monkeypatch.setattr(PricedPart, "begin", begin_hard)
    scenario = scenario_from_data(drawn(Random("worth 7")))
    assert same(solve(scenario, SETTINGS, elsewhere=Beside(scenario)), solve(scenario, SETTINGS))


def test_elsewhere_six_classes_of_a_department_are_the_same() -> None:
    """Their models have no hint at first, and are asked so elsewhere, too."""
    scenario = scenario_from_data(part_of_department(6))
    beside = Beside(scenario)
    assert same(solve(scenario, SETTINGS, elsewhere=beside), solve(scenario, SETTINGS))
    assert len(beside.sizes) > 20 and max(beside.sizes) < 8000


def test_another_model_elsewhere_is_not_asked() -> None:
    scenario, other = (scenario_from_data(drawn(Random(f"worth {seed}"))) for seed in (7, 23))
    refused = 0

    def ask(questions: Sequence[PartQuestion]) -> list[PartAnswer | None]:
        nonlocal refused
        for each in questions:
            with pytest.raises(ValueError, match="another one here"):
                PartsBuilt(Recipe(other)).answer(each)
            refused += 1
        return [None] * len(questions)

    assert same(solve(scenario, SETTINGS, elsewhere=ask), solve(scenario, SETTINGS))
    assert refused


@needs_distributed
def test_over_a_cluster_in_this_process_it_is_the_same(tmp_path: Any, capsys: pytest.CaptureFixture[str]) -> None:
    import distributed

    started: Any = distributed.LocalCluster
    with started(n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None) as cluster:
        put(tmp_path, "a.json", drawn(Random("worth 7")))
        told = []
        for more in ([], ["--cluster", cluster.scheduler_address]):
            assert main(["sequence", str(tmp_path / "a.json"), *more]) == 0
            told.append(capsys.readouterr().out.splitlines()[:-1])
        assert told[0] == told[1]


@contextmanager
def workers(count: int) -> Iterator[tuple[Any, Any]]:
    """Start so many workers, each in a process of its own, and a client of theirs."""
    import distributed

    started: Any = distributed
    cluster = started.LocalCluster(n_workers=count, threads_per_worker=1, processes=True, dashboard_address=None)
    with cluster, started.Client(cluster, set_as_default=False) as client:
        yield cluster, client


@pytest.mark.slow
@needs_distributed
@pytest.mark.parametrize("count", [1, 2, 4])
def test_with_any_number_of_workers_it_is_the_same(count: int, department: tuple[Scenario, Answer]) -> None:
    scenario, here = department
    with workers(count) as (_, client):
        elsewhere = PartsElsewhere(client, Recipe(scenario), StopSignal())
        assert same(solve(scenario, SETTINGS, elsewhere=elsewhere), here)
        assert len(elsewhere.answers) > 5


@pytest.mark.slow
@needs_distributed
def test_a_worker_that_is_killed_costs_nothing_but_time(department: tuple[Scenario, Answer]) -> None:
    scenario, here = department
    with workers(2) as (cluster, client):
        elsewhere = PartsElsewhere(client, Recipe(scenario), StopSignal())
        killed: list[int] = []

        def kill_one_that_works() -> None:
            while not killed:
                busy = [address for address, tasks in client.processing().items() if tasks]
                if busy and elsewhere.answers:
                    killed.append(next(each.pid for each in cluster.workers.values() if each.worker_address == busy[0]))
                    os.kill(killed[0], signal.SIGKILL)
                time.sleep(0.01)

        killing = threading.Thread(target=kill_one_that_works, daemon=True)
        killing.start()
        assert same(solve(scenario, SETTINGS, elsewhere=elsewhere), here)
        killing.join(5)
        assert killed and not there(killed[0])


@pytest.fixture(name="department", scope="module")
def six_classes_of_a_department() -> tuple[Scenario, Answer]:
    scenario = scenario_from_data(part_of_department(6))
    return scenario, solve(scenario, SETTINGS)
