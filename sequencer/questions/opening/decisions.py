"""What an earlier decision would be worth: the shared opening until one date after the other, and what is lost with each."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from sequencer.questions.compare import Comparison
from sequencer.questions.opening.share import SharedOpening, share_opening
from sequencer.questions.solve import SolveSettings
from sequencer.solver.solver_calls import StopSignal


@dataclass(frozen=True)
class AimLosses:
    """What all futures lose on one aim with one opening, at least and, where own bests are not proven, at most.

    ``greatest`` is what the future loses that loses most, ``total`` the sum, each times its future's weight where it has one.
    """

    aim: str
    greatest: int
    greatest_most: int
    total: int
    total_most: int


def share_openings(
    comparison: Comparison,
    dates: Iterable[date],
    settings: SolveSettings | None = None,
    weights: Mapping[str, int] | None = None,
    stop: StopSignal | None = None,
    ready: Callable[[SharedOpening], None] | None = None,
) -> tuple[SharedOpening, ...]:
    """One opening for every date by which it may be known which future comes; see ``share_opening``.

    The settings' time is that for each; ``ready`` is called with each as it is done.

    Raises
    ------
    UnusableSettings, RefereeDisagrees
    """
    found = []
    for until in dates:
        found.append(share_opening(comparison, until, settings, weights, stop))
        if ready is not None:
            ready(found[-1])
    return tuple(found)


def losses_by_aim(shared: SharedOpening) -> tuple[AimLosses, ...]:
    """What an opening loses, aim by aim; nothing where there is none."""
    counts = [(shared.weights or {}).get(each.name, 1) for each in shared.continuations]
    return tuple(
        AimLosses(
            losses[0].aim,
            max(loss.loss for loss in losses),
            max(loss.most for loss in losses),
            sum(count * loss.loss for count, loss in zip(counts, losses, strict=True)),
            sum(count * loss.most for count, loss in zip(counts, losses, strict=True)),
        )
        for losses in zip(*(each.losses for each in shared.continuations), strict=True)
    )
