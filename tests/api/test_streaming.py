"""An answer as a stream of events: improvements, heartbeats, the answer, and a clean end."""

from __future__ import annotations

import asyncio
import json
from collections.abc import MutableMapping
from itertools import pairwise
from typing import Any

import pytest

from api.app import create_app
from api.settings import Settings
from tests.api.service import (
    JSON,
    PATIENCE,
    SCENARIOS,
    SMALL,
    YAML,
    BlockedSolve,
    InThisProcess,
    ask,
    client_of,
    problem,
    scope_of,
    until,
)

EVENTS = "text/event-stream"


def events_of(text: str) -> list[tuple[str, Any]]:
    """Return the events of a stream with their data; a comment stands by itself with none."""
    assert text.endswith("\n\n")
    found: list[tuple[str, Any]] = []
    for block in text[:-2].split("\n\n"):
        if block.startswith(":"):
            found.append(("comment", None))
            continue
        name, data = block.split("\n")
        assert name.startswith("event: ") and data.startswith("data: ")
        found.append((name[7:], json.loads(data[6:])))
    return found


def without_run(answer: dict[str, Any]) -> dict[str, Any]:
    """Return an answer without what may differ from run to run."""
    return {key: value for key, value in answer.items() if key != "run"}


@pytest.mark.parametrize("file", ["half-term", "shared-class"])
def test_improvements_come_before_the_answer_that_is_given_anyway(file: str) -> None:
    body = (SCENARIOS / f"{file}.yaml").read_bytes()
    response = ask("POST", "/v1/sequences?seconds=60", body, YAML, accept=EVENTS)
    assert response.status_code == 200
    assert response.headers["content-type"].split(";")[0] == EVENTS
    events = events_of(response.text)
    assert events[-1][0] == "answer"
    assert [name for name, _ in events].count("answer") == 1
    answer = events[-1][1]
    assert without_run(answer) == without_run(ask("POST", "/v1/sequences?seconds=60", body, YAML).json())

    told = [data for name, data in events if name == "progress"]
    assert {each["aim"] for each in told} == {aim["aim"] for aim in answer["aims"]}
    for before, after in pairwise(told):
        assert 0 <= before["bound"] <= before["value"]
        if (before["aim"], before["classes"]) == (after["aim"], after["classes"]):
            assert after["value"] <= before["value"] and after["bound"] >= before["bound"]
    last = {(each["aim"], tuple(each["classes"])): each for each in told}
    for aim in answer["aims"]:
        parts = [each for (name, _), each in last.items() if name == aim["aim"]]
        assert sum(each["value"] for each in parts) == aim["value"]
        assert sum(each["bound"] for each in parts) == aim["bound"]


