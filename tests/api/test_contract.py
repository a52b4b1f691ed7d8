"""The description may grow; nothing that a client may rely on is taken away from it.

``python -m tests.api.test_contract`` stores the description as it is now, which is done with every addition.
"""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

from api.app import create_app

STORED = Path(__file__).with_name("contract.json")
LIMITS = ("maxLength", "maximum", "pattern")
WORDS = ("description", "summary", "title", "example", "examples")


def taken_away(before: Any, now: Any, where: str = "") -> list[str]:
    """Return the places where something that was described is so no more, words aside."""
    if isinstance(before, dict) and isinstance(now, dict):
        before, now = _said_alike(before), _said_alike(now)
        named = where.endswith(("/properties", "/schemas"))
        # A request may hold more than before.
        looser = LIMITS if "/parameters/" in where else ()
        kept = [key for key in before if named or key not in (*WORDS, *(key for key in looser if key not in now))]
        lost = [f"{where}/{key}" for key in kept if key not in now]
        # What a request must hold may not become more.
        more = set(now.get("required", [])) - set(before.get("required", [])) if isinstance(now.get("required"), list) else set()
        known = before.get("properties", {})
        lost += [f"{where}/required/{key}" for key in sorted(more) if key in known]
        return lost + [place for key in kept if key in now for place in taken_away(before[key], now[key], f"{where}/{key}")]
    if isinstance(before, list) and isinstance(now, list):
        there = [json.dumps(each, sort_keys=True) for each in now]
        if all(isinstance(each, str) for each in before):
            return [f"{where}/{each}" for each in before if json.dumps(each) not in there]
        if all(isinstance(each, dict) and "name" in each for each in before):  # options, in whatever order
            by_name = {each["name"]: each for each in now}
            lost = [f"{where}/{each['name']}" for each in before if each["name"] not in by_name]
            kept = [each for each in before if each["name"] in by_name]
            return lost + [place for each in kept for place in taken_away(each, by_name[each["name"]], f"{where}/{each['name']}")]
        if len(now) < len(before):
            return [where]
        return [place for number, each in enumerate(before) for place in taken_away(each, now[number], f"{where}/{number}")]
    return [] if before == now else [where]


def _said_alike(schema: dict[str, Any]) -> dict[str, Any]:
    """A schema in which a single value is said as a list of one, which means the same."""
    if "const" not in schema or "enum" in schema:
        return schema
    return {key: value for key, value in schema.items() if key != "const"} | {"enum": [schema["const"]]}


def test_nothing_is_taken_away() -> None:
    assert taken_away(json.loads(STORED.read_text(encoding="utf-8")), create_app().openapi()) == []


def _seconds(document: dict[str, Any]) -> dict[str, Any]:
    """What the option `seconds` of a sequence may be."""
    options = document["paths"]["/v1/sequences"]["post"]["parameters"]
    return next(each for each in options if each["name"] == "seconds")["schema"]["anyOf"][0]  # type: ignore[no-any-return]


def test_what_is_taken_away_is_noticed() -> None:
    now = create_app().openapi()
    less = copy.deepcopy(now)
    del less["paths"]["/v1/checks"]
    del less["components"]["schemas"]["Answer"]["properties"]["lessons"]
    less["paths"]["/v1/sequences"]["post"]["responses"].pop("503")
    assert set(taken_away(now, less)) == {
        "/paths//v1/checks",
        "/paths//v1/sequences/post/responses/503",
        "/components/schemas/Answer/properties/lessons",
    }
    assert taken_away(less, now) == []
    options = copy.deepcopy(now)
    options["paths"]["/v1/sequences"]["post"]["parameters"].reverse()
    assert taken_away(now, options) == []
    gone = options["paths"]["/v1/sequences"]["post"]["parameters"].pop()["name"]
    assert taken_away(now, options) == [f"/paths//v1/sequences/post/parameters/{gone}"]
    looser, narrower = copy.deepcopy(now), copy.deepcopy(now)
    del _seconds(looser)["maximum"]
    _seconds(narrower)["maximum"] = 1
    assert taken_away(now, looser) == []
    assert taken_away(now, narrower) == ["/paths//v1/sequences/post/parameters/seconds/schema/anyOf/0/maximum"]
    more = copy.deepcopy(now)
    more["components"]["schemas"]["Rolling"]["required"].append("record")
    assert taken_away(now, more) == ["/components/schemas/Rolling/required/record"]


if __name__ == "__main__":
    STORED.write_text(json.dumps(create_app().openapi(), indent=1, sort_keys=True) + "\n", encoding="utf-8")
