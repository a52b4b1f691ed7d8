"""Lessons that stand for one another: of those that could be placed one goes first, and no best sequence is lost."""

from __future__ import annotations

from sequencer.solver.chain.chained import Chained


def loose_kinds(chain: Chained) -> dict[int, int]:
    """Of each loose lesson its kind: nothing waits for it, no window binds it, and those of a kind differ in nothing that counts.

    Once they may be placed it does not matter which of a kind are, only how many.
    """
    bound = _bound(chain) | {met.lesson for met in chain.met}
    young = {by for served in chain.served if served.old_only for by in served.by}
    kinds: dict[object, int] = {}
    found = {}
    for lesson in range(chain.size):
        if lesson not in bound and lesson not in young and chain.sure[lesson] and chain.lessons[lesson].delivered is None:
            found[lesson] = kinds.setdefault(_likeness(chain, lesson), len(kinds))
    return found


def alike_retrievals(chain: Chained) -> list[list[int]]:
    """Retrieval lessons of which the one that meets older lessons again may go first, whatever comes after.

    Days off the preferred distance are convex, so two that change places so cost no more, and windows hold.
    """
    bound = _bound(chain, but=frozenset(met.lesson for met in chain.met))
    kinds: dict[object, list[int]] = {}
    for met in chain.met:
        others = {window.before for window in chain.windows if window.after == met.lesson} - set(met.members)
        if met.lesson in bound or others or not chain.sure[met.lesson] or len(set(met.preferred)) > 1:
            continue
        windows = {(numbers.least, numbers.most) for member in met.members for numbers in chain.lessons[member].retrievals}
        if len(windows) > 1:
            continue
        likeness = (_likeness(chain, met.lesson), len(met.members), met.preferred, *windows)
        kinds.setdefault(likeness, []).append(met.lesson)
    return [alike for alike in kinds.values() if len(alike) > 1]


def _bound(chain: Chained, but: frozenset[int] = frozenset()) -> set[int]:
    """Lessons for which others wait, or that a window, a practice or a retrieval binds; some lessons' own windows apart."""
    found = {other for first in chain.first for other in first} | {window.before for window in chain.windows}
    found |= {window.after for window in chain.windows} - but
    found |= {member for met in chain.met for member in met.members}
    found |= {served.lesson for served in chain.served}
    found |= {lesson for lesson in range(chain.size) if chain.not_after[lesson]}
    return found | {other for after in chain.not_after for other in after}


def _likeness(chain: Chained, lesson: int) -> object:
    """Everything about a lesson that counts, apart from what it comes after."""
    facts = chain.lessons[lesson]
    counted = tuple(number for number, count in enumerate(chain.counts) if facts.index in count.weights)
    weights = tuple(chain.counts[number].weights[facts.index] for number in counted)
    prices = (facts.kind == "teach" and facts.to_finish, facts.made, facts.dense)
    return (facts.load, facts.length, bool(chain.capped[lesson]), chain.alone[lesson].tobytes(), counted, weights, prices)
