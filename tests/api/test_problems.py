"""Whatever goes wrong is answered with a problem document (RFC 9457)."""

from __future__ import annotations

from typing import Any

import pytest

from api.errors import STATUS, title_of
from api.settings import Settings
from sequencer import RefereeDisagrees
from tests.api.service import JSON, SMALL, YAML, ask, problem


@pytest.mark.parametrize(
    "path", ["/", "/v1", "/v1/sequences/", "/v1/nothing", "/docs", "/redoc", "/" + "x" * 5000, "/%00%ff", "/../etc"]
)
def test_unknown_addresses(path: str) -> None:
    body = problem(ask("GET", path), 404)
    assert (body["type"], body["title"]) == ("about:blank", "Not Found")
    assert "/openapi.json" in body["detail"]
    assert len(body["detail"]) < 100


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("GET", "/v1/sequences", "POST"),
        ("PUT", "/v1/sequences", "POST"),
        ("DELETE", "/v1/checks", "POST"),
        ("POST", "/v1/scenario-schema", "GET, HEAD"),
        ("POST", "/healthz", "GET, HEAD"),
        ("OPTIONS", "/healthz", "GET, HEAD"),
        ("POST", "/openapi.json", "GET, HEAD"),
        ("BREW", "/healthz", "GET, HEAD"),
    ],
)
def test_wrong_methods_name_the_right_ones(method: str, path: str, allowed: str) -> None:
    response = ask(method, path)
    # RFC 9110, section 15.5.6: Allow must be there.
    assert response.headers["allow"] == allowed
    assert allowed in problem(response, 405)["detail"]


@pytest.mark.parametrize("path", ["/healthz", "/v1/scenario-schema", "/openapi.json"])
def test_what_takes_get_takes_head(path: str) -> None:
    got, head = ask("GET", path), ask("HEAD", path)
    assert (got.status_code, head.status_code) == (200, 200)
    assert head.headers["content-type"] == got.headers["content-type"]
    assert head.content == b""


@pytest.mark.parametrize("path", ["/v1/sequences", "/v1/checks"])
@pytest.mark.parametrize("error", [RefereeDisagrees("secret"), ZeroDivisionError("secret"), KeyError("secret"), RecursionError()])
def test_defects_are_admitted_and_nothing_else_is_said(path: str, error: Exception, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: Any) -> None:
        raise error

    monkeypatch.setattr("api.routes.sequences.solve", fails)
    monkeypatch.setattr("api.routes.checks.load_check", fails)
    response = ask("POST", path, SMALL, YAML)
    body = problem(response, 500)
    assert (body["type"], body["title"]) == ("about:blank", "Internal Server Error")
    assert "defect" in body["detail"]
    assert "secret" not in response.text
    assert "Error" not in body["detail"]


def test_about_blank_has_the_name_of_its_status() -> None:
    # RFC 9457, section 4.2.1.
    unlike = {
        "/v1/sequences?seed=x": (SMALL, YAML, Settings()),
        "/v1/sequences?seed=1": (SMALL, "text/csv", Settings()),
        "/v1/sequences?seed=2": (SMALL, YAML, Settings(body_bytes=10)),
    }
    seen = set()
    for path, (text, media, settings) in unlike.items():
        body = ask("POST", path, text, media, settings).json()
        assert body["type"] == "about:blank"
        assert body["title"] == title_of(body["status"])
        seen.add((body["status"], body["title"]))
    assert seen == {(400, "Bad Request"), (415, "Unsupported Media Type"), (413, "Content Too Large")}


def test_our_own_type_leads_to_its_description() -> None:
    body = problem(ask("POST", "/v1/sequences", b"{}", JSON), 422)
    address, _, pointer = body["type"].partition("#")
    found = ask("GET", address).json()
    for token in pointer.split("/")[1:]:
        found = found[token]
    assert found["description"].startswith("A document that cannot be used")
    assert body["title"] == "Unusable input"
    assert body["detail"].startswith(f"{len(body['problems'])} problems; the first: line 1, column 1 ")


def test_the_table_has_a_name_for_every_status() -> None:
    assert all(title_of(status) for status in STATUS.values())
    assert title_of(422) == "Unprocessable Content"
