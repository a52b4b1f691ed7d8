"""What an attack is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from tests.benchmarks.served import Served


@dataclass(frozen=True)
class Attack:
    """Something done to a service that must go on answering others meanwhile.

    Parameters
    ----------
    name, what
        A word to ask for it by, and what is done.
    run
        Does it, and says what became of it; raises ``AssertionError`` where that is not what should.
    settings
        Of the service that it is done to.
    descriptors
        The most file descriptors that the service may have; 0 where they are not bounded.
    """

    name: str
    what: str
    run: Callable[[Served], str]
    settings: Mapping[str, object] = field(default_factory=dict)
    descriptors: int = 0
