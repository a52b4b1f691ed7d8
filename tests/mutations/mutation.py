"""One small change of what the product means."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Mutation:
    """A statement of the product and one that means something else.

    Parameters
    ----------
    id
        Its name, unique in the list.
    file
        Where the statement stands, from the project's folder.
    old, new
        The statement as it stands, exactly once, and what takes its place.
    tests
        Files or single tests of which at least one must fail.
    equivalent
        Why no answer can differ; empty where the tests must notice.
    """

    id: str
    file: str
    old: str
    new: str
    tests: tuple[str, ...]
    equivalent: str = ""


def group(file: str, *changes: tuple[str, str, str, str]) -> tuple[Mutation, ...]:
    """Return mutations of one file: name, statement, what takes its place, and tests in ``tests/``, with spaces between."""
    return tuple(
        Mutation(name, file, old, new, tuple(f"tests/{test}" for test in tests.split())) for name, old, new, tests in changes
    )
