"""Every address reads JSON and YAML, compressed or not, and answers in every form that is described, or says which there are."""

from __future__ import annotations

import gzip
import json
from typing import Any

import pytest

from api.examples import BODIES
from api.settings import Settings
from sequencer import parse_document
from tests.api.service import JSON, YAML, ask, description, problem

OPERATIONS: dict[str, Any] = {path: description()["paths"][path]["post"] for path in BODIES}

OPTIONS = {path: {each["name"] for each in operation.get("parameters", [])} for path, operation in OPERATIONS.items()}

FORMS = [(path, form) for path, operation in OPERATIONS.items() for form in operation["responses"]["200"]["content"]]


def as_json(path: str) -> bytes:
    """Return the body in JSON."""
    return json.dumps(parse_document(BODIES[path])[0]).encode()


@pytest.mark.parametrize("path", OPERATIONS)
def test_bodies_are_json_or_yaml_compressed_or_not(path: str) -> None:
    sent = ((BODIES[path].encode(), YAML), (as_json(path), JSON))
    plain = [ask("POST", path, body, media) for body, media in sent]
    packed = [ask("POST", path, gzip.compress(body), media, content_encoding="gzip") for body, media in sent]
    assert [response.status_code for response in (*plain, *packed)] == [200] * 4
    told = [{key: value for key, value in response.json().items() if key != "run"} for response in (*plain, *packed)]
    if path == "/v1/explanations":  # its places are those of the text that was sent
        told = [{**each, "conflicts": [conflict["text"] for conflict in each["conflicts"]]} for each in told]
    if path in ("/v1/comparisons", "/v1/replans", "/v1/weeks"):  # runs stand within
        told = [{key: value for key, value in each.items() if key not in ("base", "what_ifs", "answer")} for each in told]
    assert all(each == told[0] for each in told)
    problem(ask("POST", path, BODIES[path].encode(), YAML, content_encoding="gzip"), 400)
    problem(ask("POST", path, BODIES[path].encode(), YAML, content_encoding="br"), 415)


@pytest.mark.parametrize(("path", "form"), FORMS)
def test_every_form_described_can_be_had(path: str, form: str) -> None:
    response = ask("POST", path, BODIES[path], YAML, accept=f"image/png, {form}")
    assert response.status_code == 200
    assert response.headers["content-type"].split(";")[0] == form
    assert response.content
    if form != "text/event-stream":
        assert "Accept" in response.headers["vary"]


@pytest.mark.parametrize("path", OPERATIONS)
def test_where_none_is_taken_all_are_listed(path: str) -> None:
    detail = problem(ask("POST", path, BODIES[path], YAML, accept="image/png"), 406)["detail"]
    assert all(form in detail for of, form in FORMS if of == path)


@pytest.mark.parametrize("path", [path for path, operation in OPERATIONS.items() if "parameters" in operation])
def test_the_form_named_is_the_one_described(path: str) -> None:
    options = {option["name"]: option["schema"] for option in OPERATIONS[path]["parameters"]}
    forms = [form for form in options["format"]["enum"] if form is not None]
    got = {ask("POST", f"{path}?format={form}", BODIES[path], YAML).headers["content-type"].split(";")[0] for form in forms}
    assert got == {form for of, form in FORMS if of == path and form != "text/event-stream"}
    assert f"one of {', '.join(forms)}" in problem(ask("POST", f"{path}?format=none", BODIES[path], YAML), 400)["detail"]


@pytest.mark.parametrize("path", [path for path, names in OPTIONS.items() if "seconds" in names])
def test_the_time_preferred_is_cut_to_what_is_allowed(path: str) -> None:
    settings = Settings(most_seconds=4)
    for wait, applied in (("wait=3", "wait=3"), ("wait=5", "wait=4")):
        response = ask("POST", path, BODIES[path], YAML, settings, prefer=wait)
        assert (response.status_code, response.headers["preference-applied"]) == (200, applied)
    assert "preference-applied" not in ask("POST", f"{path}?seconds=1", BODIES[path], YAML, settings, prefer="wait=3").headers


def test_what_else_than_the_verdict_is_asked_for_is_json() -> None:
    path = "/v1/checks"
    assert ask("POST", path, BODIES[path], YAML, accept="text/plain").text == "Referee: every rule holds.\n"
    refused = problem(ask("POST", f"{path}?best=true", BODIES[path], YAML, accept="text/plain"), 406)
    assert "application/json" in refused["detail"]
    listed = ask("POST", "/v1/replans?trade_off=true", BODIES["/v1/replans"], YAML, accept="text/plain").text
    assert "moves" in listed or "moved" in listed


def test_a_scenario_alone_can_be_kept_in_a_file() -> None:
    for path in ("/v1/redatings", "/v1/next-terms"):
        text = ask("POST", path, BODIES[path], YAML, accept=YAML).text
        whole = ask("POST", path, BODIES[path], YAML).json()["scenario"]
        assert parse_document(text)[0]["term"] == whole["term"]
