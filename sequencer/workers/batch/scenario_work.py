"""Solves one scenario of a batch and makes all that is kept of it; every way to end is an outcome, none an exception."""

from __future__ import annotations

import time
from typing import Any

from sequencer import (
    AimResult,
    Answer,
    ExplainSettings,
    RefereeDisagrees,
    SolveSettings,
    Source,
    answer_json,
    explain,
    explanation_json,
    format_named,
    solve,
    written,
)
from sequencer.words import INFEASIBLE, UNKNOWN
from sequencer.workers.batch.job import DEFECT, NOT_KEPT, Job, ScenarioOutcome
from sequencer.workers.serving import Caller


def worked(job: Job, _: Caller | None = None) -> ScenarioOutcome:
    """What comes of a scenario, also as a job of a pool."""
    began = time.monotonic()
    try:
        settings = job.settings
        answer = solve(job.scenario, SolveSettings(settings.seconds, settings.seed, settings.workers))
        body = answer_json(answer, _why_none(job) if answer.status == INFEASIBLE else None)
        files = {form: _bytes(answer, form) for form in settings.forms if can_be_written(answer.status, form)}
    except RefereeDisagrees as defect:
        return ScenarioOutcome(job.name, DEFECT, f"the referee rejects the sequence found ({defect})", seconds=_since(began))
    except OSError as error:  # a workbook is put together in temporary files
        return ScenarioOutcome(job.name, NOT_KEPT, f"cannot be written: {error.strerror or error}", seconds=_since(began))
    except Exception as error:  # one scenario must not end the batch
        return ScenarioOutcome(job.name, DEFECT, f"{type(error).__name__}: {error}".rstrip(": "), seconds=_since(began))
    return told_by(job.name, body, _since(began), files)


def told_by(name: str, body: dict[str, Any], seconds: float, files: dict[str, bytes], before: bool = False) -> ScenarioOutcome:
    """The outcome that an answer as JSON tells of."""
    reason, details = _reasons(body)
    aims = tuple(AimResult(**aim) for aim in body["aims"])
    return ScenarioOutcome(name, body["status"], reason, details, seconds, aims, body, files, before)


def can_be_written(status: str, form: str) -> bool:
    """Whether an answer of this status has anything to show in a form."""
    return status not in (INFEASIBLE, UNKNOWN) or not format_named(form).needs_sequence


def _why_none(job: Job) -> dict[str, Any]:
    explanation = explain(job.scenario, ExplainSettings(job.settings.seconds, conflicts=1, repairs=1))
    source = Source.of(job.text, job.source, job.language) if job.text is not None else Source(job.source)
    return explanation_json(explanation, source)


def _reasons(body: dict[str, Any]) -> tuple[str, tuple[str, ...]]:
    """Why an answer holds no sequence: in a sentence, and what there is to say beneath it."""
    if body["status"] == UNKNOWN:
        return "none was found in the time allowed, and none is known to be impossible", ()
    why = body["explanation"]
    if why is None:
        return "", ()
    if not why["conflicts"]:
        return "why was not found in the time allowed", ()
    conflict = why["conflicts"][0]
    helps = [f"what would help: {', and '.join(repair['text'])}" for repair in why["repairs"][:1]]
    return conflict["text"], (*conflict["because"], *helps)


def _bytes(answer: Answer, form: str) -> bytes:
    text = written(answer, form)
    return text if isinstance(text, bytes) else text.encode()


def _since(began: float) -> float:
    return round(time.monotonic() - began, 3)