def test_silence_is_broken_by_comments(monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = BlockedSolve(monkeypatch)

    async def steps() -> str:
        async with client_of(create_app(Settings(heartbeat=0.01), InThisProcess)) as client:
            asked = asyncio.ensure_future(
                client.post("/v1/sequences", content=SMALL, headers={"Content-Type": YAML, "Accept": EVENTS})
            )
            await blocked.has_begun()
            await asyncio.sleep(0.2)
            blocked.go.set()
            return (await asked).text

    names = [name for name, _ in events_of(asyncio.run(steps()))]
    assert names.count("comment") > 2 and names[-1] == "answer"


def test_without_a_sequence_the_answer_says_why() -> None:
    body = (SCENARIOS / "no-sequence.yaml").read_bytes()
    name, answer = events_of(ask("POST", "/v1/sequences", body, YAML, accept=EVENTS).text)[-1]
    assert name == "answer" and answer["status"] == "infeasible" and answer["explanation"]["conflicts"]


def test_what_fails_while_it_is_worked_on_ends_with_a_problem_document(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: Any) -> None:
        raise ZeroDivisionError("on purpose")

    monkeypatch.setattr("api.work.solve", fails)
    name, data = events_of(ask("POST", "/v1/sequences", SMALL, YAML, workers=InThisProcess, accept=EVENTS).text)[-1]
    assert name == "problem" and data["status"] == 500 and "on purpose" not in data["detail"]


def test_what_can_be_refused_first_is_refused_as_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    problem(ask("POST", "/v1/sequences", b"{}", JSON, accept=EVENTS), 422)
    problem(ask("POST", "/v1/sequences?format=xlsx", SMALL, YAML, accept=EVENTS), 406)
    blocked = BlockedSolve(monkeypatch)

    async def steps() -> None:
        headers = {"Content-Type": YAML, "Accept": EVENTS}
        async with client_of(create_app(Settings(running=1, waiting=0), InThisProcess)) as client:
            first = asyncio.ensure_future(client.post("/v1/sequences", content=SMALL, headers=headers))
            await blocked.has_begun()
            problem(await client.post("/v1/sequences", content=SMALL, headers=headers), 503)
            blocked.go.set()
            assert events_of((await first).text)[-1][0] == "answer"

    asyncio.run(steps())


@pytest.mark.parametrize("accept", ["*/*", "text/event-stream;q=0", "application/json, text/event-stream;q=0.5"])
def test_nobody_gets_a_stream_who_did_not_ask_for_one(accept: str) -> None:
    response = ask("POST", "/v1/sequences", SMALL, YAML, accept=accept if "json" in accept else f"{accept}, {JSON}")
    assert response.headers["content-type"] == JSON


def test_a_client_that_leaves_its_stream_stops_its_solve(monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = BlockedSolve(monkeypatch)

    async def steps() -> None:
        app = create_app(Settings(running=1, waiting=0), InThisProcess)
        async with client_of(app) as client:
            leaves = asyncio.Event()
            messages = [{"type": "http.request", "body": SMALL, "more_body": False}]

            async def receive() -> MutableMapping[str, Any]:
                if messages:
                    return messages.pop()
                await leaves.wait()
                return {"type": "http.disconnect"}

            async def send(_: MutableMapping[str, Any]) -> None:
                pass

            scope = scope_of("/v1/sequences", {"content-type": YAML, "accept": EVENTS})
            served = asyncio.ensure_future(app(scope, receive, send))
            await blocked.has_begun()
            leaves.set()
            await asyncio.wait_for(served, PATIENCE)

            async def free() -> bool:
                return bool((await client.get("/healthz")).json()["running"] == 0)

            await until(free)

    asyncio.run(steps())
    assert blocked.stopped == [True]


def test_a_search_that_is_told_to_stop_answers_with_what_it_has(monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = BlockedSolve(monkeypatch)

    async def steps() -> list[tuple[str, Any]]:
        app = create_app(Settings(running=1, waiting=0), InThisProcess)
        async with client_of(app) as client:
            messages = [{"type": "http.request", "body": SMALL, "more_body": False}]
            sent: list[bytes] = []

            async def receive() -> MutableMapping[str, Any]:
                if messages:
                    return messages.pop()
                await asyncio.Event().wait()
                raise AssertionError("nobody leaves")

            async def send(message: MutableMapping[str, Any]) -> None:
                sent.append(message.get("body", b""))

            running = asyncio.ensure_future(
                app(scope_of("/v1/sequences", {"Content-Type": YAML, "Accept": EVENTS}), receive, send)
            )
            await blocked.has_begun()
            ((name, begun),) = events_of(b"".join(sent).decode())
            assert name == "begun"
            problem(await client.delete("/v1/searches/another"), 404)
            assert not blocked.stopped
            assert (await client.delete(begun["stop"])).status_code == 204
            await running
            assert len(app.state.searches) == 0
            problem(await client.delete(begun["stop"]), 404)
            return events_of(b"".join(sent).decode())

    name, answer = asyncio.run(steps())[-1]
    assert blocked.stopped == [True]
    assert (name, answer["run"]["stopped_by"]) == ("answer", "hand")
