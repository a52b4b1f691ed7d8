"""A plan that was written as a workbook or as CSV and worked on, read back: as a sequence, as what happened, or as pins."""

from __future__ import annotations

import os
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Any

from sequencer.errors import Problem, UnusableInput
from sequencer.files.matched import previous_from_data, sequence_from_data
from sequencer.files.workbook import form
from sequencer.files.workbook.cells import CellPlace, Sheet, Value, read_sheets
from sequencer.files.workbook.rows import Filled, Row, as_choice, as_held, at_cells, like, plain_word, rows_of
from sequencer.files.workbook.term_sheets import PLAN
from sequencer.instance.load import scenario_from_data
from sequencer.instance.record_file import recorded_from_data
from sequencer.next_term.happened import day_it_is, says_the_same, without_lapsed
from sequencer.plan.sequence import Previous, Sequence
from sequencer.render.tables import COLUMNS, PARTS_DONE
from sequencer.scenario.places import shown
from sequencer.scenario.record_schema import RecordEntry
from sequencer.scenario.schema import Scenario
from sequencer.scenario.written import scenario_data
from sequencer.words import DID_NOT_TAKE_PLACE, LOST, OFFERED, SKIPPED

_NEEDED = ("class", "date", "period", "lesson")
_READ = {
    "class": form.TEXT, "unit": form.TEXT, "lesson": form.TEXT, "date": form.DATE, "period": form.NUMBER, "taught": form.TEXT,
    "title": form.TEXT, "revisits": form.SENTENCES, "what": form.CHOICE, "pin": form.CHOICE, "today": form.DATE,
    PARTS_DONE: form.SENTENCES,
}  # fmt: skip
"""The columns that are read back, and what their cells hold; the others are written for people."""

_PLAIN_WHAT = {"taught": "delivered", "done": "delivered", "yes": "delivered", "partly taught": "part-taught"}
"""What people type for some of these, for the message."""

_NOT_THERE = (SKIPPED, LOST)
"""What a row says of a lesson that did not lie where the row has it."""


def read_plan_sequence(scenario: Scenario, path: str | os.PathLike[str]) -> Sequence:
    """The sequence that a plan's rows mean, as ``load_sequence`` reads an answer.

    Raises
    ------
    UnusableInput
        With every problem found, each at its sheet and cell.
    """
    plan = _kept(_read(path), _NOT_THERE)
    with at_cells(plan, path):
        return sequence_from_data(scenario, plan.data)


def read_plan_previous(scenario: Scenario, path: str | os.PathLike[str]) -> Previous:
    """The sequence planned before that a table or workbook of ours holds, as ``load_previous`` reads an answer.

    Raises
    ------
    UnusableInput
    """
    plan = _kept(_read(path), (SKIPPED,))
    with at_cells(plan, path):
        return previous_from_data(scenario, plan.data)


def read_plan_record(scenario: Scenario, path: str | os.PathLike[str]) -> Scenario:
    """A scenario with what a plan's rows say became of lessons, in the column ``what``; a row with nothing there says nothing.

    What the scenario's record says already is not recorded twice. The day it is stands in the column ``today``. Where neither it
    nor the scenario says so, or a row tells of a later day, it is as ``day_it_is`` has it: what is still to be taught must not be
    planned for days that are over. A what-if that is ruled out is left out.

    Raises
    ------
    UnusableInput
        With every problem found, each at its sheet and cell.
    """
    plan = _read(path)
    for row in plan.data["lessons"]:
        if row.get("what") and any(_is_recorded(row, entry) for entry in scenario.record):
            del row["what"]
    with at_cells(plan, path):
        data = scenario_data(scenario)
        what_ifs = data.pop("what_ifs", [])
        rows = [row for row in plan.data["lessons"] if row.get("what") and row.get("date")]
        told = [(row["what"], date.fromisoformat(row["date"])) for row in rows]
        stated = plan.data.get("today")
        today = day_it_is(scenario, told, date.fromisoformat(stated) if stated is not None else None)
        given = {"lessons": plan.data["lessons"]} | ({"today": today} if today is not None else {})
        recorded = recorded_from_data(data, given)
        return without_lapsed(scenario, scenario_data(recorded) | ({"what_ifs": what_ifs} if what_ifs else {}))[0]


def _is_recorded(row: dict[str, Any], entry: RecordEntry) -> bool:
    """Whether an entry of a record is about a row's lesson, and says of it what the row says."""
    about = (entry.class_, entry.lesson) == (row.get("class"), row["lesson"])
    about = about and row.get("unit") in (None, entry.unit or row.get("unit"))
    day = date.fromisoformat(row["date"]) if row.get("date") else None
    return about and says_the_same(entry, row["what"], (day, row.get("period")), row.get("parts_done"))


def read_plan_pins(scenario: Scenario, path: str | os.PathLike[str]) -> Scenario:
    """A scenario with the lessons pinned whose rows say so in the column ``pin``, each to its date and period.

    Raises
    ------
    UnusableInput
        With every problem found, each at its sheet and cell.
    """
    plan = _read(path)
    data = scenario_data(scenario)
    pins = Filled(data)
    classes = [entry["id"] for entry in data["classes"]]
    for number, row in enumerate(plan.data["lessons"]):
        if row.get("pin") != "yes":
            continue
        if row["class"] not in classes:
            said = f"names no class of the scenario: {shown(row['class'])}{like(row['class'], classes)}"
            pins.report(plan.places["lessons", number, "class"], said)
            continue
        place = classes.index(row["class"])
        own = data["classes"][place].setdefault("lessons", {})
        name = _own_key(own, row)
        own[name] = {key: value for key, value in own.get(name, {}).items() if key not in ("not_before", "not_after")}
        own[name] |= {"on": row["date"], "period": row["period"]}
        for key, column in (("on", "date"), ("period", "period")):
            pins.places["classes", place, "lessons", name, key] = plan.places["lessons", number, column]
        pins.places["classes", place, "lessons", name] = plan.places["lessons", number, "lesson"]
    if pins.problems:
        raise UnusableInput(tuple(pins.problems), str(path))
    with at_cells(pins, path):
        return scenario_from_data(data)


