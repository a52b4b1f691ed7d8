"""A worker process that dies, takes too much or heeds nothing costs one request; the next one has a fresh process."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import sys
import threading
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import httpx
import pytest

from api.app import create_app
from api.errors import problem_of
from api.settings import Settings
from sequencer.workers.pool import Allowance, Ending, Pool
from sequencer.workers.process import WorkerProcess
from sequencer.workers.refusals import Defect, ShuttingDown, TooMuch, WorkerDied
from sequencer.workers.serving import Caller
from tests.api import greedy
from tests.api.service import JSON, PATIENCE, SMALL, YAML, client_of, problem, until
from tests.api.test_streaming import EVENTS, events_of
from tests.published import langford

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")

ENDLESS = json.dumps(langford(30)).encode()
"""Not proven impossible in minutes: see ``test_process``."""

in_memory_of_linux = pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is read from /proc")


def done(worker: WorkerProcess, job: Callable[[Caller], Any], ending: Ending | None = None) -> Any:
    """Have a job done."""
    return worker.work(job, ending or Ending(), lambda _: None)


@pytest.fixture(name="worker")
def a_worker() -> Any:
    """Return a worker of its own for a test."""
    worker = WorkerProcess(300, "api.work")
    yield worker
    worker.close()


# -- one process -------------------------------------------------------------------------------------------------------


def test_one_process_does_job_after_job_and_it_is_another_one(worker: WorkerProcess) -> None:
    first = done(worker, greedy.own_number)
    assert first == done(worker, greedy.own_number) == worker.pid
    assert first != os.getpid()


def test_one_that_dies_fails_its_job_and_the_next_job_has_another(worker: WorkerProcess, tmp_path: Path) -> None:
    first = done(worker, greedy.own_number)
    trace = tmp_path / "trace"
    with pytest.raises(WorkerDied):
        done(worker, partial(greedy.die, str(trace)))
    # What ends one process would end the next one too.
    assert trace.read_text(encoding="utf-8") == "died\n"
    assert done(worker, greedy.own_number) != first


def test_one_that_dies_while_it_has_nothing_to_do_fails_nothing(worker: WorkerProcess) -> None:
    first = done(worker, greedy.own_number)
    os.kill(first, signal.SIGKILL)
    assert done(worker, greedy.own_number) != first


def test_a_listener_that_fails_leaves_nothing_for_the_next_job(worker: WorkerProcess) -> None:
    def fail(_: object) -> None:
        raise RuntimeError("the loop that listened is closed")

    with pytest.raises(RuntimeError, match="closed"):
        worker.work(partial(greedy.tell_and_end, "first"), Ending(), fail)
    assert done(worker, partial(greedy.tell_and_end, "second")) == "second"


def test_a_job_that_the_process_cannot_take_is_answered(worker: WorkerProcess, monkeypatch: pytest.MonkeyPatch) -> None:
    done(worker, greedy.own_number)
    # What cannot be unpacked at the other end, in the place of a message.
    monkeypatch.setattr("sequencer.workers.process.WORK", greedy.Unreadable())
    with pytest.raises(WorkerDied):
        done(worker, greedy.own_number)


@in_memory_of_linux
@pytest.mark.parametrize("job", [greedy.take_slowly, greedy.take_at_once])
def test_more_memory_than_allowed_ends_the_job_with_the_name_of_the_limit(worker: WorkerProcess, job: Any) -> None:
    assert done(worker, partial(job, 20)) in (20, 20_000_000)
    with pytest.raises(TooMuch) as refusal:
        done(worker, partial(job, 2000))
    status, body = problem_of(refusal.value, {})
    assert (status, body["limit"], body["most"], body["setting"]) == (413, "memory", 300, "SEQUENCER_MOST_MEMORY")
    assert body["type"] == "/v1/problems/too-much-memory" and "300 MB" in body["detail"]
    assert done(worker, partial(job, 20)) in (20, 20_000_000)


def test_one_that_heeds_nothing_is_ended_when_patience_is(worker: WorkerProcess) -> None:
    first = done(worker, greedy.own_number)
    ending = Ending()
    threading.Timer(0.1, ending.end, (0.1,)).start()
    with pytest.raises(ShuttingDown):
        done(worker, greedy.heed_nothing, ending)
    assert done(worker, greedy.own_number) != first


@pytest.mark.parametrize("text", [b"", b"x" * 3_000_000], ids=["small", "more than a pipe holds"])
def test_one_that_is_stopped_while_it_has_nothing_to_do_fails_nothing(
    worker: WorkerProcess, text: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sequencer.workers.process.ANSWERING_SECONDS", 0.3)
    first = done(worker, greedy.own_number)
    os.kill(first, signal.SIGSTOP)
    assert done(worker, partial(greedy.length_of, text)) == len(text)
    assert worker.pid != first
    with pytest.raises(ProcessLookupError):
        os.kill(first, 0)


def test_one_that_is_stopped_before_its_first_job_fails_nothing(worker: WorkerProcess, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sequencer.workers.process.ANSWERING_SECONDS", 0.3)
    worker.start()
    first = worker.pid
    assert first is not None
    os.kill(first, signal.SIGSTOP)
    assert done(worker, greedy.own_number) != first


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are looked at in /proc")
def test_one_that_is_stopped_at_work_fails_its_job_and_the_next_job_has_another(worker: WorkerProcess) -> None:
    first = done(worker, greedy.own_number)
    with pytest.raises(WorkerDied, match="was stopped"):
        done(worker, greedy.be_stopped)
    assert done(worker, greedy.own_number) != first


def test_closing_ends_one_that_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sequencer.workers.process.EXIT_SECONDS", 0.2)
    worker = WorkerProcess(300, "api.work")
    number = done(worker, greedy.own_number)
    os.kill(number, signal.SIGSTOP)
    worker.close()
    with pytest.raises(ProcessLookupError):
        os.kill(number, 0)


def test_one_whose_time_is_up_is_told_so(worker: WorkerProcess) -> None:
    assert done(worker, greedy.until_stopped, Ending(Allowance(0.1, PATIENCE))) == "time"


def test_one_that_overruns_its_grace_is_ended(worker: WorkerProcess) -> None:
    first = done(worker, greedy.own_number)
    with pytest.raises(TooMuch) as refusal:
        done(worker, greedy.heed_nothing, Ending(Allowance(0.2, 0.1)))
    status, body = problem_of(refusal.value, {})
    assert (status, body["limit"], body["most"], body["setting"]) == (503, "grace", 0.1, "SEQUENCER_GRACE")
    assert body["type"] == "/v1/problems/worker-overran" and "0.2 s allowed" in body["detail"]
    assert done(worker, greedy.own_number) != first


def test_a_reading_that_takes_longer_than_any_may_is_ended(worker: WorkerProcess) -> None:
    with pytest.raises(TooMuch) as refusal:
        done(worker, greedy.heed_nothing, Ending(Allowance(100, 2), 0.2))
    status, body = problem_of(refusal.value, {})
    assert (status, body["limit"], body["setting"]) == (413, "reading_seconds", "SEQUENCER_MOST_READING_SECONDS")
    assert done(worker, partial(greedy.length_of, b"x")) == 1


@pytest.mark.parametrize("number", range(len(greedy.FAILURES)))
def test_what_a_job_raises_arrives_whole(worker: WorkerProcess, number: int) -> None:
    expected = greedy.FAILURES[number]
    with pytest.raises(type(expected)) as raised:
        done(worker, partial(greedy.fail, number))
    assert (str(raised.value), vars(raised.value)) == (str(expected), vars(expected))


def test_a_defect_is_logged_with_its_lines_and_without_what_it_says(
    worker: WorkerProcess, caplog: pytest.LogCaptureFixture
) -> None:
    with pytest.raises(Defect) as raised:
        done(worker, partial(greedy.fail_by_a_defect, "secret"))
    assert "KeyError at greedy.py:" in caplog.text
    assert "secret" not in caplog.text + str(raised.value)


def test_closing_ends_the_process() -> None:
    worker = WorkerProcess(300, "api.work")
    number = done(worker, greedy.own_number)
    worker.close()
    with pytest.raises(ProcessLookupError):
        os.kill(number, 0)


# -- the service -------------------------------------------------------------------------------------------------------


def workers_of(pool: Pool) -> list[WorkerProcess]:
    """Return the processes of a pool."""
    return [worker for worker in pool.workers if isinstance(worker, WorkerProcess)]


async def solving(client: httpx.AsyncClient, number: int) -> None:
    """Wait until so many solves run."""

    async def true() -> bool:
        return bool((await client.get("/healthz")).json()["running"] == number)

    await until(true)


@pytest.mark.parametrize("accept", [JSON, EVENTS])
def test_a_solving_process_that_is_killed_fails_exactly_one_request(accept: str) -> None:
    async def steps() -> None:
        app = create_app(Settings(running=2, waiting=1))
        solves: Pool = app.state.solves
        async with client_of(app) as client:
            headers = {"Content-Type": JSON, "Accept": accept}
            asked = [
                asyncio.ensure_future(client.post("/v1/sequences?seconds=2", content=ENDLESS, headers=headers)) for _ in range(2)
            ]
            await solving(client, 2)
            small = asyncio.ensure_future(client.post("/v1/sequences", content=SMALL, headers={"Content-Type": YAML}))
            victim = workers_of(solves)[0]

            async def works() -> bool:
                return victim.busy

            await until(works)
            assert victim.pid is not None
            os.kill(victim.pid, signal.SIGKILL)
            responses = [await each for each in asked]
            if accept == JSON:
                failed, other = sorted(responses, key=lambda each: -each.status_code)
                document = problem(failed, 500)
                answer = other.json()
            else:
                last = dict(events_of(response.text)[-1] for response in responses)
                document, answer = last["problem"], last["answer"]
            assert document["type"] == "/v1/problems/worker-died" and "Only this request" in document["detail"]
            assert (await client.get(document["type"])).json()["status"] == 500
            assert answer["status"] == "unknown"
            # What waited for its turn is served by a fresh process, and so is what comes now.
            assert (await small).json()["status"] == "optimal"
            both = [client.post("/v1/sequences", content=SMALL, headers={"Content-Type": YAML}) for _ in range(2)]
            assert [each.json()["status"] for each in await asyncio.gather(*both)] == ["optimal", "optimal"]
            assert (await client.get("/healthz")).json() == {"status": "ok", "running": 0, "waiting": 0}

    asyncio.run(steps())


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are looked at in /proc")
@pytest.mark.parametrize("accept", [JSON, EVENTS])
def test_a_solving_process_that_is_stopped_fails_its_request_and_its_place_is_free_again(accept: str) -> None:
    async def steps() -> None:
        app = create_app(Settings(running=1, waiting=0))
        async with client_of(app) as client:
            headers = {"Content-Type": JSON, "Accept": accept}
            asked = asyncio.ensure_future(client.post("/v1/sequences?seconds=100", content=ENDLESS, headers=headers))
            await solving(client, 1)
            (victim,) = workers_of(app.state.solves)

            async def works() -> bool:
                return victim.busy

            await until(works)
            assert victim.pid is not None
            os.kill(victim.pid, signal.SIGSTOP)
            response = await asked
            document = problem(response, 500) if accept == JSON else dict(events_of(response.text))["problem"]
            assert document["type"] == "/v1/problems/worker-died" and "was stopped" in document["detail"]
            answer = await client.post("/v1/sequences", content=SMALL, headers={"Content-Type": YAML})
            assert answer.json()["status"] == "optimal"

    asyncio.run(steps())


def test_all_that_is_done_for_a_request_has_its_seconds() -> None:
    async def steps() -> None:
        async with client_of(create_app(Settings(running=1, grace=0.05))) as client:
            # Laying out so much and reading it takes longer than that.
            units = [
                {"id": f"u{number}", "lessons": [{"id": f"l{number}-{each}"} for each in range(10)]} for number in range(800)
            ]
            large = json.dumps({"format": 1, "units": units}).encode()
            response = await client.post("/v1/sequences?seconds=0.001", content=large, headers={"Content-Type": JSON})
            assert problem(response, 503)["limit"] == "grace"
        async with client_of(create_app(Settings(running=1))) as client:
            response = await client.post("/v1/sequences?seconds=0.3", content=ENDLESS, headers={"Content-Type": JSON})
            assert (response.json()["status"], response.json()["run"]["stopped_by"]) == ("unknown", "time")

    asyncio.run(steps())


@in_memory_of_linux
def test_a_solve_that_takes_too_much_memory_is_ended_and_said_so(worker: WorkerProcess) -> None:
    done(worker, greedy.own_number)
    # Room for the small scenario (15 MB), not for the other (60 MB).
    most = worker.used() // 1_000_000 + 30

    async def steps() -> None:
        async with client_of(create_app(Settings(running=1, most_memory=most))) as client:
            response = await client.post("/v1/sequences?seconds=50", content=ENDLESS, headers={"Content-Type": JSON})
            body = problem(response, 413)
            assert (body["type"], body["most"]) == ("/v1/problems/too-much-memory", most)
            answer = await client.post("/v1/sequences", content=SMALL, headers={"Content-Type": YAML})
            assert answer.json()["status"] == "optimal"

    asyncio.run(steps())


def test_a_process_of_a_request_that_is_not_wanted_any_more_is_free_again() -> None:
    async def steps() -> None:
        app = create_app(Settings(running=1, waiting=0))
        async with client_of(app) as client:
            for accept in (JSON, EVENTS):
                headers = {"Content-Type": JSON, "Accept": accept}
                asked = asyncio.ensure_future(client.post("/v1/sequences?seconds=100", content=ENDLESS, headers=headers))
                await solving(client, 1)
                asked.cancel()
                async with asyncio.timeout(PATIENCE):
                    await solving(client, 0)
                answer = await client.post("/v1/sequences", content=SMALL, headers={"Content-Type": YAML})
                assert answer.json()["status"] == "optimal"

    asyncio.run(steps())
