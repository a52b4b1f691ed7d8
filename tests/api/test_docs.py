"""The description can be read and tried out in a browser that reaches no other host."""

from __future__ import annotations

import re

import pytest

from api.routes.pages import PAGE, START
from api.settings import Settings
from tests.api.service import ask, problem

PARTS = re.findall(r'(?:href|src)="(docs/[^"]+)"', PAGE)


def test_the_page_is_made_of_parts_that_are_there() -> None:
    page = ask("GET", "/docs")
    assert page.headers["content-type"] == "text/html; charset=utf-8"
    assert page.text == PAGE and len(PARTS) == 3
    for part in PARTS:
        response = ask("GET", f"/{part}")
        assert response.status_code == 200
        assert response.headers["content-type"] == f"text/{'css' if part.endswith('css') else 'javascript'}; charset=utf-8"
    assert "SwaggerUIBundle" in ask("GET", "/docs/swagger-ui-bundle.js").text
    assert 'fetch("openapi.json"' in ask("GET", "/docs/start.js").text


@pytest.mark.parametrize("text", [PAGE, START])
def test_it_refers_to_no_other_host(text: str) -> None:
    assert re.search(r"https?:|\"//|'//|\(//|url\(", text) is None


def test_a_browser_may_load_nothing_from_another_host() -> None:
    for path in ("/docs", *(f"/{part}" for part in PARTS)):
        policy = ask("GET", path).headers["content-security-policy"]
        allowed = {name: sources.split() for name, _, sources in (each.strip().partition(" ") for each in policy.split(";"))}
        assert allowed["default-src"] == ["'none'"]
        assert {source for sources in allowed.values() for source in sources} <= {"'none'", "'self'", "'unsafe-inline'", "data:"}
        assert "'unsafe-inline'" not in allowed["script-src"]


def test_the_style_loads_nothing_from_elsewhere() -> None:
    assert re.findall(r"""url\((?!\s*['"]?data:)[^)]{0,60}""", ask("GET", "/docs/swagger-ui.css").text) == []


def test_only_what_the_page_is_made_of_is_there() -> None:
    for name in ("redoc.standalone.js", "favicon.png", "x", "..%2f..%2fcore.py"):
        problem(ask("GET", f"/docs/{name}"), 404)
    problem(ask("GET", "/docs", accept="application/json"), 406)


def test_it_opens_without_a_key_and_asks_for_one() -> None:
    asked = Settings(keys="one")
    for path in ("/docs", *(f"/{part}" for part in PARTS)):
        assert ask("GET", path, settings=asked).status_code == 200
    assert ask("GET", "/openapi.json", settings=asked).status_code == 401
    assert "window.prompt" in START and "preauthorizeApiKey" in START