def said_only_in_plan(path: str | os.PathLike[str], recorded: bool) -> list[str]:
    """What the rows of a plan say of lessons that a plan made from it, and written in its place, would not say.

    A plan that is ``recorded`` knows what the column ``what`` says.
    """
    if form.TERM in [sheet.name for sheet in read_sheets(Path(path))]:
        return ["the whole term"]
    rows = _read(path).data["lessons"]
    said = [row["what"] for row in rows if row.get("what") in _NOT_THERE or (row.get("what") and not recorded)]
    return [*dict.fromkeys(said), *(["pin"] if any(row.get("pin") == "yes" for row in rows) else [])]


def _own_key(own: Iterable[str], row: dict[str, Any]) -> str:
    """The key by which a class speaks of a row's lesson already, with its unit or without; or else the row's own."""
    for key in own:
        unit, _, lesson = key.rpartition("/")
        if lesson == row["lesson"] and (not unit or row.get("unit", unit) == unit):
            return key
    return f"{row['unit']}/{row['lesson']}" if "unit" in row else str(row["lesson"])


def _read(path: str | os.PathLike[str]) -> Filled:
    """The rows of every sheet that has a column for lessons, as an answer's ``lessons``."""
    sheets = _with_lessons(read_sheets(Path(path)))
    plan = rows_in(sheets)
    if not plan.data["lessons"] and not plan.problems:
        raise UnusableInput((Problem("", _nothing_to_read(Path(path), bool(sheets))),), str(path))
    if plan.problems:
        raise UnusableInput(tuple(plan.problems), str(path))
    return plan


def _with_lessons(sheets: list[Sheet]) -> list[Sheet]:
    """The sheets that have a column for lessons; of a term's workbook that with the plan alone."""
    if form.TERM in [sheet.name for sheet in sheets]:
        return [sheet for sheet in sheets if sheet.name == PLAN]
    return [sheet for sheet in sheets if sheet.rows and "lesson" in map(_name, sheet.rows[0])]


def rows_in(sheets: Iterable[Sheet]) -> Filled:
    """The rows of sheets with columns for lessons, as an answer's ``lessons``, with what is wrong with single cells."""
    plan = Filled({"lessons": []})
    for sheet in sheets:
        for row in rows_of(sheet, COLUMNS, _NEEDED, plan):
            _add(plan, row)
    return plan


def _nothing_to_read(path: Path, has_columns: bool) -> str:
    """What is wrong with a file without a row: nothing stands beneath the columns, or they are not there."""
    columns = "class, date, period and lesson"
    if has_columns:
        return f"has no row beneath the columns {columns}"
    if path.suffix.lower() == ".csv":
        return f"must name the columns {columns} in its first line, with commas between them"
    return f"has no sheet with the columns {columns}"


def _name(value: object) -> str:
    return str(value).lower()


def _add(plan: Filled, row: Row) -> None:
    """One lesson's row; a row without a lesson is a spare period or a note."""
    if "lesson" not in row.values:
        return
    path = ("lessons", len(plan.data["lessons"]))
    entry: dict[str, Any] = {}
    for name, value in row.values.items():
        if name not in _READ:
            continue
        place = row.place(name)
        read = what_of(plan, value, place) if name == "what" else as_held(plan, value, place, _READ[name], form.YES_NO)
        if name == "today":
            _today(plan, read, place)
        elif read is not None:
            key = name.replace(" ", "_")
            entry[key] = read
            plan.places[*path, key] = place
    for name in ("class", "date", "period"):
        if name not in row.values:
            row.wrong(name, "is empty")
    plan.places[path] = row.place("lesson")
    plan.data["lessons"].append(entry)


def what_of(filled: Filled, value: Value, place: CellPlace) -> str | None:
    """What became of a lesson, as people write it, as a record says it."""
    return LOST if plain_word(value) in DID_NOT_TAKE_PLACE else as_choice(filled, value, OFFERED, place, _PLAIN_WHAT)


def _today(plan: Filled, day: str | None, place: CellPlace) -> None:
    """The day it is, which one row says; several may if they say the same."""
    if day is None:
        return
    stated = plan.data.setdefault("today", day)
    before = plan.places.setdefault(("today",), place)
    if stated != day:
        plan.report(place, f"says another day than {before}, which says {stated}")


def _kept(plan: Filled, without: tuple[str, ...]) -> Filled:
    """The rows of a plan that do not say one of these of their lesson, numbered anew, with their places."""
    rows = plan.data["lessons"]
    numbers = [number for number, row in enumerate(rows) if row.get("what") not in without]
    new = {old: number for number, old in enumerate(numbers)}
    places = {("lessons", new[path[1]], *path[2:]): place for path, place in plan.places.items() if path[1:2] and path[1] in new}
    return Filled({"lessons": [rows[number] for number in numbers]}, places)
