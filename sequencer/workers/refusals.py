"""Why a job has no outcome of its own, in a sentence for whoever asked; it never quotes what was sent."""

from __future__ import annotations

from collections.abc import Mapping

UNEXPECTED = "Something went wrong here: a defect of this program, not of the request."


class NotDone(Exception):
    """Base of these; a service sends its ``headers`` with the sentence."""

    def __init__(self, detail: str, headers: Mapping[str, str] | None = None) -> None:
        super().__init__(detail)
        self.headers = dict(headers or {})


class TooMuch(NotDone):
    """A request goes beyond a limit: the name of the limit, and its value."""

    def __init__(self, limit: str, most: float, detail: str, headers: Mapping[str, str] | None = None) -> None:
        super().__init__(detail, headers)
        self.limit, self.most = limit, most


class PoolFull(NotDone):
    """As many jobs run and wait as may."""


class ShuttingDown(NotDone):
    """The server is ending."""

    @classmethod
    def now(cls) -> ShuttingDown:
        """What there is to say of it."""
        return cls("The server is shutting down.")


class ClientGone(NotDone):
    """The client went away before its answer was ready; nobody reads what is sent."""


class Defect(NotDone):
    """A defect of this program."""


class WorkerDied(NotDone):
    """The process that worked on a request ended before it had done; with its exit code where it ended by itself."""

    AGAIN = "Only this request failed; send it again."
    code: int | None = None

    @classmethod
    def alone(cls, code: int | None = None) -> WorkerDied:
        """What there is to say of one that ended by itself."""
        died = cls(f"The process that worked on this request ended before it had done. {cls.AGAIN}")
        died.code = code
        return died
