"""Whatever goes wrong is answered with a problem document (RFC 9457)."""

from __future__ import annotations

from typing import Any

import pytest

from api.errors import STATUS, TYPES, title_of
from api.settings import Settings
from sequencer import RefereeDisagrees
from tests.api.service import JSON, SMALL, YAML, InThisProcess, ask, problem


@pytest.mark.parametrize(
    "path", ["/page", "/v1", "/v1/sequences/", "/v1/nothing", "/docs/x", "/redoc", "/" + "x" * 5000, "/%00%ff", "/../etc"]
)
def test_unknown_addresses(path: str) -> None:
    body = problem(ask("GET", path), 404)
    assert (body["type"], body["title"]) == ("/v1/problems/nothing-here", "Not Found")
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

    monkeypatch.setattr("api.work.solve", fails)
    monkeypatch.setattr("api.work.load_check", fails)
    response = ask("POST", path, SMALL, YAML, workers=InThisProcess)
    body = problem(response, 500)
    assert (body["type"], body["title"]) == ("/v1/problems/defect", "Internal Server Error")
    assert "defect" in body["detail"]
    assert "secret" not in response.text
    assert "Error" not in body["detail"]


def test_every_type_says_what_it_means_at_its_address() -> None:
    unlike = {
        "/v1/sequences?seed=x": (SMALL, YAML, Settings()),
        "/v1/sequences?seed=1": (SMALL, "text/csv", Settings()),
        "/v1/sequences?seed=2": (SMALL, YAML, Settings(body_bytes=10)),
        "/v1/sequences?seed=3": (b"{}", JSON, Settings()),
    }
    seen = set()
    for path, (text, media, settings) in unlike.items():
        body = ask("POST", path, text, media, settings).json()
        said = ask("GET", body["type"]).json()
        assert said["says"]
        assert {key: body[key] for key in ("type", "title", "status")} == {key: said[key] for key in ("type", "title", "status")}
        seen.add(body["type"].removeprefix("/v1/problems/"))
    assert seen == {"unusable-option", "unsupported-media", "body-too-large", "unusable-input"}


def test_unusable_input_counts_its_problems() -> None:
    body = problem(ask("POST", "/v1/sequences", b"{}", JSON), 422)
    assert body["detail"].startswith(f"{len(body['problems'])} problems; the first: line 1, column 1 ")


def test_every_status_of_the_table_has_a_type() -> None:
    assert set(STATUS.values()) <= {status for status, _, _ in TYPES}
    names = [name for _, name, _ in TYPES]
    assert len(set(names)) == len(names)


def test_the_table_has_a_name_for_every_status() -> None:
    assert all(title_of(status) for status in STATUS.values())
    assert title_of(422) == "Unprocessable Content"
