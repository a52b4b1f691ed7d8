"""Small edits of a scenario: a path to one of its parts, and what is to stand there instead.

Edits are data, so that many of them, in any order, make one new scenario: positions in lists are those of the scenario that is
edited, whatever else is taken out of it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final, NamedTuple, TypeVar

from pydantic import BaseModel

from sequencer.scenario.base_schema import BaseScenario
from sequencer.scenario.places import Path

Base = TypeVar("Base", bound=BaseScenario)


GONE: Final[Any] = object()
"""What stands where a part is taken out: an entry of a list or mapping goes, a field is as it is unless stated."""


class Edit(NamedTuple):
    """One edit: the part at a path is replaced; by ``GONE`` it is taken out. An edit above another wins."""

    path: Path
    value: Any = GONE


def part_at(scenario: BaseScenario, path: Path) -> Any:
    """The part of a scenario at a path."""
    node: Any = scenario
    for part in path:
        node = getattr(node, str(part)) if isinstance(node, BaseModel) else node[part]
    return node


class _Leaf(NamedTuple):
    value: Any


_Tree = dict[Any, Any]


def edited(scenario: Base, edits: Iterable[Edit]) -> Base:
    """The scenario with every edit made; checks across entries are not run again."""
    tree: _Tree = {}
    for edit in edits:
        _insert(tree, edit)
    result: Base = _applied(scenario, tree) if tree else scenario
    return result


def _insert(tree: _Tree, edit: Edit) -> None:
    for part in edit.path[:-1]:
        inner = tree.setdefault(part, {})
        if isinstance(inner, _Leaf):
            return
        tree = inner
    if not isinstance(tree.get(edit.path[-1]), _Leaf):
        tree[edit.path[-1]] = _Leaf(edit.value)


def _applied(node: Any, tree: _Tree) -> Any:
    if isinstance(node, BaseModel):
        return node.model_copy(update={name: _field(node, name, inner) for name, inner in tree.items()})
    if isinstance(node, tuple):
        items = (_part(item, tree[place]) if place in tree else item for place, item in enumerate(node))
        return tuple(item for item in items if item is not GONE)
    if isinstance(node, dict):
        changed = {**node, **{key: _part(node.get(key), inner) for key, inner in tree.items()}}
        return {key: value for key, value in changed.items() if value is not GONE}
    raise TypeError(f"nothing lies inside {node!r}")


def _field(node: BaseModel, name: str, inner: Any) -> Any:
    value = _part(getattr(node, name), inner)
    return type(node).model_fields[name].get_default(call_default_factory=True) if value is GONE else value


def _part(node: Any, inner: Any) -> Any:
    return inner.value if isinstance(inner, _Leaf) else _applied(node, inner)
