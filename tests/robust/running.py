"""One command on one random scenario, as the command line runs it, in this process; and what is wrong with what it said."""

from __future__ import annotations

import json
import traceback
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from datetime import timedelta
from io import BytesIO, StringIO, TextIOWrapper
from pathlib import Path
from random import Random
from typing import Any

from sequencer import PRICED_RULES, Scenario, check, load_scenario, scenario_from_data, sequence_from_data
from sequencer.__main__ import main
from tests.crosscheck.facts import read_facts
from tests.crosscheck.slots import Raw
from tests.robust.drawing import drawn, plan, spoiled, with_what_ifs, without_what_is_recorded

STATUSES = ("optimal", "feasible", "infeasible", "unknown")
DESCRIBED = (0, 1, 2, 3)
"""Exit codes of what is no defect."""


@dataclass(frozen=True)
class Ran:
    """What came of one command on one scenario: its exit code (None: an exception), what it said, and what is wrong with that."""

    arguments: list[str]
    code: int | None
    told: str
    wrong: str = ""


@dataclass
class Case:
    """One command to run: its arguments, and what judges what it writes."""

    arguments: list[str]
    judge: Callable[[str, int], None]


def ran(command: str, seed: int, folder: Path, seconds: float) -> Ran:
    """Run a command on the scenario of a seed."""
    rng = Random(f"{command} {seed}")
    case = CASES[command](rng, seed, folder, str(seconds))
    code, out, err = _called(case.arguments)
    if code not in DESCRIBED:
        return Ran(case.arguments, code, err, f"exit {code}: {err.strip()}")
    try:
        if code != 2:
            case.judge(out, code)
    except Exception:
        return Ran(case.arguments, code, err, traceback.format_exc())
    return Ran(case.arguments, code, err)


def _called(arguments: list[str]) -> tuple[int | None, str, str]:
    out, err = TextIOWrapper(BytesIO(), encoding="utf-8"), StringIO()
    code: int | None
    with redirect_stdout(out), redirect_stderr(err):
        try:
            code = main(arguments)
        except SystemExit as ended:
            code = ended.code if isinstance(ended.code, int) else None
        except BaseException:
            code = None
            err.write(traceback.format_exc())
    out.flush()
    buffer = out.buffer
    assert isinstance(buffer, BytesIO)
    return code, buffer.getvalue().decode("utf-8"), err.getvalue()


# -- the commands ------------------------------------------------------------------------------------------------------


def _written(folder: Path, name: str, body: Any) -> str:
    path = folder / f"{name}.json"
    path.write_text(json.dumps(body), encoding="utf-8")
    return str(path)


def _explain(rng: Random, seed: int, folder: Path, seconds: str) -> Case:
    data, _ = drawn(seed)
    file = _written(folder, "scenario", data)
    lessons = [lesson.key for group in read_facts(data).classes for lesson in group.lessons]
    if lessons and rng.random() < 0.15:
        class_id, unit, lesson = rng.choice(lessons)
        return Case(["explain", file, "--lesson", f"{class_id}:{unit}/{lesson}", "--seconds", seconds, *_as_json()], _nothing)
    form = rng.choice(["json", "json", "text"])
    return Case(["explain", file, "--seconds", seconds, "--format", form], _explained if form == "json" else _said)


def _price(rng: Random, seed: int, folder: Path, seconds: str) -> Case:
    data, _ = drawn(seed)
    rule = rng.choice(PRICED_RULES)
    return Case(["price", _written(folder, "scenario", data), "--rule", rule, "--seconds", seconds], _said)


def _replan(rng: Random, seed: int, folder: Path, seconds: str) -> Case:
    data, before = drawn(seed)
    rows = plan(rng, before, float(seconds)) if rng.random() < 0.6 else plan(rng, data, float(seconds))
    rows = rows if rng.random() < 0.1 else without_what_is_recorded(data, rows)
    arguments = ["replan", _written(folder, "scenario", data), "--previous", _written(folder, "previous", {"lessons": rows})]
    arguments += ["--seconds", seconds]
    draw = rng.random()
    form = rng.choice(["json", "json", "json", "text", "notice", "notice-text", "notice-json", "csv"])
    if draw < 0.2:
        arguments += ["--most-moved", str(rng.randint(0, 3))]
    elif draw < 0.35:
        arguments, form = [*arguments, "--trade-off"], rng.choice(["json", "text"])

    def judge(out: str, code: int) -> None:
        if form != "json":
            return
        body, scenario = json.loads(out), scenario_from_data(data)
        for step in body.get("steps", [body]):
            _sound(scenario, step)
        _statuses(body)

    return Case([*arguments, "--format", form], judge)


