"""Every request and every answer has an example in the description, which fits its shape and is what the service answers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from api.errors import PROBLEM_TYPES, TYPES
from api.example_answers import kept
from api.examples import ASKED, BODIES, KEPT_BODIES, ExampleRequest
from tests.api.kept_answers import KEPT, answered
from tests.api.service import PROBLEM, description

WITHOUT = ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",)
"""Media types whose bodies are no text."""


@pytest.mark.parametrize("asked", ASKED, ids=lambda asked: asked.file)
def test_the_examples_are_what_the_service_answers(asked: ExampleRequest) -> None:
    assert answered(asked) == (KEPT / asked.file).read_text(encoding="utf-8")


def test_no_other_answers_are_kept() -> None:
    assert {file.name for file in KEPT.iterdir()} == {asked.file for asked in ASKED}
    assert len(kept(ASKED[0])["lessons"]) == 3


def contents() -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Every body that is taken or answered: where it stands in the description, its media type, and what is said of it."""
    for path, operations in description()["paths"].items():
        for method, operation in operations.items():
            for media_type, content in operation.get("requestBody", {}).get("content", {}).items():
                yield f"{method} {path} takes", media_type, content
            for status, response in operation["responses"].items():
                for media_type, content in response.get("content", {}).items():
                    yield f"{method} {path} answers {status}", media_type, content


def examples(content: dict[str, Any]) -> list[Any]:
    """The examples of a body."""
    return [content["example"]] if "example" in content else [each["value"] for each in content.get("examples", {}).values()]


def test_every_body_has_examples_that_fit_its_shape() -> None:
    known = {f"{PROBLEM_TYPES}{name}": status for status, name, _ in TYPES}
    for where, media_type, content in contents():
        found = examples(content)
        assert bool(found) is (media_type not in WITHOUT), (where, media_type)
        schema = {**content.get("schema", {}), "components": description()["components"]}
        shape = Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)
        for each in found:
            wrong = [(error.json_path, error.message) for error in shape.iter_errors(each)]
            assert wrong == [], (where, media_type)
            if media_type == PROBLEM:
                assert known[each["type"]] == each["status"] == int(where.split()[-1]), where


def test_every_address_that_takes_a_body_has_its_own() -> None:
    takes = {path for path, operations in description()["paths"].items() if "requestBody" in operations.get("post", {})}
    assert takes == set(BODIES) | (set(KEPT_BODIES) - {"/v1/terms/{term}"})


def test_every_type_of_problem_is_shown_where_it_can_happen() -> None:
    shown = {each["type"] for _, media_type, content in contents() if media_type == PROBLEM for each in examples(content)}
    # Wherever a path is described its method is too.
    assert shown == {f"{PROBLEM_TYPES}{name}" for status, name, _ in TYPES if status != 405}
    refused = description()["paths"]["/v1/redatings"]["post"]["responses"]["400"]["content"][PROBLEM]
    assert [each["type"] for each in examples(refused)] == ["/v1/problems/unusable-option"]


def undescribed(value: Any, where: str = "") -> Iterator[str]:
    """The properties, options and answers that say nothing about what they are."""
    if isinstance(value, dict):
        if isinstance(value.get("properties"), dict) and not where.endswith(("/properties", "/example", "/value")):
            yield from (f"{where}/{name}" for name, inner in value["properties"].items() if not inner.get("description"))
        if "in" in value and "schema" in value and not value.get("description"):
            yield where
        for key, inner in value.items():
            yield from undescribed(inner, f"{where}/{key}")
    elif isinstance(value, list):
        for place, inner in enumerate(value):
            yield from undescribed(inner, f"{where}/{place}")


def test_everything_is_description() -> None:
    assert list(undescribed(description())) == []
    assert list(undescribed({"a": {"properties": {"b": {"type": "string"}}}})) == ["/a/b"]
    assert list(undescribed([{"name": "seconds", "in": "query", "schema": {}}])) == ["/0"]
    for operations in description()["paths"].values():
        for operation in operations.values():
            assert operation["summary"] and operation["description"]
            assert all(response["description"] for response in operation["responses"].values())
