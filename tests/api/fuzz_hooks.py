"""Bodies near the description's own examples, beside those that are drawn from nothing but the shapes.

A body drawn from the shape of a scenario alone takes half a second to draw and is never one that can be planned: its names name
nothing. Most bodies are therefore the example of their address with a few places changed, as the shape allows.
"""

from __future__ import annotations

import copy
import os
from functools import cache
from typing import Any

import schemathesis
from hypothesis import strategies as st
from jsonschema_rs import validator_for

from api.examples import BODIES
from sequencer import parse_document
from tests.api.service import description

NEAR = "SEQUENCER_FUZZ_NEAR"
"""Set where bodies near the examples are wanted: where only valid ones are drawn."""

DOCUMENT = description()

NEARER = 15

WORDS = ("source", "quiz", "source-task", "rivers", "9B", "teach", "practice", "retrieval", "off", "2026-11-04", "Ms Oak", "none")


def _places(data: Any) -> list[tuple[Any, Any]]:
    inside = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [place for key, value in inside for place in ((data, key), *_places(value))]


@st.composite
def near(draw: st.DrawFn, example: Any, shape: Any) -> Any:
    """Draw an example with some places changed, of those that fit its shape."""
    body = copy.deepcopy(example)
    for _ in range(draw(st.integers(0, 4))):
        changed = copy.deepcopy(body)
        places = _places(changed)
        parent, key = places[draw(st.integers(0, len(places) - 1))]
        value = parent[key]
        how = draw(st.integers(0, 3))
        if how == 0:
            del parent[key]
        elif isinstance(value, bool):
            parent[key] = not value
        elif isinstance(value, int):
            parent[key] = draw(st.integers(0, 12))
        elif isinstance(value, str):
            parent[key] = draw(st.sampled_from(WORDS) | st.text(max_size=8))
        elif isinstance(value, list) and value:
            value.insert(0, copy.deepcopy(value[-1]))
        if shape.is_valid(changed):
            body = changed
    return body


@cache
def _near(path: str) -> st.SearchStrategy[Any]:
    """Bodies near an address's example."""
    content = DOCUMENT["paths"][path]["post"]["requestBody"]["content"]["application/json"]
    shape = validator_for({**content["schema"], "components": DOCUMENT["components"]})
    return near(parse_document(BODIES[path])[0], shape)


if os.environ.get(NEAR):

    @schemathesis.hook
    def before_generate_body(context: schemathesis.HookContext, strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
        """Put bodies near the examples in the place of most others."""
        path = context.operation.path if context.operation is not None else ""
        if path not in BODIES:
            return strategy
        # Not a choice between the two, which counts several that are alike once. The first and last numbers are drawn more often.
        return st.integers(0, 2 * NEARER).flatmap(lambda number: strategy if number == NEARER else _near(path))