def _compare(rng: Random, seed: int, folder: Path, seconds: str) -> Case:
    data, _ = drawn(seed)
    data = with_what_ifs(rng, data)
    form = rng.choice(["json", "text"])
    arguments = ["compare", _written(folder, "scenario", data), "--seconds", seconds, "--format", form]
    if rng.random() < 0.25:
        arguments.append("--close")
    if data["what_ifs"] and rng.random() < 0.25:
        days = sorted({slot.day for group in read_facts(data).classes for slot in group.slots})
        arguments += ["--opening-until", rng.choice(days).isoformat()]
    return Case(arguments, _in_json if form == "json" else _said)


def _next(rng: Random, seed: int, folder: Path, seconds: str) -> Case:
    data, before = drawn(seed)
    rows = plan(rng, data if rng.random() < 0.9 else before, float(seconds))
    last = max(slot.day for group in read_facts(data).classes for slot in group.slots) + timedelta(days=7)
    first = last + timedelta(days=7 - last.weekday() + 7 * rng.randint(0, 2))
    arguments = ["next", _written(folder, "scenario", data), _written(folder, "sequence", {"lessons": rows})]
    arguments += ["--first", first.isoformat(), "--last", (first + timedelta(days=rng.choice([25, 46]))).isoformat()]
    return Case(arguments, lambda out, code: [load_scenario(out)].clear())


def _check(rng: Random, seed: int, folder: Path, seconds: str) -> Case:
    data, before = drawn(seed)
    facts = read_facts(data)
    rows = plan(rng, data if rng.random() < 0.9 else before, float(seconds))
    rows = [row for row in spoiled(rng, facts, rows) if rng.random() < 0.6] if rng.random() < 0.6 else rows
    arguments = ["check", _written(folder, "scenario", data), _written(folder, "sequence", {"lessons": rows}), "--complete"]
    arguments += ["--seconds", seconds] + (["--best"] if rng.random() < 0.2 else [])

    def judge(out: str, code: int) -> None:
        body = json.loads(out)
        _statuses(body)
        _sound(scenario_from_data(data), body["completion"])

    return Case([*arguments, *_as_json()], judge)


CASES: dict[str, Callable[[Random, int, Path, str], Case]] = {
    "explain": _explain,
    "replan": _replan,
    "compare": _compare,
    "price": _price,
    "next": _next,
    "check": _check,
}


def _as_json() -> list[str]:
    return ["--format", "json"]


# -- what they said ----------------------------------------------------------------------------------------------------


def _nothing(out: str, code: int) -> None:
    json.loads(out)


def _said(out: str, code: int) -> None:
    assert out.strip(), "nothing was said"


def _in_json(out: str, code: int) -> None:
    _statuses(json.loads(out))


def _explained(out: str, code: int) -> None:
    body = json.loads(out)
    assert {True: 0, False: 1, None: 3}[body["possible"]] == code
    assert body["possible"] is False or not body["conflicts"]
    _statuses(body)


def _statuses(body: Any) -> None:
    """Every status in a body is one of those described."""
    if isinstance(body, list):
        for part in body:
            _statuses(part)
    elif isinstance(body, dict):
        assert body.get("status", "unknown") in STATUSES, body["status"]
        assert body.get("possible") in (True, False, None)
        for part in body.values():
            _statuses(part)


def _sound(scenario: Scenario, body: Raw) -> None:
    """The sequence in a body, where there is one, passes the referee."""
    assert (body.get("verdict") or {"sound": True})["sound"]
    if body.get("lessons"):
        verdict = check(scenario, sequence_from_data(scenario, body))
        assert verdict.sound, [breach.message for breach in verdict.breaches]
