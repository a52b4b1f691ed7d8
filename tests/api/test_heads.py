"""Heads of requests: how long they may be, by which name the service is asked, how bodies are framed."""

from __future__ import annotations

import asyncio
import logging
from typing import Any

import pytest

from api.app import create_app
from api.media import MOST_HEAD, MOST_MEDIA_TYPE, media_type_of, wait_of, weight_of
from api.settings import BadSetting, Settings
from tests.api.service import JSON, SMALL, YAML, ask, client_of, problem, scope_of


def test_a_head_may_be_so_long_and_no_longer() -> None:
    for more, status in ((MOST_HEAD - 1000, 200), (MOST_HEAD, 431)):
        response = ask("GET", "/healthz", x_long="x" * more)
        assert response.status_code == status
    assert problem(response, 431)["type"] == "/v1/problems/head-too-large"
    assert response.headers["connection"] == "close"
    problem(ask("GET", f"/healthz?{'x' * MOST_HEAD}"), 431)


def test_a_media_type_may_be_so_long_and_no_longer() -> None:
    text = f"{JSON}; x={'y' * MOST_MEDIA_TYPE}"
    assert media_type_of(text[:MOST_MEDIA_TYPE])[0] == JSON
    assert media_type_of(text) == ("", {})
    problem(ask("POST", "/v1/scenarios", SMALL, f"{YAML}; x={'y' * MOST_MEDIA_TYPE}"), 415)


@pytest.mark.parametrize(
    ("written", "means"),
    [
        ("Application/JSON", (JSON, {})),
        (' text/x-yaml ;charset="utf-8" ; a=b', ("text/x-yaml", {"charset": "utf-8", "a": "b"})),
        (r'a/b; x="\"; charset=q"; charset=UTF-8', ("a/b", {"x": '"; charset=q', "charset": "UTF-8"})),
        ("a/b; charset=one; CHARSET=two;", ("a/b", {"charset": "one"})),
        ("a/b c", ("", {})),
        ('a/b; x="', ("", {})),
        ('a/b; x="' + ";" * 200, ("", {})),
        ("a", ("", {})),
        ("", ("", {})),
    ],
)
def test_media_types_are_read_as_they_are_written(written: str, means: tuple[str, dict[str, str]]) -> None:
    assert media_type_of(written) == means


def test_what_is_wanted_is_read_from_left_to_right() -> None:
    assert weight_of("text/*;q=0.5, text/html;level=1;q=0.7, */*;q=x", "text/html") == 0.7
    assert weight_of("text/*;q=0.5, text/html", "text/csv") == 0.5
    assert weight_of("a/b;q=0.1, a/b", "a/b") == 0.1
    assert weight_of("," * 16_000, "a/b") == 0
    assert [wait_of(text) for text in ("x, wait=5, wait=6", 'wait="7"; a=b', "wait, wait=8", "," * 16_000)] == [5, 7, None, None]


@pytest.mark.parametrize(
    ("host", "answered"),
    [
        ("localhost", True),
        ("LocalHost:8000", True),
        ("127.0.0.1:1", True),
        ("[::1]:8000", True),
        ("planner.example", True),
        ("planner.example:443", True),
        ("192.0.2.7:8000", True),
        ("other.example", False),
        ("localhost.other.example", False),
        ("localhost:8000@other.example", False),
        ("127.0.0.1:8000:1", False),
        ("[::2]", False),
        ("", False),
        ("\u00e9", False),
    ],
)
def test_the_service_answers_to_its_own_names_only(host: str, answered: bool) -> None:
    response = ask("GET", "/healthz", settings=Settings(host="192.0.2.7", hosts=" Planner.example, two"), host=host.encode())
    if answered:
        assert response.status_code == 200
    else:
        assert problem(response, 421)["type"] == "/v1/problems/other-host"


@pytest.mark.parametrize("hosts", ["planner.example:80", "https://planner.example", "*", "a b"])
def test_what_is_no_name_is_not_taken_for_one(hosts: str) -> None:
    with pytest.raises(BadSetting, match="SEQUENCER_HOSTS"):
        create_app(Settings(hosts=hosts))


async def answered(scope: dict[str, Any]) -> tuple[int, dict[bytes, bytes]]:
    """Return the status and the headers of the answer to a request without a body."""
    sent: list[Any] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        sent.append(message)

    await create_app()(scope, receive, send)
    return sent[0]["status"], {name.lower(): value for name, value in sent[0]["headers"]}


@pytest.mark.parametrize(
    ("headers", "version"),
    [({"Transfer-Encoding": "chunked", "Content-Length": "3"}, "1.1"), ({"Transfer-Encoding": "chunked"}, "1.0")],
)
def test_a_body_framed_in_two_ways_ends_the_connection(headers: dict[str, str], version: str) -> None:
    scope = scope_of("/v1/scenarios", {"Content-Type": JSON, **headers})
    status, told = asyncio.run(answered({**scope, "http_version": version}))
    assert (status, told[b"connection"]) == (400, b"close")


def test_what_fails_outside_of_every_handler_is_told_and_named(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError("\x1b[31mZanzibar\u202e")

    async def exchange() -> None:
        for place in ("api.guard.is_ours", "api.routes.service.Health"):
            with monkeypatch.context() as patch:
                patch.setattr(place, fails)
                async with client_of(create_app()) as client:
                    response = await client.get("/healthz")
            body = problem(response, 500)
            assert body["instance"] == f"urn:uuid:{response.headers['x-request-id']}"
            assert f"request {response.headers['x-request-id']} failed: ZeroDivisionError at" in caplog.text

    with caplog.at_level(logging.INFO, "api"):
        asyncio.run(exchange())
    assert "Zanzibar" not in caplog.text
