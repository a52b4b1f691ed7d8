"""One scenario of a batch, what it is solved with, and what came of it."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from sequencer import AimResult, Scenario, scenario_data
from sequencer.questions.solve import package_version
from sequencer.scenario.documents import Language
from sequencer.words import FEASIBLE, INFEASIBLE, OPTIMAL, UNKNOWN

UNUSABLE, DIED, TOO_LONG, DEFECT, NOT_KEPT = "unusable", "died", "too long", "defect", "not kept"
"""How a scenario may end beside the four statuses of an answer."""

TOLD = {
    OPTIMAL: "proven best",
    FEASIBLE: "best found",
    INFEASIBLE: "no sequence exists",
    UNKNOWN: "time ran out",
    UNUSABLE: "cannot be used",
    DIED: "its process died",
    TOO_LONG: "stopped: took too long",
    DEFECT: "a defect of this program",
    NOT_KEPT: "could not be written",
}

WITH_SEQUENCE = (OPTIMAL, FEASIBLE)
SETTLED = (*WITH_SEQUENCE, INFEASIBLE)
"""What is not done again while scenario, settings and version stay the same."""

GRACE = 60.0
"""Seconds, beyond what searching and explaining may take, after which a process is stopped."""


@dataclass(frozen=True)
class BatchSettings:
    """How every scenario of a batch is solved, and in which forms its answer is written beside JSON.

    Seconds, seed and workers are as ``SolveSettings`` has them; where no sequence exists as many seconds again are allowed for
    saying why, and after the grace beyond these its process is stopped.
    """

    seconds: float = 30.0
    seed: int = 0
    workers: int = 3
    forms: tuple[str, ...] = ()
    grace: float = GRACE

    @property
    def deadline(self) -> float:
        """Seconds after which a process that has not answered is stopped."""
        return 2 * self.seconds + self.grace


@dataclass(frozen=True)
class Job:
    """One scenario to be solved."""

    name: str
    """Its path below the folder, by which it is told from every other."""
    source: str
    """Its path as people see it in messages."""
    scenario: Scenario
    settings: BatchSettings
    text: bytes | None = None
    """What it was read from, to say where its statements stand; None for a workbook, which has no lines."""
    language: Language = "yaml"

    @property
    def digest(self) -> str:
        """What a result must have been made from: the same content, settings and version.

        The order in which a scenario states things counts, since the search depends on it; blanks and comments do not.
        """
        settings = self.settings
        made_from = [*versions(), settings.seconds, settings.seed, settings.workers, scenario_data(self.scenario)]
        return digest_of(json.dumps(made_from, ensure_ascii=False).encode())


@dataclass(frozen=True)
class ScenarioOutcome:
    """What came of one scenario."""

    name: str
    ended: str
    """A status of an answer, or one of the further ways to end."""
    reason: str = ""
    """Why it has no sequence, in a sentence without a full stop."""
    details: tuple[str, ...] = ()
    """What there is to say beneath: what is wrong with a file, each with its place; what cannot all hold, and what would help."""
    seconds: float | None = None
    aims: tuple[AimResult, ...] = ()
    body: dict[str, Any] | None = None
    """The answer as JSON, with the explanation where no sequence exists."""
    files: Mapping[str, bytes] = field(default_factory=dict)
    """The answer in the other forms."""
    before: bool = False
    """Whether it was done by an earlier batch."""

    @property
    def failed(self) -> bool:
        """Whether it has no sequence."""
        return self.ended not in WITH_SEQUENCE


def versions() -> tuple[str, str]:
    """What an answer depends on beside scenario and settings: our version, and the solver's."""
    return package_version("unit-sequencer"), package_version("ortools")


def digest_of(content: bytes) -> str:
    """A digest that tells one content from another."""
    return hashlib.sha256(content).hexdigest()
