"""A repair: changes that make an impossible scenario possible, tried; and what came of looking for some."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from sequencer.questions.explaining.choices import DialKey
from sequencer.questions.solve import Answer
from sequencer.scenario.changes.what_ifs import Change
from sequencer.scenario.schema import Scenario


@dataclass(frozen=True)
class Repair:
    """Changes that make the scenario possible.

    Parameters
    ----------
    changes
        As a what-if lists them.
    cost
        By the scenario's costs.
    scenario
        The scenario with the changes made.
    answer
        What came of solving it.
    """

    changes: tuple[Change, ...]
    cost: int
    scenario: Scenario = field(compare=False)
    answer: Answer = field(compare=False)


Tried = tuple[Repair, Mapping[DialKey, int]]
"""A repair, and how far it turns each dial."""


@dataclass(frozen=True)
class Found:
    """What came of looking for repairs.

    Parameters
    ----------
    repairs
        Cheapest first, none part of another.
    cheapest
        Whether everything cheaper than the first was ruled out.
    no_more
        Whether every other choice of changes was ruled out, but for those that hold one of these and change more than they need.
    """

    repairs: tuple[Repair, ...]
    cheapest: bool
    no_more: bool
