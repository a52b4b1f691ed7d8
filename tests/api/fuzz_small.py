"""The service's description with the shapes of bodies cut off some levels down, so that every combination of them can be tried.

Of one body as it is described the coverage phase makes tens of thousands of requests, a scenario's shapes being so many.
"""

from __future__ import annotations

import copy
from typing import Any

DEPTH = 2
"""Levels of a body that stay as they are described."""

_HOLDING = ("properties", "items", "additionalProperties", "prefixItems", "patternProperties")
_CHOOSING = ("anyOf", "oneOf", "allOf")


def small(document: dict[str, Any], depth: int = DEPTH) -> dict[str, Any]:
    """Return the description with bodies of so many levels; answers and options stay as they are."""
    cut = copy.deepcopy(document)
    for operations in cut["paths"].values():
        for operation in operations.values():
            for content in operation.get("requestBody", {}).get("content", {}).values():
                content["schema"] = _cut(content["schema"], document["components"]["schemas"], depth)
    return cut


def _cut(schema: Any, shapes: dict[str, Any], depth: int) -> Any:
    if not isinstance(schema, dict):
        return schema
    if "$ref" in schema:
        named = shapes[schema["$ref"].rpartition("/")[2]]
        schema = {**named, **{key: said for key, said in schema.items() if key != "$ref"}}
    kept = {key: said for key, said in schema.items() if key not in (*_HOLDING, *_CHOOSING, "discriminator", "examples", "$defs")}
    for key in _CHOOSING:
        if key in schema:
            kept[key] = [_cut(each, shapes, depth) for each in schema[key]]
    if depth == 0:
        return {key: said for key, said in kept.items() if key != "required"}
    for key in _HOLDING:
        said = schema.get(key)
        if key in ("properties", "patternProperties") and said is not None:
            kept[key] = {name: _cut(each, shapes, depth - 1) for name, each in said.items()}
        elif isinstance(said, list):
            kept[key] = [_cut(each, shapes, depth - 1) for each in said]
        elif key in schema:
            kept[key] = _cut(said, shapes, depth - 1)
    return kept
