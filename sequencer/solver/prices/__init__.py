"""Classes that share rules, planned class by class under prices on what they share."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from sequencer.plan.sequence import Sequence
from sequencer.solver.aim_search import PricedParts
from sequencer.solver.apart import ClassesApart
from sequencer.solver.model import ClassesModel, Prepared
from sequencer.solver.progress import Progress
from sequencer.solver.solver_calls import StopSignal

if TYPE_CHECKING:
    from sequencer.solver.prices.elsewhere import AskMany
    from sequencer.solver.prices.many import ManyClasses


def under_prices(
    prepared: Prepared, apart: ClassesApart[Sequence], elsewhere: AskMany | None = None
) -> Callable[[], PricedParts[Sequence]]:
    """What puts the parts of a group of classes under prices, once that is needed."""

    def begin() -> PricedParts[Sequence]:
        # Only here: they bring the linear solver, which takes a while to load.
        from sequencer.solver.prices.search import SharedPrices

        return SharedPrices(prepared, apart, elsewhere)

    return begin


def many_classes(
    prepared: Prepared,
    apart: ClassesApart[Sequence],
    build: Callable[[tuple[int, ...]], ClassesModel],
    seed: int,
    stop: StopSignal,
    report: Callable[[Progress], None] | None = None,
    elsewhere: AskMany | None = None,
) -> ManyClasses:
    """The search over classes that are too many for one model."""
    from sequencer.solver.prices.many import ManyClasses

    return ManyClasses(prepared, apart, build, seed, stop, report, elsewhere)
