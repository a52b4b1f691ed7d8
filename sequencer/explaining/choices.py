"""Choices of dials and steps, and the conflicts that they leave."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

DialKey = tuple[str, ...]
Choice = tuple[tuple[DialKey, int], ...]
"""How far each dial is turned, those that are not left out."""

Further = Callable[["Known", Mapping[DialKey, int]], list[tuple[DialKey, int]]]
"""What a choice that leaves a conflict leads to: one dial more, or one turned further."""


def part_of(one: Mapping[DialKey, int], other: Mapping[DialKey, int]) -> bool:
    """Whether one choice turns no dial further than another does."""
    return all(other.get(dial, 0) >= steps for dial, steps in one.items())


@dataclass(frozen=True)
class Core:
    """A conflict: its statements' keys, and the dials that could ease it.

    ``alone`` where further statements cannot make possible what these make impossible: not where one may count periods, of which
    there are fewer between two lessons when the timetable and the closures hold as well.
    """

    keys: frozenset[tuple[str, ...]]
    dials: tuple[DialKey, ...]
    minimal: bool = True
    alone: bool = True


@dataclass(frozen=True)
class Known:
    """A conflict that stands as long as none of its dials is turned further than so."""

    core: Core
    turned: Mapping[DialKey, int]

    def stands(self, choice: Mapping[DialKey, int]) -> bool:
        return all(choice.get(dial, 0) <= self.turned.get(dial, 0) for dial in self.core.dials)


NOWHERE = Known(Core(frozenset(), ()), {})
"""What stands where a choice leads nowhere: nothing that is turned further will help."""
