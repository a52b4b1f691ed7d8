"""Solves run a few at a time, never hold up the rest, and end when nobody wants them."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import MutableMapping
from typing import Any

import httpx
import pytest

from api.app import create_app
from api.settings import Settings
from sequencer.workers.pool import Ending, Pool
from sequencer.workers.refusals import ClientGone, Defect, PoolFull, ShuttingDown
from sequencer.workers.serving import Caller, Job, Tell
from tests.api.service import PATIENCE, SMALL, YAML, BlockedSolve, InThisProcess, client_of, problem, scope_of, until

ONE_PLACE = Settings(running=1, waiting=0, retry_after=7)


async def for_ever() -> None:
    """Stay, as a client that waits does."""
    await asyncio.Event().wait()


def until_stopped(caller: Caller) -> str:
    """Run until the signal is given."""
    wait = threading.Event()
    for _ in range(PATIENCE * 100):
        if caller.stop.stopped:
            return "stopped"
        wait.wait(0.01)
    raise AssertionError("nobody stopped the job")


async def post(client: httpx.AsyncClient) -> httpx.Response:
    """Post the small scenario."""
    return await client.post("/v1/sequences", content=SMALL, headers={"Content-Type": YAML})


# -- the pool ----------------------------------------------------------------------------------------------------------


def test_a_job_ends_with_its_result_or_with_what_it_raised() -> None:
    def fails(_: Caller) -> None:
        raise ZeroDivisionError("on purpose")

    async def steps() -> None:
        pool = Pool(1, 0, 1, InThisProcess)
        assert await pool.run(lambda _: 42, for_ever) == 42
        with pytest.raises(Defect):
            await pool.run(fails, for_ever)
        assert await pool.run(lambda _: 43, for_ever) == 43
        assert pool.counts() == (0, 0)
        await pool.closed()

    asyncio.run(steps())


def test_workers_get_ready_while_others_go_on_and_jobs_wait_for_them() -> None:
    go, seen = threading.Event(), []

    class Slow(InThisProcess):
        def start(self) -> None:
            assert go.wait(PATIENCE)
            seen.append("ready")

        def work(self, job: Job, ending: Ending, tell: Tell) -> Any:
            seen.append("works")
            return super().work(job, ending, tell)

    pool = Pool(2, 1, 1, Slow)
    pool.start()
    jobs = [pool.begin(lambda _: 42)[0] for _ in range(3)]
    assert seen == []
    go.set()
    assert [job.result(PATIENCE) for job in jobs] == [42, 42, 42]
    pool.close()
    pool.wait_closed()
    assert sorted(seen) == ["ready", "ready", "works", "works", "works"] and seen[0] == "ready"


def test_what_finds_no_place_is_turned_away_and_what_waits_has_its_turn() -> None:
    async def steps() -> None:
        pool = Pool(1, 1, 9, InThisProcess)
        begun, go = threading.Event(), threading.Event()

        def first(_: Caller) -> int:
            begun.set()
            assert go.wait(PATIENCE)
            return 1

        running = asyncio.ensure_future(pool.run(first, for_ever))
        assert await asyncio.to_thread(begun.wait, PATIENCE)
        waiting = asyncio.ensure_future(pool.run(lambda _: 2, for_ever))
        await asyncio.sleep(0)
        assert pool.counts() == (1, 1)
        with pytest.raises(PoolFull) as refusal:
            await pool.run(lambda _: 3, for_ever)
        assert refusal.value.headers == {"Retry-After": "9"}
        with pytest.raises(PoolFull):
            pool.refuse_if_full()

        go.set()
        assert await asyncio.gather(running, waiting) == [1, 2]
        pool.refuse_if_full()
        assert await pool.run(lambda _: 4, for_ever) == 4
        await pool.closed()

    asyncio.run(steps())


def test_a_job_that_nobody_wants_is_stopped_and_keeps_its_place_until_it_has_ended() -> None:
    async def steps() -> None:
        pool = Pool(1, 0, 1, InThisProcess)
        begun, stopped, may_end, ended = (threading.Event() for _ in range(4))
        leave = asyncio.Event()

        def job(caller: Caller) -> None:
            begun.set()
            until_stopped(caller)
            stopped.set()
            assert may_end.wait(PATIENCE)
            ended.set()

        running = asyncio.ensure_future(pool.run(job, leave.wait))
        assert await asyncio.to_thread(begun.wait, PATIENCE)
        leave.set()
        with pytest.raises(ClientGone):
            await running
        assert await asyncio.to_thread(stopped.wait, PATIENCE)
        assert not ended.is_set()
        with pytest.raises(PoolFull):
            pool.refuse_if_full()
        may_end.set()
        await pool.closed()
        assert ended.is_set()
        assert pool.counts() == (0, 0)

    asyncio.run(steps())


def test_a_job_that_waits_and_that_nobody_wants_never_runs() -> None:
    async def steps() -> None:
        pool = Pool(1, 1, 1, InThisProcess)
        begun, go, leave, ran = threading.Event(), threading.Event(), asyncio.Event(), threading.Event()

        def first(_: Caller) -> None:
            begun.set()
            assert go.wait(PATIENCE)

        running = asyncio.ensure_future(pool.run(first, for_ever))
        assert await asyncio.to_thread(begun.wait, PATIENCE)
        waiting = asyncio.ensure_future(pool.run(lambda _: ran.set(), leave.wait))
        await asyncio.sleep(0)
        leave.set()
        with pytest.raises(ClientGone):
            await waiting

        async def left() -> bool:
            return pool.counts() == (1, 0)

        await until(left)
        go.set()
        await running
        await pool.closed()
        assert not ran.is_set()

    asyncio.run(steps())


def test_a_request_that_is_cancelled_stops_its_job() -> None:
    async def steps() -> None:
        pool = Pool(1, 0, 1, InThisProcess)
        begun, stopped = threading.Event(), threading.Event()

        def job(caller: Caller) -> None:
            begun.set()
            until_stopped(caller)
            stopped.set()

        running = asyncio.ensure_future(pool.run(job, for_ever))
        assert await asyncio.to_thread(begun.wait, PATIENCE)
        running.cancel()
        with pytest.raises(asyncio.CancelledError):
            await running
        # Closing the pool would stop it too.
        assert await asyncio.to_thread(stopped.wait, PATIENCE)
        await pool.closed()

    asyncio.run(steps())


def test_closing_stops_what_runs_cancels_what_waits_and_takes_nothing_more() -> None:
    async def steps() -> None:
        pool = Pool(1, 1, 1, InThisProcess)
        begun, ran = threading.Event(), threading.Event()

        def job(caller: Caller) -> str:
            begun.set()
            return until_stopped(caller)

        running = asyncio.ensure_future(pool.run(job, for_ever))
        assert await asyncio.to_thread(begun.wait, PATIENCE)
        waiting = asyncio.ensure_future(pool.run(lambda _: ran.set(), for_ever))
        await asyncio.sleep(0)
        pool.close()
        # The one that runs still says what it has.
        assert await running == "stopped"
        with pytest.raises(ShuttingDown):
            await waiting
        with pytest.raises(ShuttingDown):
            await pool.run(lambda _: ran.set(), for_ever)
        await pool.closed()
        assert not ran.is_set()

    asyncio.run(steps())


# -- the service -------------------------------------------------------------------------------------------------------


def test_a_full_pool_answers_503_and_says_when_to_try_again(monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = BlockedSolve(monkeypatch)

    async def steps() -> None:
        async with client_of(create_app(ONE_PLACE, InThisProcess)) as client:
            first = asyncio.ensure_future(post(client))
            await blocked.has_begun()
            second = await post(client)
            problem(second, 503)
            assert second.headers["retry-after"] == "7"
            blocked.go.set()
            assert (await first).json()["status"] == "optimal"
            assert (await post(client)).json()["status"] == "optimal"

    asyncio.run(steps())


def test_health_schema_and_checks_are_answered_while_solves_run(monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = BlockedSolve(monkeypatch)

    async def steps() -> None:
        async with client_of(create_app(Settings(running=1, waiting=1), InThisProcess)) as client:
            assert (await client.get("/healthz")).json() == {"status": "ok", "running": 0, "waiting": 0}
            solves = [asyncio.ensure_future(post(client))]
            await blocked.has_begun()
            solves.append(asyncio.ensure_future(post(client)))

            async def one_waits() -> bool:
                return bool((await client.get("/healthz")).json() == {"status": "ok", "running": 1, "waiting": 1})

            await until(one_waits)
            assert (await client.get("/v1/scenario-schema")).status_code == 200
            checked = await client.post("/v1/checks", content=b"{}", headers={"Content-Type": YAML})
            problem(checked, 422)
            assert not any(solve.done() for solve in solves)
            blocked.go.set()
            assert {(await solve).status_code for solve in solves} == {200}

    asyncio.run(steps())


def test_a_client_that_goes_away_stops_its_solve(monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = BlockedSolve(monkeypatch)

    async def steps() -> None:
        app = create_app(ONE_PLACE, InThisProcess)
        left = asyncio.Event()
        whole = [{"type": "http.request", "body": SMALL, "more_body": False}]

        async def receive() -> dict[str, Any]:
            if whole:
                return whole.pop()
            await left.wait()
            return {"type": "http.disconnect"}

        async def send(message: MutableMapping[str, Any]) -> None:
            assert message.get("status") != 200

        async with client_of(app) as client:
            request = asyncio.ensure_future(app(scope_of("/v1/sequences", {"Content-Type": YAML}), receive, send))
            await blocked.has_begun()
            left.set()
            await request

            async def none_runs() -> bool:
                return bool((await client.get("/healthz")).json()["running"] == 0)

            await until(none_runs)
        assert blocked.stopped == [True]

    asyncio.run(steps())


def test_shutdown_stops_solves_that_run(monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = BlockedSolve(monkeypatch)

    async def steps() -> None:
        async with client_of(create_app(ONE_PLACE, InThisProcess)) as client:
            running = asyncio.ensure_future(post(client))
            await blocked.has_begun()
        body = (await running).json()
        assert blocked.stopped == [True]
        assert (body["status"], body["run"]["stopped_by"]) == ("unknown", "hand")

    asyncio.run(steps())
