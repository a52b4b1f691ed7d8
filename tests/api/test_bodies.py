"""How much of a body is read, for how long, and of which media types."""

from __future__ import annotations

import asyncio
import gzip
from collections.abc import AsyncIterator, MutableMapping
from typing import Any

import pytest

from api.app import create_app
from api.media import accepts
from api.settings import Settings
from tests.api.service import JSON, SMALL, SMALL_JSON, YAML, ask, client_of, problem, scope_of

PATHS = ["/v1/sequences", "/v1/checks"]
LIMIT = Settings(body_bytes=1000)


# -- sizes -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", PATHS)
def test_a_body_of_exactly_the_limit_is_read_and_one_byte_more_is_not(path: str) -> None:
    problem(ask("POST", path, b" " * 1000, JSON, LIMIT), 422)
    assert "1,000 bytes" in problem(ask("POST", path, b" " * 1001, JSON, LIMIT), 413)["detail"]


def test_the_usual_limit_is_two_million_bytes() -> None:
    problem(ask("POST", "/v1/sequences", b" " * 2_000_000, JSON), 422)
    problem(ask("POST", "/v1/sequences", b" " * 2_000_001, JSON), 413)


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("length", ["1001", "9" * 18, "9" * 5000])
def test_a_stated_length_beyond_the_limit_is_refused_before_anything_is_read(path: str, length: str) -> None:
    sent: list[MutableMapping[str, Any]] = []

    async def receive() -> dict[str, Any]:
        raise AssertionError("the body was read")

    async def send(message: MutableMapping[str, Any]) -> None:
        sent.append(message)

    scope = scope_of(path, {"Content-Type": JSON, "Content-Length": length})
    asyncio.run(create_app(LIMIT)(scope, receive, send))
    assert sent[0]["status"] == 413


@pytest.mark.parametrize("path", PATHS)
def test_a_body_that_does_not_state_its_length_is_refused_while_it_is_read(path: str) -> None:
    taken = 0

    async def endless() -> AsyncIterator[bytes]:
        nonlocal taken
        while True:
            taken += 1
            yield b"#" * 100

    problem(ask("POST", path, endless(), YAML, LIMIT), 413)
    assert taken == 11


@pytest.mark.parametrize("path", PATHS)
def test_a_body_that_does_not_arrive_is_not_waited_for(path: str) -> None:
    async def stuck() -> AsyncIterator[bytes]:
        yield b"{"
        await asyncio.Event().wait()

    response = ask("POST", path, stuck(), JSON, Settings(body_seconds=0.05))
    problem(response, 408)
    assert response.headers["connection"] == "close"


def test_the_largest_of_the_bodies_that_arrive_makes_room_for_others() -> None:
    async def steps() -> None:
        # Three of these bodies that are stuck on their way are too many; the short one is not asked to go.
        settings = Settings(arriving_bytes=250_000, retry_after=9)
        started = asyncio.Event()

        async def stuck(size: int) -> AsyncIterator[bytes]:
            yield b" " * size
            started.set()
            await asyncio.Event().wait()

        async with client_of(create_app(settings)) as client:
            held = []
            for size in (90_000, 100_000, 80_000):
                started.clear()
                sending = client.post("/v1/sequences", content=stuck(size), headers={"Content-Type": JSON})
                held.append(asyncio.ensure_future(sending))
                await started.wait()
            refused = await held[1]
            assert "bytes of bodies" in problem(refused, 503)["detail"]
            assert (refused.headers["retry-after"], refused.headers["connection"]) == ("9", "close")
            answer = await client.post("/v1/sequences", content=SMALL, headers={"Content-Type": YAML})
            assert answer.json()["status"] == "optimal"
            assert not held[0].done() and not held[2].done()
            for each in held:
                each.cancel()

    asyncio.run(steps())


