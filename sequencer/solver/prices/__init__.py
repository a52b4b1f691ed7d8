"""Classes that share rules, planned class by class under prices on what they share."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from sequencer.plan.sequence import Sequence
from sequencer.solver.apart import ClassesApart
from sequencer.solver.model import ClassesModel, Prepared
from sequencer.solver.progress import Progress
from sequencer.solver.solver_calls import StopSignal

if TYPE_CHECKING:
    from sequencer.solver.prices.elsewhere import AskMany
    from sequencer.solver.prices.many import ManyClasses


def many_classes(
    prepared: Prepared,
    apart: ClassesApart[Sequence],
    build: Callable[[tuple[int, ...]], ClassesModel],
    seed: int,
    workers: int,
    stop: StopSignal,
    report: Callable[[Progress], None] | None = None,
    elsewhere: AskMany | None = None,
    floor: Callable[[int, Mapping[str, int]], int] | None = None,
) -> ManyClasses:
    """The search over coupled classes, taken apart."""
    # Only here: it brings the linear solver, which takes a while to load.
    from sequencer.solver.prices.many import ManyClasses

    return ManyClasses(prepared, apart, build, seed, workers, stop, report, elsewhere, floor)
