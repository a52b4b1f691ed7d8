"""What is asked of a solve beyond the best sequence: how many further ones, and how much worse they may be."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sequencer.errors import UnusableSettings

MOST_ALTERNATIVES = 20
"""No more further sequences than this are looked for: nobody compares more, and each search is longer than the one before."""

MOST_LOSS = 1_000_000
"""A greater loss than this cannot be stated; no aim of a scenario that can be read comes near it."""


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