def test_a_client_that_leaves_while_it_sends_ends_its_request() -> None:
    messages = [
        {"type": "http.request", "body": b"{", "more_body": True},
        {"type": "http.disconnect"},
    ]
    sent: list[MutableMapping[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return messages.pop(0)

    async def send(message: MutableMapping[str, Any]) -> None:
        sent.append(message)

    # Nobody reads the answer; no exception gets out.
    asyncio.run(create_app()(scope_of("/v1/sequences", {"Content-Type": JSON}), receive, send))
    assert sent[0]["status"] == 400


# -- media types -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize(
    "media",
    [
        "",
        "text/plain",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "application/jsonp",
        "application",
        "/",
        ";",
        "application/json, application/yaml",
        "application/json; charset=latin-1",
        "text/yaml; charset=utf-16",
        "x" * 5000,
    ],
)
def test_other_media_types_are_refused_and_those_that_are_read_named(path: str, media: str) -> None:
    response = ask("POST", path, SMALL, media)
    problem(response, 415)
    # RFC 9110, section 15.5.16.
    assert response.headers["accept"] == "application/json, application/yaml"
    assert "x" * 100 not in response.text


def test_bodies_may_be_compressed() -> None:
    packed = gzip.compress(SMALL)
    answer = ask("POST", "/v1/sequences", packed, YAML, content_encoding="gzip").json()
    assert answer["lessons"] == ask("POST", "/v1/sequences", SMALL, YAML).json()["lessons"]
    bomb = gzip.compress(b" " * 50_000_000)
    assert len(bomb) < 100_000
    problem(ask("POST", "/v1/sequences", bomb, YAML, content_encoding="gzip"), 413)
    for broken in (SMALL, packed[:-9], packed + b"x", packed + packed, b""):
        problem(ask("POST", "/v1/sequences", broken, YAML, content_encoding="gzip"), 400)
    for coding in ("br", "gzip, gzip", "deflate"):
        refused = ask("POST", "/v1/sequences", packed, YAML, content_encoding=coding)
        problem(refused, 415)
        assert refused.headers["accept-encoding"] == "gzip, identity"


def test_the_time_that_a_client_prefers_to_wait() -> None:
    def allowed(prefer: str, query: str = "") -> tuple[float, str | None]:
        response = ask("POST", f"/v1/sequences{query}", SMALL, YAML, Settings(seconds=5, most_seconds=9), prefer=prefer)
        return response.json()["run"]["seconds_allowed"], response.headers.get("preference-applied")

    assert allowed("wait=3") == (3, "wait=3")
    assert allowed('respond-async, Wait="2"; x=y') == (2, "wait=2")
    assert allowed("wait=100000000") == (9, "wait=9")
    assert allowed("wait=3", "?seconds=4") == (4, None)
    for ignored in ("wait=0", "wait=-1", "wait=x", "wait", "handling=strict", "wait=" + "9" * 400):
        assert allowed(ignored) == (5, None)


def test_a_body_is_read_as_what_it_says_it_is() -> None:
    # JSON is YAML, more or less; YAML is not JSON.
    assert ask("POST", "/v1/sequences", SMALL_JSON, YAML).status_code == 200
    body = problem(ask("POST", "/v1/sequences", SMALL, JSON), 422)
    assert "is not valid JSON" in body["problems"][0]["message"]


# -- what the client takes ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("accept", "taken"),
    [
        ("application/json", True),
        ("*/*", True),
        ("application/*", True),
        ("text/html, application/json;q=0.1", True),
        ("text/html,application/xml;q=0.9,*/*;q=0.8", True),
        ("APPLICATION/JSON; charset=utf-8", True),
        ("text/html", False),
        ("application/json;q=0", False),
        # RFC 9110, section 12.5.1: the most specific range that describes the type decides.
        ("*/*, application/json;q=0", False),
        ("application/*;q=0, */*", False),
        ("application/json, application/*;q=0", True),
        (",", False),
    ],
)
def test_accept(accept: str, taken: bool) -> None:
    """One form is asked for here; which of several is taken stands in ``test_formats.py``."""
    assert accepts(accept, "application/json") is taken
    body = b'{"sequence": [], "scenario": ' + SMALL_JSON + b"}"
    response = ask("POST", "/v1/checks?format=json", body, JSON, accept=accept)
    if taken:
        assert response.status_code == 200
    else:
        assert "application/json" in problem(response, 406)["detail"]


def test_the_schema_is_refused_to_those_who_do_not_take_it() -> None:
    problem(ask("GET", "/v1/scenario-schema", accept="application/json"), 406)
    assert ask("GET", "/v1/scenario-schema", accept="application/schema+json").status_code == 200


def test_refused_requests_leave_the_service_as_it_was() -> None:
    async def several() -> None:
        async with client_of(create_app(LIMIT)) as client:
            for _ in range(3):
                refused = await client.post("/v1/sequences", content=b" " * 2000, headers={"Content-Type": JSON})
                problem(refused, 413)
            assert (await client.get("/healthz")).json() == {"status": "ok", "running": 0, "waiting": 0}

    asyncio.run(several())
