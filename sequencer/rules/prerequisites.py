"""Rule 1: prerequisites."""

from __future__ import annotations

from sequencer.rules.base import LESSON
from sequencer.rules.distances import FollowingRule
from sequencer.scenario.rules_schema import RuleNumbers


class Prerequisites(RuleNumbers):
    """Rule 1: whether what lessons require holds."""


class PrerequisiteRule(FollowingRule):
    """Where y requires x, y comes after the end of x, and is placed only if x is, or was skipped.

    A window may be put on top: least and most days, periods, or school weeks. So may the order of a unit's lessons, and of units.
    As a wish a window costs for each day, period or school week outside, each by itself; the order is always hard.
    """

    number, name, key, level = 1, "prerequisites", "prerequisites", LESSON
    numbers = Prerequisites
