"""What more of something that classes share would be worth at most: an hour of marking, a lab, a place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sequencer.solver.aim_search import StageResult


@dataclass(frozen=True)
class MoreWorth:
    """By how much an aim could be less with more of something shared: proven to be no more, and no promise that it is so much.

    Everything else stays as it is, and no aim before it becomes worse than it was held.

    Parameters
    ----------
    rule, name
        The rule that limits it: its number, and what a verdict calls it.
    owner
        The teacher or cohort; None for a thing.
    text
        The raised limit beside the one that holds, in words.
    most, more
        What is allowed, and by how much that is raised.
    at_most
        By how much the aim could be less at most if it is raised in every period, on every day or in every week.
    windows
        For each day, week or period in which raising it alone may help, that in words, and by how much at most.
    one_alone
        Whether that is proven only as long as no class by itself, nor parallel classes in step, takes more than is allowed now.
    """

    aim: str
    rule: int
    name: str
    owner: str | None
    text: str
    most: int
    more: int
    at_most: int
    windows: tuple[tuple[str, int], ...]
    one_alone: bool


def more_worth(stages: Iterable[StageResult]) -> tuple[MoreWorth, ...]:
    """What more would be worth on each of these aims, the dearest first."""
    found = []
    for stage in stages:
        for raised in stage.raised:
            limit = raised.limit
            windows = tuple((where, stage.value - least) for where, least in raised.windows if least < stage.value)
            found.append(
                MoreWorth(
                    stage.aim, limit.rule.number, limit.rule.name, limit.count.owner, limit.more_text(), limit.most, limit.step,
                    stage.value - raised.least, tuple(sorted(windows, key=lambda window: -window[1])), limit.one_alone,
                )
            )  # fmt: skip
    return tuple(found)
