"""The description may grow; nothing that a client may rely on is taken away from it.

What a client relies on is kept in ``contract.txt``, a line for each: an address with its options, what it takes and what it
answers, the properties of what is sent and of what is answered, and the words that a property can have.
``python -m tests.api.test_contract`` stores it as it is now, which is done with every addition.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.api.service import description

STORED = Path(__file__).with_name("contract.txt")
SENT, ANSWERED = "sent", "answered"
REFERENCE = "#/components/schemas/"


def contract(document: dict[str, Any]) -> dict[str, set[str]]:
    """Return what a client may rely on: for each line's head the words that stand in it. What must be there has a star."""
    lines: dict[str, set[str]] = {}
    for address, methods in document["paths"].items():
        for method, operation in methods.items():
            here = f"{method.upper()} {address}"
            options = operation.get("parameters", [])
            lines[f"{here} options"] = {f"{each['name']}{'*' if each.get('required') else ''}" for each in options}
            body = operation.get("requestBody", {})
            lines[f"{here} takes"] = {_plain(form) for form in body.get("content", {})}
            for status, answer in operation["responses"].items():
                lines[f"{here} answers {status}"] = {_plain(form) for form in answer.get("content", {})}
            _schemas(document, body, SENT, lines)
            _schemas(document, operation["responses"], ANSWERED, lines)
            for each in options:
                _words(f"{here} option {each['name']}", each.get("schema", {}), lines)
    return lines


def _plain(form: str) -> str:
    """A media type without blanks, so that it stays one word of a line."""
    return form.replace(" ", "")


def _schemas(document: dict[str, Any], part: Any, side: str, lines: dict[str, set[str]]) -> None:
    """The properties of every schema that is named in a part of the description, and in what those name."""
    for name in _named(part):
        head = f"{side} {name}"
        if head in lines:
            continue
        schema = document["components"]["schemas"][name]
        must = schema.get("required", [])
        lines[head] = {f"{key}{'*' if key in must else ''}" for key in schema.get("properties", {})}
        for key, value in schema.get("properties", {}).items():
            _words(f"{head} {key}", value, lines)
        _schemas(document, schema, side, lines)


def _named(part: Any) -> Iterator[str]:
    """The schemas that a part of the description names."""
    if isinstance(part, dict):
        reference = part.get("$ref")
        if isinstance(reference, str) and reference.startswith(REFERENCE):
            yield reference.removeprefix(REFERENCE)
        for key, value in part.items():
            if key not in ("example", "examples"):
                yield from _named(value)
    elif isinstance(part, list):
        for value in part:
            yield from _named(value)


def _words(head: str, schema: dict[str, Any], lines: dict[str, set[str]]) -> None:
    """The words that a value can have, where they are listed."""
    for option in (schema, *schema.get("anyOf", ()), schema.get("items", {})):
        words = option.get("enum", [option["const"]] if "const" in option else [])
        if words:
            lines.setdefault(f"{head} is", set()).update(str(word).replace(" ", "_") for word in words)


def taken_away(before: dict[str, set[str]], now: dict[str, set[str]]) -> list[str]:
    """Return what was there and is so no more."""
    lost = [head for head in before if head not in now]
    for head, words in before.items():
        for word in sorted(words):
            if head not in now or word in now[head]:
                continue
            name = word.rstrip("*")
            turned = {name, f"{name}*"} & now[head]
            # What had to be sent may now be left out, and what was sometimes answered may now always be.
            harmless = word.endswith("*") != head.startswith(ANSWERED)
            if not (turned and harmless):
                lost.append(f"{head}: {word}")
    for head, words in now.items():
        if head in before and not head.startswith(ANSWERED):
            new = [word for word in words - before[head] if word.endswith("*") and word[:-1] not in before[head]]
            lost += [f"{head}: {word} must be there" for word in sorted(new)]
    return lost


def written(lines: dict[str, set[str]]) -> str:
    """Return the contract as it is stored."""
    return "".join(f"{head}: {' '.join(sorted(words))}".rstrip() + "\n" for head, words in sorted(lines.items()))


def read(text: str) -> dict[str, set[str]]:
    """Return the contract that was stored."""
    lines = (f"{line} ".partition(": ") for line in text.splitlines())
    return {head: set(words.split()) for head, _, words in lines}


def test_nothing_is_taken_away() -> None:
    assert taken_away(read(STORED.read_text(encoding="utf-8")), contract(description())) == []


def test_what_is_stored_is_read_back() -> None:
    now = contract(description())
    assert read(written(now)) == now


def test_what_is_taken_away_is_noticed() -> None:
    now = description()
    before = contract(now)
    less = copy.deepcopy(now)
    del less["paths"]["/v1/demos"]
    del less["components"]["schemas"]["Answer"]["properties"]["lessons"]
    less["paths"]["/v1/sequences"]["post"]["responses"].pop("503")
    lost = taken_away(before, contract(less))
    assert "answered Answer: lessons*" in lost
    assert "POST /v1/sequences answers 503" in lost
    assert "GET /v1/demos options" in lost
    assert taken_away(contract(less), before) == []
    options = copy.deepcopy(now)
    gone = options["paths"]["/v1/sequences"]["post"]["parameters"].pop()["name"]
    assert taken_away(before, contract(options)) == [f"POST /v1/sequences options: {gone}"]


def test_what_must_be_sent_does_not_become_more() -> None:
    now = description()
    more = copy.deepcopy(now)
    more["components"]["schemas"]["Rolling"]["required"].append("record")
    assert taken_away(contract(now), contract(more)) == ["sent Rolling: record"]
    assert taken_away(contract(more), contract(now)) == []
    new = copy.deepcopy(now)
    new["components"]["schemas"]["Rolling"]["properties"]["further"] = {"type": "string"}
    new["components"]["schemas"]["Rolling"]["required"].append("further")
    assert taken_away(contract(now), contract(new)) == ["sent Rolling: further* must be there"]


def test_a_word_that_goes_is_noticed() -> None:
    now = description()
    less = copy.deepcopy(now)
    less["components"]["schemas"]["AddClosure"]["properties"]["change"]["const"] = "close"
    assert sorted(taken_away(contract(now), contract(less))) == [
        "answered AddClosure change is: add_closure",
        "sent AddClosure change is: add_closure",
    ]


if __name__ == "__main__":
    STORED.write_text(written(contract(description())), encoding="utf-8")
