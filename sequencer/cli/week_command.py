"""The command for a week of a term: what was ticked is recorded, the rest planned again, and all that follows written."""

from __future__ import annotations

import argparse
from dataclasses import replace
from datetime import date
from itertools import count
from pathlib import Path

from sequencer import (
    Answer,
    Asked,
    Shown,
    SolveSettings,
    StopSignal,
    UnusableInput,
    UnusableSettings,
    WeekDone,
    WholeTerm,
    around_written,
    as_planned,
    beside_before,
    drawn_in,
    explanation_text,
    notice_html,
    plan_previous,
    read_day,
    read_term,
    sequence_calendar,
    term_bytes,
    undo,
    week,
    written,
)
from sequencer.cli.shared import DONE, NONE_EXISTS, TIME_RAN_OUT, run_until_stopped, source_of
from sequencer.files.terminal import put_text, tell
from sequencer.scenario.whole_files import write_new, write_whole
from sequencer.words import day_text

ENDINGS = (".xlsx", ".json")

AGAIN = 5
"""So much longer is looked for a plan where none was found in the time allowed, before it is given up."""


def run_week(options: argparse.Namespace) -> int:
    """Do a week of a term: record, plan again, write; or bring the week before back."""
    path: Path = options.term
    if path.suffix.lower() not in ENDINGS or path.is_dir():
        raise UnusableSettings([f"{path} must be a workbook (.xlsx) or a term in JSON (.json); start makes a workbook"])
    on = read_day(options.on, "on") if options.on is not None else date.today()
    before = path.read_bytes() if path.exists() else b""
    book, stop = read_term(path), StopSignal()
    with book.placed():
        done = undo(book.term) if options.undo else _planned(book.term, on, options, stop)
    if done.term == book.term:
        tell(done.said)
        if done.done == "none found":
            tell([f"Allow more time: --seconds {4 * AGAIN * options.seconds:g}"])
        if done.explanation is not None:
            tell(explanation_text(done.explanation, source_of(path)).splitlines())
            if not done.explanation.repairs:
                tell([f'To look longer for a way out: python -m sequencer explain "{path}"'])
        return {"no sequence": NONE_EXISTS, "none found": TIME_RAN_OUT}.get(done.done, DONE)
    problems: list[str] = []
    if options.undo:
        done, problems = _shown_again(done, book.term, path)
    answer = done.answer
    beside = _beside(done, answer, path) if answer is not None else {}
    content = term_bytes(done.term, path, before)
    copy = _copied(path, before, on)
    for name, text in beside.items():
        write_whole(path.with_name(name), text)
    # The term itself comes last: as long as it is not written, the same week can be done once more.
    write_whole(path, content)
    said = [*done.said, *problems, f"Wrote {path}{', and beside it ' + ', '.join(beside) if beside else ''}."]
    if drawn_in(before):
        said.append(f"Charts and pictures are not carried over; they are in the workbook as it was before, {copy.name}.")
    else:
        copy.unlink()
    put_text("".join(f"{line}\n" for line in [*said, *_what_next(answer, path)]))
    return DONE


def _planned(term: WholeTerm, on: date, options: argparse.Namespace, stop: StopSignal) -> WeekDone:
    """The week, looked for once more and longer where no plan was found in the time allowed."""

    def within(seconds: float) -> WeekDone:
        settings = SolveSettings(seconds, options.seed)
        return run_until_stopped(lambda: week(term, on, settings, stop), stop, lambda: stop.holding)

    done = within(options.seconds)
    return within(AGAIN * options.seconds) if done.done == "none found" and not stop.stopped else done


def _shown_again(done: WeekDone, before: WholeTerm, path: Path) -> tuple[WeekDone, list[str]]:
    """A week undone, with the plan as it stands again beside the one that is gone; or why it cannot be shown."""
    scenario, plan = done.term.scenario, done.term.plan
    if plan is None:
        return done, ["The files beside it are still those of the plan that is gone."]
    try:
        answer = as_planned(scenario, plan_previous(scenario, plan, str(path)).sequence)
    except UnusableSettings as unusable:
        return done, [
            "That plan does not fit what is set up now: plan again, and the files beside it are written.",
            str(unusable),
        ]
    gone = plan_previous(scenario, before.plan, str(path))
    return replace(done, answer=answer, again=beside_before(answer, gone), previous=gone), []


def _beside(done: WeekDone, answer: Answer, path: Path) -> dict[str, bytes]:
    """What is written next to a term, by the names of the files."""
    name, scenario = path.stem, answer.instance.scenario
    calendar = path.with_name(f"{name}.ics")
    earlier = calendar.read_bytes() if calendar.exists() else None
    if earlier is None and done.previous is not None:
        earlier = sequence_calendar(scenario, done.previous)
    found: dict[str, str | bytes] = {}
    if weeks := _weeks(answer):
        found[f"{name} weeks.html"] = written(answer, "sheet", Shown(weeks=weeks))
    try:
        found[calendar.name] = written(answer, "calendar", Shown(previous=earlier))
    except UnusableInput as unusable:
        raise UnusableInput(unusable.problems, str(calendar)) from None
    if done.again is not None:
        found[f"{name} changes.html"] = notice_html(done.again)
    found[f"{name} to prepare.html"] = around_written(answer, "preparation", "sheet", Asked())
    return {each: text.encode() if isinstance(text, str) else text for each, text in found.items()}


def _weeks(answer: Answer) -> tuple[int, ...]:
    """The numbers of the school week that comes next, or goes on, and of the one after it."""
    today = answer.instance.scenario.today or date.min
    left = {slot.week.number for facts in answer.instance.classes for slot in facts.slots if slot.date >= today}
    return tuple(sorted(left)[:2])


def _copied(path: Path, before: bytes, on: date) -> Path:
    """A copy of the file as it was, under a name that was free: it is there until the new one is."""
    numbered = (f"{path.stem} before {on}{f' ({number})' if number > 1 else ''}{path.suffix}" for number in count(1))
    copy = next(each for name in numbered if not (each := path.with_name(name)).exists())
    write_new(copy, before)
    return copy


def _what_next(answer: Answer | None, path: Path) -> list[str]:
    """In the last week of a term, how the next one is begun."""
    if answer is None or len(_weeks(answer)) > 1:
        return []
    term = answer.instance.scenario.term
    command = f'python -m sequencer next "{path}" --first DATE --last DATE --output "next{path.suffix}"'
    return [f"The term ends on {day_text(term.last)}. To begin the next one: {command}"]
