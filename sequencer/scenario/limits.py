"""How much a document may hold where somebody else's machine reads it; the command line has only the limits of the language."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.errors import BeyondLimit


@dataclass(frozen=True)
class Limits:
    """The most of each that is read; None for no limit but the language's own.

    Parameters
    ----------
    lessons
        Over all classes, and over all units, those that patterns make included; also the rows of a sequence handed in.
    slots
        Periods in which the classes meet, over all of them.
    depth
        Lists and mappings inside one another.
    """

    classes: int | None = None
    lessons: int | None = None
    slots: int | None = None
    what_ifs: int | None = None
    depth: int | None = None

    def require(self, limit: str, found: int, what: str) -> None:
        """Refuse more than a limit allows; ``what`` says in the message of what there is too much.

        Raises
        ------
        BeyondLimit
        """
        most: int | None = getattr(self, limit)
        if most is not None and found > most:
            raise BeyondLimit(limit, most, f"there are {found:,} {what}; at most {most:,} are taken here")


NO_LIMITS = Limits()
