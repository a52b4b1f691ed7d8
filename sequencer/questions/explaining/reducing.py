"""A way out found in haste, made smaller: parts that it does without are dropped, and the others turned back as far as can be."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from sequencer.questions.explaining.choices import DialKey

Works = Callable[[Mapping[DialKey, int]], bool]
"""Whether a choice makes the scenario possible; that it does not is also said when it was not settled, or the time is over."""


def without_needless_parts(
    turned: Mapping[DialKey, int], price: Callable[[DialKey, int], int], works: Works
) -> dict[DialKey, int]:
    """The choice without what it does not need: dials left alone, many at a time first, the dearest first."""
    kept = dict(turned)
    size = len(kept)
    while size > 1:
        size = -(-size // 2)
        order = sorted(kept, key=lambda dial: (-price(dial, kept[dial]), dial))
        for start in range(0, len(order), size):
            fewer = {dial: steps for dial, steps in kept.items() if dial not in order[start : start + size]}
            if fewer and len(fewer) < len(kept) and works(fewer):
                kept = fewer
    return kept


def turned_back(turned: Mapping[DialKey, int], works: Works) -> dict[DialKey, int]:
    """The choice with no dial turned further than by the least number of steps that will do for all."""
    most = max(turned.values())
    together = _least(most, lambda steps: works({dial: min(steps, own) for dial, own in turned.items()}))
    return {dial: min(together, own) for dial, own in turned.items()}


def each_turned_back(turned: Mapping[DialKey, int], works: Works) -> dict[DialKey, int]:
    """The choice with each dial turned no further than it must be beside the others."""
    kept = dict(turned)
    for dial in turned:
        kept[dial] = _least(kept[dial], lambda steps, dial=dial: works({**kept, dial: steps}))  # type: ignore[misc]
    return kept


def _least(most: int, enough: Callable[[int], bool]) -> int:
    """The least number from 1 on that is enough, where the most is, and so is whatever is more than enough."""
    low, high = 1, most
    while low < high:
        middle = (low + high) // 2
        if enough(middle):
            high = middle
        else:
            low = middle + 1
    return high
