"""Circles in a graph of what comes before what, each found in a time that grows only with the graph."""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Iterable, Iterator, Mapping
from typing import TypeVar

Node = TypeVar("Node", bound=Hashable)


def circles(before: Mapping[Node, Iterable[Node]]) -> Iterator[list[Node]]:
    """A circle from each knot of the graph: the shortest through the knot's first node.

    Parameters
    ----------
    before
        For every node, the nodes that it comes before.

    Yields
    ------
    list[Node]
        The circle's nodes in order, the first of them again at the end.
    """
    knots: dict[int, list[Node]] = {}
    for node, knot in knot_of(before).items():
        knots.setdefault(knot, []).append(node)
    order = {node: place for place, node in enumerate(before)}
    found = [sorted(nodes, key=order.__getitem__) for nodes in knots.values() if len(nodes) > 1]
    for nodes in sorted(found, key=lambda nodes: order[nodes[0]]):
        yield _shortest_circle(nodes[0], set(nodes), before)


def knot_of(before: Mapping[Node, Iterable[Node]]) -> dict[Node, int]:
    """Number the knots of a graph: two nodes are in one knot when each can be reached from the other.

    Tarjan's algorithm for strongly connected components, without recursion.
    """
    met: dict[Node, int] = {}
    lowest: dict[Node, int] = {}
    knot: dict[Node, int] = {}
    waiting: list[Node] = []
    for start in before:
        if start in met:
            continue
        path = [(start, iter(before[start]))]
        met[start] = lowest[start] = len(met)
        waiting.append(start)
        while path:
            node, later = path[-1]
            for following in later:
                if following not in met:
                    met[following] = lowest[following] = len(met)
                    waiting.append(following)
                    path.append((following, iter(before[following])))
                    break
                if following not in knot:
                    lowest[node] = min(lowest[node], met[following])
            else:
                path.pop()
                if path:
                    above = path[-1][0]
                    lowest[above] = min(lowest[above], lowest[node])
                if lowest[node] == met[node]:
                    while node not in knot:
                        knot[waiting.pop()] = met[node]
    return knot


def _shortest_circle(start: Node, knot: set[Node], before: Mapping[Node, Iterable[Node]]) -> list[Node]:
    came_from: dict[Node, Node] = {}
    queue = deque([start])
    while start not in came_from:
        node = queue.popleft()
        for following in before[node]:
            if following in knot and following not in came_from:
                came_from[following] = node
                queue.append(following)
    circle = [start]
    while len(circle) == 1 or circle[-1] != start:
        circle.append(came_from[circle[-1]])
    return circle[::-1]
