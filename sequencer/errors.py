"""Our exceptions.

SequencerError
├── UnusableInput        the scenario or sequence cannot be used; carries every problem found
├── UnusableSettings     what is asked of a solve cannot be used; carries every problem found
├── BeyondLimit          a document holds more than whoever reads it allows
├── NothingToShow        a sheet, calendar or table was asked for, and there is no sequence to put on it
└── RefereeDisagrees     the model and the referee differ on a sequence: a defect of ours, never an answer
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sequencer.words import INFEASIBLE


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong with an input, and where.

    Parameters
    ----------
    where
        Path inside the document, such as ``units[2].lessons[0].length``; empty for the document as a whole.
    message
        What is wrong, in a sentence without a full stop.
    pointer
        The same place as an RFC 6901 JSON pointer.
    line, column
        1-based place in the text, 0 when the text has none (data handed over in memory).
    source
        Name of the file, where it is not the one that was read first.
    """

    where: str
    message: str
    pointer: str = ""
    line: int = 0
    column: int = 0
    source: str = ""

    def text(self, source: str = "") -> str:
        """One line for people: ``small.yaml:14:5 units[2].lessons[0].length must be …``."""
        place = source = self.source or source
        if self.line:
            place = f"{place}:{self.line}:{self.column}" if place else f"line {self.line}, column {self.column}"
        return " ".join(part for part in (place, self.where, self.message) if part)


class SequencerError(Exception):
    """Base of every exception this package raises on purpose."""


class UnusableInput(SequencerError):
    """A scenario or sequence that cannot be used.

    Parameters
    ----------
    problems
        Every problem found, in the order of the file.
    source
        Name of the file or body, for messages.
    """

    def __init__(self, problems: tuple[Problem, ...], source: str = "") -> None:
        self.problems = problems
        self.source = source
        super().__init__("\n".join(problem.text(source) for problem in problems))

    def __reduce__(self) -> tuple[Any, ...]:
        # What another process raised is made again from what it was made of, not from its text.
        return type(self), (self.problems, self.source)


class UnusableSettings(SequencerError):
    """What is asked of a solve cannot be used, by itself or with this scenario.

    Parameters
    ----------
    problems
        Every problem found, each in a sentence without a full stop.
    """

    def __init__(self, problems: Iterable[str]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(self.problems))

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.problems,)


class BeyondLimit(SequencerError):
    """A document holds more than is allowed where it is read.

    Parameters
    ----------
    limit
        Name of the limit, such as ``classes``.
    most
        The most that is allowed.
    message
        What there is, and what is allowed, in a sentence without a full stop.
    """

    def __init__(self, limit: str, most: int, message: str) -> None:
        super().__init__(limit, most, message)
        self.limit, self.most, self.message = limit, most, message

    def __str__(self) -> str:
        return self.message


class NothingToShow(SequencerError):
    """There is no sequence to put on a sheet or in a calendar; the answer as text or JSON says why.

    Parameters
    ----------
    status
        The answer's: no sequence exists, or none was found in the time.
    """

    def __init__(self, status: str) -> None:
        self.status = status
        why = "no sequence exists" if status == INFEASIBLE else "time ran out before a sequence was found"
        super().__init__(f"There is nothing to show: {why}. The answer as text or JSON says more")

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.status,)


class RefereeDisagrees(SequencerError):
    """The referee rejects a sequence of ours, or counts an aim differently from the model."""
