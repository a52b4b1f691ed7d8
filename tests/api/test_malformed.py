"""Every malformed scenario gets a problem document that says what the reading says, at the same places."""

from __future__ import annotations

import pytest

from api.settings import Settings
from tests.api.service import JSON, YAML, ask, problem
from tests.malformed import MALFORMED
from tests.malformed.small import Malformed


def as_bytes(malformed: Malformed) -> bytes:
    """Return the text as it is sent."""
    return malformed.text.encode() if isinstance(malformed.text, str) else malformed.text


@pytest.mark.parametrize("malformed", MALFORMED, ids=lambda malformed: malformed.name)
def test_malformed_scenarios_are_refused_with_every_place(malformed: Malformed) -> None:
    media = {"yaml": YAML, "json": JSON}[malformed.language]
    response = ask("POST", "/v1/sequences", as_bytes(malformed), media)
    if _is_beyond_a_limit(malformed):
        problem(response, 413)
        return
    body = problem(response, 422)
    said = []
    for each in body["problems"]:
        assert set(each) == {"where", "pointer", "line", "column", "message", "text"}
        place = f"s:{each['line']}:{each['column']}" if each["line"] else "s"
        said.append(" ".join(part for part in (place, each["where"], each["message"]) if part))
    assert said == malformed.lines("s")
    assert body["problems"][0]["message"] in body["detail"]


@pytest.mark.parametrize("malformed", MALFORMED, ids=lambda malformed: malformed.name)
def test_they_are_refused_inside_a_check_too(malformed: Malformed) -> None:
    text = as_bytes(malformed)
    if malformed.language == "json":
        whole, media = b'{"scenario":' + text + b', "sequence": {"lessons": []}}', JSON
    else:
        indented = b"\n".join(b"  " + line for line in text.split(b"\n"))
        whole, media = b"scenario:\n" + indented + b"\nsequence: {lessons: []}\n", YAML
    problem(ask("POST", "/v1/checks", whole, media), 413 if _is_beyond_a_limit(malformed) else 422)


def _is_beyond_a_limit(malformed: Malformed) -> bool:
    """Whether the service refuses it by a limit of its own, before the reader's holds."""
    too_deep = any(" is nested too deeply" in line for line in malformed.lines("s"))
    return too_deep or len(as_bytes(malformed)) > Settings().body_bytes
