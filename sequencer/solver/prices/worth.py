"""What more of something shared would be worth at most, as prices prove it.

Prices that prove a bound prove one for every other right-hand side too: where a limit allowed so much more, the aim would come to
that bound at least, less the price of what is more (Lagrange). Of all prices that were asked the best counts for each limit. Each
part keeps its own limits meanwhile: that no class by itself takes more than is allowed now.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import TypeVar

from sequencer.instance.facts import Instance
from sequencer.rules.counting import DUE, Count, CountingRule
from sequencer.solver.prices.covers import Items, looser
from sequencer.solver.prices.pricing import SCALE
from sequencer.solver.prices.rows import SharedRow
from sequencer.solver.prices.shared_rules import sharing
from sequencer.solver.progress import PricesNow
from sequencer.solver.raised import RaisedLimit, SharedLimit

TOLD = 3
"""So many limits, and classes, are told of while the search goes on: those that cost most."""

Key = TypeVar("Key")


def shared_limits(instance: Instance, parts: Iterable[tuple[int, ...]]) -> dict[str, SharedLimit]:
    """What rules demand at most of several parts together, by what the model calls it."""
    part_of = {index: part for part, classes in enumerate(parts) for index in classes}
    found = {}
    for rule in sharing(instance):
        if not isinstance(rule, CountingRule):
            continue
        for count in rule.counts_over(instance, part_of, wished=False):
            if count.most is not None and len({part_of[each] for each in count.classes if each in part_of}) > 1:
                found[count.label] = SharedLimit(rule, count, _one_alone(instance, count, part_of))
    return found


def _one_alone(instance: Instance, count: Count, part_of: Mapping[int, int]) -> bool:
    """Whether one part by itself could take more than a limit allows, as far as its periods tell."""
    reaches: dict[int, int] = {}
    for class_index in count.classes:
        # Homework of several periods may be due in one.
        periods = sum(of == class_index for of, _ in count.slots) if count.how != DUE else None
        weighed = (count.weights.get(index, 0) for index in instance.classes[class_index].lessons)
        part = part_of.get(class_index, -1)
        reaches[part] = reaches.get(part, 0) + sum(sorted(weighed, reverse=True)[:periods])
    return any(much + count.fixed > (count.most or 0) for much in reaches.values())


class Worth:
    """Gathers what prices prove of limits while one aim is bounded.

    Parameters
    ----------
    limits
        By label what may be raised.
    cuts
        For each cut the row that it is of, and what lessons take of that.
    least
        What is proven without prices, in thousandths.
    told
        Limits with a price on an earlier aim, by label: what parts may pay then was reckoned with these as they are.
    """

    def __init__(
        self,
        limits: Mapping[str, SharedLimit],
        cuts: Mapping[SharedRow, tuple[SharedRow, Items]],
        least: int,
        told: Collection[str] = (),
    ) -> None:
        self._limits, self._cuts, self._told = limits, cuts, told
        self._best = least
        self._windows: dict[str, int] = {}
        self._every: dict[object, int] = {}
        self._now: dict[str, int] = {}

    def priced(self, rows: Iterable[SharedRow], prices: Iterable[int]) -> Iterator[str]:
        """The labels of limits that have a price."""
        return (source.label for _, _, source, _ in self._with_price(rows, prices))

    def _with_price(self, rows: Iterable[SharedRow], prices: Iterable[int]) -> Iterator[tuple[SharedRow, int, SharedRow, Items]]:
        """Rows with a price that a limit stands behind: row, price, the limit's row, and what lessons take of that in a cut."""
        for row, price in zip(rows, prices, strict=True):
            source, items = self._cuts.get(row, (row, ()))
            if price and source.label in self._limits:
                yield row, price, source, items

    def take(self, least: int, rows: Iterable[SharedRow], prices: Iterable[int]) -> None:
        """Take up what these prices prove."""
        self._now = {}
        for row, price, source, items in self._with_price(rows, prices):
            # A sum that belongs to nobody is taken off where a rule is kept group by group, or wished.
            if any(much < 0 for _, much in source.terms):
                continue
            more = source.raised(self._limits[source.label].step)
            more = looser(source, items, row, more) if items else more
            self._now[source.label] = self._now.get(source.label, 0) + price * more
        together: dict[object, int] = {}
        for label, much in self._now.items():
            key = self._limits[label].stated
            together[key] = together.get(key, 0) + much
        self._prove(self._windows, self._now, least)
        self._prove(self._every, together, least)
        self._best = max(self._best, least)

    def _prove(self, known: dict[Key, int], now: Mapping[Key, int], least: int) -> None:
        """Prices that were asked before and name none of these proved as much with more of it."""
        for key in {**known, **now}:
            known[key] = max(known.get(key, self._best), least - now.get(key, 0))

    @property
    def bound(self) -> int:
        """What all prices so far prove of the aim as it is."""
        return -(-self._best // SCALE)

    def now(self, pays: Mapping[tuple[str, ...], tuple[int, int]]) -> PricesNow:
        """The prices asked last in words, dearest first; with what classes pay, and what they would pay by themselves."""
        dearest = sorted(self._now.items(), key=lambda entry: -entry[1])[:TOLD]
        over = sorted(pays.items(), key=lambda entry: entry[1][1] - entry[1][0])[:TOLD]
        return PricesNow(
            tuple((self._limits[label].text(), much / SCALE) for label, much in dearest if much),
            tuple((classes, value, least) for classes, (value, least) in over if value > least),
        )

    def proven(self) -> tuple[RaisedLimit, ...]:
        """For each limit that has a price what the aim comes to at least if it were raised, everywhere and window by window."""
        windows: dict[object, list[tuple[SharedLimit, int]]] = {}
        for label, least in self._windows.items():
            limit = self._limits[label]
            windows.setdefault(limit.stated, []).append((limit, -(-least // SCALE)))
        best, found = self.bound, []
        told = {self._limits[label].stated for label in self._told}
        for key, each in windows.items():
            if key in told:
                continue
            least = -(-self._every[key] // SCALE)
            if least < best:
                own = tuple((limit.count.where, at_least) for limit, at_least in each if at_least < best)
                limit = replace(each[0][0], one_alone=any(of.one_alone for of, _ in each))
                found.append(RaisedLimit(limit, least, own))
        return tuple(sorted(found, key=lambda raised: raised.least))
