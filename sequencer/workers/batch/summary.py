"""One table of a batch, with what failed and why: as text, as CSV, as JSON."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from sequencer import AimResult
from sequencer.render.document import Value, columns, csv_bytes
from sequencer.render.shown import aim_cell
from sequencer.words import AIMS, FEASIBLE, INFEASIBLE, OPTIMAL, UNKNOWN, count_text
from sequencer.workers.batch.job import DEFECT, DIED, NOT_KEPT, TOLD, TOO_LONG, UNUSABLE, ScenarioOutcome
from sequencer.workers.batch.run import Batch

EXIT_CODES = {OPTIMAL: 0, FEASIBLE: 0, INFEASIBLE: 1, UNUSABLE: 2, NOT_KEPT: 2, UNKNOWN: 3, TOO_LONG: 3, DIED: 4, DEFECT: 4}
"""What each way to end comes to; the greatest of all counts."""

STOPPED = 130
"""Exit code of a batch that was stopped before all was done."""


def exit_code(batch: Batch) -> int:
    """The exit code of a batch."""
    return STOPPED if batch.left else max(EXIT_CODES[outcome.ended] for outcome in batch.outcomes)


def summary_text(batch: Batch) -> str:
    """The table as text, and beneath it what failed."""
    named = _aims(batch)
    rows = [("scenario", "result", "seconds", *named)]
    for outcome in batch.outcomes:
        seconds = "" if outcome.seconds is None else f"{outcome.seconds:.1f}"
        cells = (aim_cell(_aim(outcome, name)) for name in named)
        rows.append((outcome.name, TOLD[outcome.ended], seconds, *cells))
    lines = [*columns(rows, right=tuple(range(2, len(rows[0]))))] if batch.outcomes else []
    if any(not aim.proven and aim.value is not None for outcome in batch.outcomes for aim in outcome.aims):
        lines.append("Behind an aim that is not proven best stands its bound; those after it are settled for the value reached.")
    failed = [outcome for outcome in batch.outcomes if outcome.failed]
    done = len(batch.outcomes) - len(failed)
    lines += [
        "",
        f"Sequences found for {done} of {count_text(len(batch.outcomes) + len(batch.left), 'scenario')}.",
    ]
    if failed:
        lines += ["", f"Without a sequence: {len(failed)}"]
    for outcome in failed:
        told = TOLD[outcome.ended]
        lines.append(f"  {outcome.name}: {told}: {outcome.reason}" if outcome.reason else f"  {outcome.name}: {told}")
        lines += [f"    {detail}" for detail in outcome.details]
    if batch.left:
        lines += ["", f"Stopped with {len(batch.left)} left; the same command goes on from here."]
    return "\n".join(lines).lstrip("\n") + "\n"


def summary_csv(batch: Batch) -> bytes:
    """The table as CSV (RFC 4180), in UTF-8; a row for each scenario, those left among them."""
    named = _aims(batch)
    rows: list[list[Value]] = [["scenario", "status", "seconds", "before", "reason"]]
    rows[0] += [cell for name in named for cell in (name, f"{name}, bound")]
    for outcome in batch.outcomes:
        seconds = None if outcome.seconds is None else f"{outcome.seconds:.3f}"
        reason = "; ".join(part for part in (outcome.reason, *outcome.details) if part) or None
        row: list[Value] = [outcome.name, outcome.ended, seconds, "yes" if outcome.before else "no", reason]
        for aim in (_aim(outcome, name) for name in named):
            row += [aim.value, aim.bound] if aim is not None else [None, None]
        rows.append(row)
    rows += [[name, "left", *[None] * (len(rows[0]) - 2)] for name in batch.left]
    return csv_bytes(rows)


def summary_json(batch: Batch) -> str:
    """The table as JSON, with what was passed over and what is left."""
    body: dict[str, Any] = {
        "format": 1,
        "scenarios": [
            {
                "scenario": outcome.name,
                "status": outcome.ended,
                "seconds": outcome.seconds,
                "before": outcome.before,
                "aims": [asdict(aim) for aim in outcome.aims],
                "reason": outcome.reason or None,
                "details": list(outcome.details),
            }
            for outcome in batch.outcomes
        ],
        "left": list(batch.left),
        "passed_over": [asdict(each) for each in batch.passed_over],
    }
    return json.dumps(body, indent=2, ensure_ascii=False) + "\n"


def _aims(batch: Batch) -> list[str]:
    """The aims of any scenario, in the usual order."""
    present = {aim.aim for outcome in batch.outcomes for aim in outcome.aims if aim.value is not None}
    return [name for name in AIMS if name in present]


def _aim(outcome: ScenarioOutcome, name: str) -> AimResult | None:
    return next((aim for aim in outcome.aims if aim.aim == name), None)
