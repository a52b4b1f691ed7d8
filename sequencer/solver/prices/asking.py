"""All parts asked under prices: what that proves of an aim.

Each part pays its share of the aim and the prices of what it uses. What that comes to at least, all together, less the price of
all that the rows allow, is a bound of the aim, whatever the prices are.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from collections.abc import Sequence as Ordered
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from sequencer.solver.prices.columns import PartColumn, Shared
from sequencer.solver.prices.elsewhere import AskMany
from sequencer.solver.prices.pricing import SCALE, Paid, Priced, PricedPart, PricedQuestion
from sequencer.solver.prices.rows import SharedRow
from sequencer.solver.solver_calls import AT_ONCE, Budget

EFFORT, LEAST = 1.5, 0.1
"""Most effort for one part under one set of prices, at first; and the least that it is given where they are many."""

ALONE = 8.0
"""Most effort for one part by itself."""

HARDER, HARDEST = 4.0, 16.0
"""By how much that grows where hardly a column is new but not every part was searched to the end, and how far."""

WORTH_IT = 2.0
"""So many times the effort is worth another try with a part."""

SHARE_OF_ROUND = 0.25
"""Of what is left, the share that one round may take."""


@dataclass(frozen=True)
class PartsAsked:
    """What all parts answered under prices.

    Parameters
    ----------
    prices
        Of the rows, in thousandths.
    least
        What all comes to at least, in thousandths.
    leasts
        Of that, what each part comes to, by its number, and each variable that belongs to nobody, by the complement of its own.
    found
        What each part found.
    whole
        Whether each part was searched to the end.
    """

    prices: list[int]
    least: int
    leasts: dict[int, int]
    found: tuple[Priced, ...]
    whole: bool


class Asking:
    """The parts, asked for one aim."""

    def __init__(self, shared: Shared, parts: tuple[PricedPart, ...], place: int) -> None:
        self._shared = shared
        self._parts = parts
        self._aim = shared.aims[place]
        self._harder = 1.0
        self._elsewhere = shared.elsewhere
        for part in parts:
            part.begin()

    def ask_harder(self) -> bool:
        """Spend more on each part from now on; whether there was more to spend."""
        harder = min(HARDEST, self._harder * HARDER)
        more, self._harder = harder > self._harder, harder
        return more

    def every(
        self,
        rows: list[SharedRow],
        prices: list[int],
        columns: Ordered[PartColumn],
        budget: Budget,
        open_again: bool = False,
    ) -> PartsAsked:
        """All parts under prices of the rows, in thousandths.

        Parameters
        ----------
        columns
            Sequences of parts that are known. Of a part that is stepped through, or hard, only cheaper ones are asked for; of
            others some that are as cheap make better prices.
        open_again
            Whether parts that were not searched to the end are asked once more, where they are few.
        """
        paid, of_nobody = self._shared_out(rows, prices)
        bounds = self._shared.coupling.bounds
        leasts = {~variable: min(of_nobody.get(variable, 0) * end for end in ends) for variable, ends in bounds.items()}
        share = budget.effort * SHARE_OF_ROUND * AT_ONCE / len(self._parts)
        each = min(budget.effort, min(EFFORT, max(share, LEAST)) * self._harder)
        cheapest = self._cheapest(columns, paid)
        found = list(self._each(self._parts, paid, cheapest, each, budget))
        few = [part for part, priced in zip(self._parts, found, strict=True) if not priced.whole]
        harder = sum(priced.effort for priced in found) / max(1, len(few))
        if open_again and harder > each * WORTH_IT:
            # What a few leave open is lost to the bound: on them may be spent as much again as on all.
            cheapest = self._cheapest(columns, paid)
            for open_part, priced in zip(few, self._each(few, paid, cheapest, min(budget.effort, harder), budget), strict=True):
                found[open_part.number] = found[open_part.number].and_later(priced)
        leasts.update((part, priced.least) for part, priced in enumerate(found))
        allowed = sum(price * row.most for row, price in zip(rows, prices, strict=True))
        least = SCALE * self._aim.constant + sum(leasts.values()) - allowed
        return PartsAsked(prices, least, leasts, tuple(found), all(priced.whole for priced in found))

    def paid(self, rows: list[SharedRow], prices: list[int]) -> tuple[Paid, ...]:
        """What each part pays: its share of the aim, of those that are held, and the prices of what it uses."""
        return self._shared_out(rows, prices)[0]

    def _shared_out(self, rows: list[SharedRow], prices: list[int]) -> tuple[tuple[Paid, ...], dict[int, int]]:
        """What each part pays, and what variables cost that belong to nobody."""
        of_parts: list[dict[int, int]] = [{} for _ in self._parts]
        of_nobody = {variable: SCALE * much for variable, much in self._aim.of_nobody.items()}
        aims = [(self._aim, SCALE)]
        for row, price in zip(rows, prices, strict=True):
            if not price:
                continue
            if row.aim is not None:
                aims.append((self._shared.aims[row.aim], price))
            for variable, much in row.terms:
                part = self._shared.part_of.get(variable)
                own = of_parts[part] if part is not None else of_nobody
                own[variable] = own.get(variable, 0) + price * much
        paid = tuple(Paid(tuple(aims), {each: much for each, much in own.items() if much}) for own in of_parts)
        return paid, of_nobody

    def alone(self, parts: Ordered[PricedPart], columns: Ordered[PartColumn], budget: Budget) -> tuple[Priced, ...]:
        """Some parts by themselves, without prices."""
        each = min(ALONE, budget.effort * AT_ONCE / max(1, len(parts)))
        paid = self.paid([], [])
        cheapest = self._cheapest((column for column in columns if self._parts[column.part].hard), paid)
        return self._each(parts, paid, cheapest, each, budget)

    def _cheapest(self, columns: Iterable[PartColumn], paid: tuple[Paid, ...]) -> dict[int, int]:
        """What the cheapest column known comes to, of each part of which only cheaper ones are asked for."""
        cheapest: dict[int, int] = {}
        for column in (each for each in columns if self._parts[each.part].only_cheaper):
            pays = paid[column.part].by(column, self._shared)
            cheapest[column.part] = min(pays, cheapest.get(column.part, pays))
        return cheapest

    def _each(
        self,
        parts: Ordered[PricedPart],
        paid: tuple[Paid, ...],
        cheapest: Mapping[int, int],
        effort: float,
        budget: Budget,
    ) -> tuple[Priced, ...]:
        own = Budget(budget.ends, effort)

        def ask(part: PricedPart) -> Priced:
            asked = part.ask(paid[part.number], cheapest.get(part.number), own)
            return asked if isinstance(asked, Priced) else part.here(asked, own)

        # Those that took most go first, so that no thread is left alone with one of them.
        longest_first = sorted(parts, key=lambda part: -part.took)
        if self._elsewhere is None:
            with ThreadPoolExecutor(AT_ONCE) as threads:
                answers = list(threads.map(ask, longest_first))
        else:
            asked = [(part, part.ask(paid[part.number], cheapest.get(part.number), own)) for part in longest_first]
            answers = _from_elsewhere(self._elsewhere, asked, own)
        found = dict(zip((part.number for part in longest_first), answers, strict=True))
        budget.effort -= sum(priced.effort for priced in found.values()) / AT_ONCE
        return tuple(found[part.number] for part in parts)


def _from_elsewhere(elsewhere: AskMany, every: list[tuple[PricedPart, Priced | PricedQuestion]], budget: Budget) -> list[Priced]:
    """What parts say that are asked elsewhere; what was lost there is asked here."""
    over = budget.over or budget.effort <= 0
    questions = [part.to_send(asked, budget) for part, asked in every if isinstance(asked, PricedQuestion) and not over]
    answers = iter(zip(questions, elsewhere(questions), strict=True))
    found = []
    for part, asked in every:
        if isinstance(asked, Priced) or over:
            found.append(asked if isinstance(asked, Priced) else part.here(asked, budget))
            continue
        question, answer = next(answers)
        found.append(part.here(asked, budget) if answer is None else part.from_elsewhere(asked, question, answer))
    return found
