"""Parts of classes that share rules, asked over the workers of an existing cluster.

A worker builds the models of a scenario once, and keeps those of the scenarios asked for last. What it was asked when it was lost
another one is asked; what the cluster gives up is answered here.
"""

from __future__ import annotations

import hashlib
import pickle
import threading
import time
from collections.abc import Sequence as Ordered
from dataclasses import replace
from typing import Any

from sequencer import PartAnswer, PartQuestion, PartsBuilt, Recipe, StopSignal

KEPT = 3
"""So many scenarios' models are kept on a worker."""

POLL = 0.2
"""Seconds between two looks whether the search was stopped."""


class PartsElsewhere:
    """Asks parts of one scenario over a cluster's workers, those first that took longest before.

    Parameters
    ----------
    client
        A client of the cluster (``cluster.py``).
    """

    def __init__(self, client: Any, recipe: Recipe, stop: StopSignal) -> None:
        self._client, self._stop = client, stop
        packed = pickle.dumps(recipe)
        # A result of the cluster, so that a worker takes it from another one, and it is made again where that was lost.
        self._recipe = client.submit(_as_it_is, packed, key=f"sequencer-{hashlib.sha256(packed).hexdigest()}")
        self._took: dict[tuple[int, ...], float] = {}
        self.answers: list[PartAnswer] = []
        """All answers so far, in order of their questions, without their solutions."""

    def __call__(self, questions: Ordered[PartQuestion]) -> list[PartAnswer | None]:
        """Answer questions; None for each that the cluster gave up, or that nobody waits for since the search was stopped."""
        asked = time.monotonic()
        futures = [self._submitted(each) for each in questions]
        found = [self._outcome(future, asked + each.seconds) for future, each in zip(futures, questions, strict=True)]
        for question, answer in zip(questions, found, strict=True):
            if answer is not None:
                self._took[question.classes] = answer.effort
                self.answers.append(replace(answer, solutions=()))
        return found

    def _submitted(self, question: PartQuestion) -> Any:
        """What will come of a question; None where the cluster is gone."""
        took = self._took.get(question.classes, 0.0)
        try:
            return self._client.submit(_answered_there, self._recipe, question, pure=False, priority=took)
        except Exception:  # whatever became of the cluster, it is answered here
            return None

    def _outcome(self, future: Any, ends: float) -> PartAnswer | None:
        """The answer, waited for until the time of its question is over."""
        while future is not None and not self._stop.stopped and time.monotonic() < ends:
            try:
                answer: PartAnswer = future.result(timeout=POLL)
            except TimeoutError:
                if future.done():
                    return None
                continue
            except Exception:  # whatever became of it there, it is answered here
                return None
            return answer
        if future is not None:
            future.cancel()
        return None


_lock = threading.Lock()
_built: dict[bytes, PartsBuilt] = {}


def _as_it_is(packed: bytes) -> bytes:
    return packed


def _answered_there(packed: bytes, question: PartQuestion) -> PartAnswer:
    """On a worker: what comes of a question."""
    digest = hashlib.sha256(packed).digest()
    with _lock:
        built = _built.pop(digest, None) or PartsBuilt(pickle.loads(packed))
        _built[digest] = built
        while len(_built) > KEPT:
            del _built[next(iter(_built))]
    return built.answer(question)
