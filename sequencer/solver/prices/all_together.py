"""All parts in one model, for what a few at a time leave open: built when it is first needed, and told all that prices proved."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from ortools.sat.python import cp_model

from sequencer.plan.sequence import Sequence
from sequencer.solver.aim_search import GroupSearch
from sequencer.solver.apart import ClassesApart
from sequencer.solver.model import ClassesModel
from sequencer.solver.prices.search import SharedPrices
from sequencer.solver.progress import Progress
from sequencer.solver.solver_calls import Budget, StopSignal
from sequencer.solver.sought import SequenceSought


class AllTogether:
    """The search over all parts in one model.

    Parameters
    ----------
    build
        The model.
    report
        Is told of every improvement.
    """

    def __init__(
        self,
        build: Callable[[], ClassesModel],
        apart: ClassesApart[Sequence],
        prices: SharedPrices,
        seed: int,
        workers: int,
        stop: StopSignal,
        report: Callable[[Progress], None] | None,
    ) -> None:
        self._apart, self._prices = apart, prices
        self._sought = SequenceSought(build())
        self.search = GroupSearch(self._sought, seed, workers, stop, report)
        self._leeways = 0
        self._held: dict[int, int] = {}

    def better(self, place: int, bound: int, most: Mapping[int, int], held: Sequence, budget: Budget) -> int:
        """Look for a sequence at the bound of an aim and, where there is none, at one more, and so on; the bound proven.

        Parameters
        ----------
        most
            What earlier aims, by their places, are held at.
        """
        self._hold(most)
        aim, search, model = self.search.model.aims[place], self.search, self._sought.solver_model
        search.start_from(held)
        search.tell_parts(self._apart)
        if bound > aim.floor:
            search.no_less(aim, bound)
        leeway = self._prices.leeway(place)

        def closer(either: cp_model.CpModel, at_most: int) -> None:
            if leeway is not None:
                leeway.post(self._prices.parts, self._sought, either, at_most)

        # First in the model itself: literals that are made for it have to be there before it is copied.
        closer(model, search.value(aim.name))
        with search.made_small(aim, bound):
            return search.from_below(aim, bound, budget, closer)

    def improve(self, place: int, bound: int, most: Mapping[int, int], held: Sequence, budget: Budget) -> int:
        """Make an aim small; the bound proven."""
        self._hold(most)
        self.search.start_from(held)
        return self.search.improve(self.search.model.aims[place], budget, bound=bound)

    def _hold(self, most: Mapping[int, int]) -> None:
        """Say what aims are held at, and what that leaves each part."""
        for place, value in most.items():
            if value < self._held.get(place, value + 1):
                self._held[place] = value
                self.search.hold(self.search.model.aims[place], value)
        for leeway, value in self._prices.leeways[self._leeways :]:
            leeway.post(self._prices.parts, self._sought, self._sought.solver_model, value)
        self._leeways = len(self._prices.leeways)
