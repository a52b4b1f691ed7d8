"""Which lessons are sure to come before which, chains included, and which links that makes needless."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.instance.facts import Instance
from sequencer.solver.links import Link


@dataclass(frozen=True)
class Order:
    """For each lesson, as a bit mask over ``Instance.lessons``: sure lessons that come before it, and after it."""

    before: tuple[int, ...]
    after: tuple[int, ...]

    def comes_before(self, one: int, other: int) -> bool:
        """Whether ``one`` is sure to come before ``other``."""
        return bool(self.before[other] >> one & 1)

    def between(self, one: int, other: int) -> int:
        """The lessons sure to lie between two lessons, as a bit mask."""
        return self.after[one] & self.before[other]


def sure_order(instance: Instance, links: tuple[Link, ...], sure: frozenset[int]) -> Order:
    """Which sure lessons come before and after each lesson, chains included."""
    count = len(instance.lessons)
    links = tuple(link for link in links if link.orders)
    direct: list[list[int]] = [[] for _ in range(count)]
    for link in links:
        direct[link.before].append(link.after)
    order = topological(count, links)
    after = [0] * count
    before = [0] * count
    for index in reversed(order):
        for later in direct[index]:
            # What follows an optional lesson follows by way of it only when it is placed.
            after[index] |= (1 << later | after[later]) if later in sure else 0
    for index in order:
        for later in direct[index]:
            before[later] |= (1 << index | before[index]) if index in sure else 0
    return Order(tuple(before), tuple(after))


def topological(count: int, links: tuple[Link, ...]) -> list[int]:
    """Lessons so that every link runs forward, ties in declared order; without those on a circle and after one."""
    waits = [0] * count
    direct: list[list[int]] = [[] for _ in range(count)]
    for link in links:
        waits[link.after] += 1
        direct[link.before].append(link.after)
    ready = [index for index in range(count) if waits[index] == 0]
    order = []
    while ready:
        index = ready.pop()
        order.append(index)
        for later in direct[index]:
            waits[later] -= 1
            if waits[later] == 0:
                ready.append(later)
    return order


def reduced(instance: Instance, links: tuple[Link, ...], sure: frozenset[int]) -> tuple[Link, ...]:
    """The links without plain ones that a chain over sure lessons, or a stricter link, stands for."""
    count = len(instance.lessons)
    direct: list[set[int]] = [set() for _ in range(count)]
    for link in links:
        if link.orders:
            direct[link.before].add(link.after)
    after = sure_order(instance, links, sure).after
    kept: dict[tuple[int, int], None] = {}
    found = []
    for link in links:
        if link.plain:
            pair = (link.before, link.after)
            by_chain = any(
                middle in sure and middle != link.after and after[middle] >> link.after & 1 for middle in direct[link.before]
            )
            if pair in kept or by_chain:
                continue
            kept[pair] = None
        found.append(link)
    return tuple(found)
