"""Pages of other origins read nothing, unless their origins are listed."""

from __future__ import annotations

import pytest

from api.app import create_app
from api.settings import BadSetting, Settings
from tests.api.service import SMALL, YAML, ask, problem

PLANNER, OTHER = "https://planner.example", "https://other.example"
LISTED = Settings(origins=f"{PLANNER}, http://127.0.0.1:3000", keys="one")
ASKS = {"access_control_request_method": "POST", "access_control_request_headers": "authorization, content-type"}


def test_nobody_is_listed_unless_somebody_is() -> None:
    for method, path in (("GET", "/healthz"), ("OPTIONS", "/v1/sequences")):
        response = ask(method, path, origin=PLANNER, **ASKS)
        assert not any(name.startswith("access-control") for name in response.headers)
        assert "Origin" not in response.headers.get("vary", "")
    assert response.status_code == 405


def test_a_page_of_a_listed_origin_may_ask_beforehand_and_without_a_key() -> None:
    for path in ("/v1/sequences", "/v1/checks", "/openapi.json"):
        allowed = ask("OPTIONS", path, settings=LISTED, origin=PLANNER, **ASKS)
        assert (allowed.status_code, allowed.content) == (204, b"")
        assert allowed.headers["access-control-allow-origin"] == PLANNER
        assert "POST" in allowed.headers["access-control-allow-methods"]
        sent = allowed.headers["access-control-allow-headers"].lower().split(", ")
        assert {"authorization", "content-type", "content-encoding", "prefer", "accept"} <= set(sent)
        assert "Origin" in allowed.headers["vary"]
        assert allowed.headers["x-request-id"]


@pytest.mark.parametrize(
    "origin", [OTHER, f"{PLANNER}.other.example", "http://planner.example", f"{PLANNER}:8443", "null", "*", ""]
)
def test_a_page_of_another_origin_may_not(origin: str) -> None:
    refused = ask("OPTIONS", "/v1/sequences", settings=LISTED, origin=origin, **ASKS)
    assert problem(refused, 401)
    got = ask("GET", "/healthz", settings=LISTED, origin=origin)
    for response in (refused, got):
        assert not any(name.startswith("access-control") for name in response.headers)
        # A cache must not hand this answer to a page of a listed origin.
        assert "Origin" in response.headers["vary"]


def test_answers_and_refusals_can_be_read_and_none_allows_credentials() -> None:
    answers = [
        ask("POST", "/v1/sequences?format=text", SMALL, YAML, LISTED, origin=PLANNER, authorization="Bearer one"),
        ask("POST", "/v1/sequences", SMALL, YAML, LISTED, origin=PLANNER),
        ask("POST", "/v1/sequences", b"", YAML, LISTED, origin=PLANNER, authorization="Bearer one"),
        ask("GET", "/healthz", settings=LISTED, origin="http://127.0.0.1:3000"),
    ]
    assert [answer.status_code for answer in answers] == [200, 401, 422, 200]
    for answer in answers:
        assert answer.headers["access-control-allow-origin"] == answer.request.headers["origin"]
        assert "X-Request-Id" in answer.headers["access-control-expose-headers"]
        assert "access-control-allow-credentials" not in answer.headers
    assert {"Accept", "Origin"} <= set(answers[0].headers["vary"].split(", "))


@pytest.mark.parametrize(
    "origins", ["*", "planner.example", f"{PLANNER}/", f"{PLANNER}, null", "https://", "ftp://planner.example"]
)
def test_what_is_no_origin_is_named(origins: str) -> None:
    with pytest.raises(BadSetting, match="SEQUENCER_ORIGINS must be origins"):
        create_app(Settings(origins=origins))
