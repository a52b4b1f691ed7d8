"""Limits that several classes share, and what an aim would come to at least if one of them were raised."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sequencer.rules.counting import Count, CountingRule


@dataclass(frozen=True)
class SharedLimit:
    """What a rule allows several classes at most in one window.

    Parameters
    ----------
    one_alone
        Whether a class by itself, or parallel classes in step, could take more than is allowed.
    """

    rule: CountingRule
    count: Count
    one_alone: bool

    @property
    def most(self) -> int:
        """What is allowed."""
        assert self.count.most is not None, "a limit is one at most"
        return self.count.most

    @property
    def step(self) -> int:
        """What a little more of it is: an hour, or one."""
        return HOUR if self.count.unit > 1 else 1

    @property
    def stated(self) -> object:
        """What is the same for all windows in which one number holds."""
        count = self.count
        return self.rule.number, self.rule.place, count.owner, count.what, count.how, count.most, count.where.partition(" ")[0]

    def text(self) -> str:
        """What it allows, in the rule's words."""
        return self.rule.holds(self.count, self.most)

    def more_text(self) -> str:
        """A little more of it than it allows, in any window, in the rule's words."""
        anywhere = replace(self.count, where="")
        return f"{self.rule.holds(anywhere, self.most + self.step).rstrip()} instead of {self.most}"


HOUR = 60
"""Minutes by which a limit of minutes is raised."""


@dataclass(frozen=True)
class RaisedLimit:
    """What an aim comes to at least if a limit is raised, all else being as it is and the aims before it no worse than held.

    Parameters
    ----------
    limit
        The limit, in one of its windows.
    least
        What the aim comes to if it is raised in every window.
    windows
        For each window in which raising it alone may help what the aim comes to then.
    """

    limit: SharedLimit
    least: int
    windows: tuple[tuple[str, int], ...]
