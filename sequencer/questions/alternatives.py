"""On request: further sequences as good as the best one, or within a stated loss on the last aims, as different as can be."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from sequencer.errors import RefereeDisagrees, UnusableSettings
from sequencer.plan.differences import Move, moves
from sequencer.plan.sequence import Laid, Sequence
from sequencer.questions.judge import Verdict, judge
from sequencer.solver.aim_search import GroupResult
from sequencer.solver.further import FurtherSearch, Limit
from sequencer.solver.model import Prepared
from sequencer.solver.progress import Progress
from sequencer.solver.solver_calls import Budget, Calls

MOST_ALTERNATIVES = 20
"""No more further sequences than this are looked for: nobody compares more, and each search is longer than the one before."""

MOST_LOSS = 1_000_000
"""A greater loss than this cannot be stated; no aim of a scenario that can be read comes near it."""

KEPT_FOR_ALTERNATIVES = 1 / 3
"""Share of the time and effort left after a first sequence that the aims do not get when alternatives are asked for."""

ALTERNATIVES_WORKERS = 1
"""Searches that take turns when alternatives are looked for: with the same effort one found sequences as different as eight did,
or more so, and proved sooner what they proved."""


@dataclass(frozen=True)
class Alternative:
    """One further sequence.

    Parameters
    ----------
    moved
        The lessons that lie elsewhere than in the best sequence.
    difference
        The least number of lessons in which it differs from one of those before it, the best one included.
    bound
        No sequence that is as good (or within the loss) differs from each of those before it in more lessons.
    """

    sequence: Sequence
    verdict: Verdict
    moved: tuple[Move, ...]
    difference: int
    bound: int

    @property
    def proven(self) -> bool:
        """Whether none is more different from those before it."""
        return self.difference == self.bound


@dataclass(frozen=True)
class Further:
    """What was asked for beyond the best sequence: how many, and how much worse each aim may be, for the aims that may.

    ``none_left`` where proven: every further sequence that is as good (or within the loss) has dates and periods of one given.
    """

    asked: int
    loss: Mapping[str, int]
    none_left: bool


def read_loss(texts: Iterable[str]) -> dict[str, int]:
    """Losses as people write them, ``distance=2``.

    Raises
    ------
    UnusableSettings
        Where a text is not of that form, or names an aim that another names too.
    """
    loss: dict[str, int] = {}
    problems = []
    for text in texts:
        name, _, number = (part.strip() for part in text.partition("="))
        if not name or not (number.isascii() and number.isdigit() and len(number) < 10):
            problems.append("a loss must be an aim and a whole number, such as distance=2")
        elif name in loss:
            problems.append("a loss is stated twice for one aim")
        else:
            loss[name] = int(number)
    if problems:
        raise UnusableSettings(problems)
    return loss


def check_wanted(alternatives: int, loss: Mapping[str, int], aims: tuple[str, ...]) -> None:
    """Refuse numbers that cannot be used with these aims.

    A loss is for the last aims: whatever stands after an aim that is given one is given one too (0 will do). An aim that is
    held exactly behind one that is not would make the two change places in importance.

    Raises
    ------
    UnusableSettings
        With every problem found; none of them quotes what was given.
    """
    problems = []
    if not _whole(alternatives, MOST_ALTERNATIVES):
        problems.append(f"alternatives must be a whole number from 0 to {MOST_ALTERNATIVES}")
    elif loss and not alternatives:
        problems.append("a loss says how much worse alternatives may be: ask for some")
    if any(name not in aims for name in loss):
        problems.append(f"a loss must name an aim of the scenario: {', '.join(aims)}")
    if not all(_whole(number, MOST_LOSS) for number in loss.values()):
        problems.append(f"a loss must be a whole number from 0 to {MOST_LOSS}")
    first = next((place for place, name in enumerate(aims) if name in loss), len(aims))
    without = [name for name in aims[first:] if name not in loss]
    if without:
        names = " and ".join(filter(None, (", ".join(without[:-1]), without[-1])))
        stand = "stand" if len(without) > 1 else "stands"
        have = "have" if len(without) > 1 else "has"
        problems.append(
            f"a loss may be stated for the last aims only: {names} {stand} after {aims[first]} and {have} none (0 will do)"
        )
    if problems:
        raise UnusableSettings(problems)


def _whole(number: object, most: int) -> bool:
    return isinstance(number, int) and not isinstance(number, bool) and 0 <= number <= most


def find_alternatives(
    prepared: Prepared,
    groups: tuple[tuple[int, ...], ...],
    results: list[GroupResult[Sequence]],
    best: Sequence,
    further: Further,
    budget: Budget,
    calls: Calls,
    progress: Callable[[Progress], None] | None,
) -> tuple[tuple[Alternative, ...], Further]:
    """Up to so many alternatives as are asked for, and what came of the search for them.

    Raises
    ------
    RefereeDisagrees
        When the referee rejects one, or counts more on an aim than is allowed.
    """
    instance = prepared.instance
    limits, allowed = _limits(instance.aims, results, further.loss)
    search = FurtherSearch(prepared, groups, limits, best, calls, progress)
    found: list[Alternative] = []
    for number in range(further.asked):
        # Equal shares: on models that are not settled each further sequence is as hard as the first.
        with budget.lent(1 / (further.asked - number)) as own:
            step = search.next(own)
        if step.sequence is None:
            further = replace(further, none_left=step.bound == 0)
            break
        verdict = judge(instance, step.sequence)
        _within(verdict, allowed)
        moved = moves(Laid(instance, best), Laid(instance, step.sequence))
        found.append(Alternative(step.sequence, verdict, moved, step.difference, step.bound))
    return tuple(found), further


def _limits(
    aims: tuple[str, ...], results: list[GroupResult[Sequence]], loss: Mapping[str, int]
) -> tuple[tuple[Limit, ...], dict[str, int]]:
    """The limits on the aims for the search, and the greatest value of each over all classes.

    As long as every aim so far is proven and held, no group can come to less on the next one: so none may come to more than
    its own value and the loss. To hold each by itself changes nothing and lets the search prove what it otherwise cannot.
    """
    limits: list[Limit] = []
    allowed = {}
    apart = True
    for place, aim in enumerate(aims):
        stages = [result.stages[place] for result in results]
        lost = loss.get(aim, 0)
        allowed[aim] = sum(stage.value for stage in stages) + lost
        apart = apart and all(stage.proven for stage in stages)
        if apart:
            limits += [Limit(place, (group,), stage.value + lost) for group, stage in enumerate(stages)]
        if not apart or (lost and len(results) > 1):
            limits.append(Limit(place, tuple(range(len(results))), allowed[aim]))
        apart = apart and not lost
    return tuple(limits), allowed


def _within(verdict: Verdict, allowed: Mapping[str, int]) -> None:
    if not verdict.sound:
        raise RefereeDisagrees("; ".join(breach.message for breach in verdict.breaches))
    for aim, most in allowed.items():
        if verdict.aims[aim] > most:
            raise RefereeDisagrees(f"{aim}: an alternative may come to {most}, the referee counts {verdict.aims[aim]}")
