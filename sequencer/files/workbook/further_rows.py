"""The sheets for when they are needed: shared kit, what was taught before, year groups, order of aims, what may come."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from sequencer.files.workbook import all_sheets, form
from sequencer.files.workbook.cells import CellPlace
from sequencer.files.workbook.day_rows import COMES, GOES, day_cells, day_entry, what_of
from sequencer.files.workbook.rows import (
    Filled,
    Path,
    Row,
    as_choice,
    as_date,
    as_words,
    keyed,
    like,
    near_miss,
    plain_id,
    plain_word,
)
from sequencer.scenario.class_schema import Cohort
from sequencer.scenario.places import shown
from sequencer.words import AIMS, BEFORE, EVEN_LOAD, IN_SCHOOL, KINDS, LIVE, WISHES

_PLAIN_AIMS = {"spread the load": EVEN_LOAD, "load": EVEN_LOAD, "wish": WISHES}
_USUAL = AIMS[:-1]

_IN_SCHOOL = ("not remote", "not from home", "not online", "in person", "at school")
"""What people type for being in school."""

_SAID_ELSEWHERE = {
    **dict.fromkeys(("double", "double lesson", "double period"), form.PERIODS), "hard": form.LOAD, "optional": form.OPTIONAL,
    "live": LIVE, **dict.fromkeys(KINDS, form.KIND), "test": form.KIND,
}  # fmt: skip
"""What is no thing that a lesson needs, and the column that says it."""

_COLUMNS = {each.name: each.columns for each in all_sheets.SHEETS}


def read_further(filled: Filled, rows: Mapping[str, list[Row]]) -> None:
    """Put what these sheets say into the data."""
    read_listed(filled, rows[form.KIT], form.KIT, "shared")
    _kit_of_lessons(filled)
    _taught_before(filled, rows[form.BEFORE])
    _cohorts(filled, rows[form.YEARS])
    _aims(filled, rows[form.ORDER])
    _what_ifs(filled, rows[form.WHAT_IF])


def read_listed(filled: Filled, rows: list[Row], sheet: str, key: str) -> None:
    """The entries of a list of the scenario, a row for each, which says them word for word."""
    needed = next(each.needed for each in all_sheets.SHEETS if each.name == sheet)
    for row in rows:
        path: Path = (key, len(filled.data.get(key, ())))
        missing = [name for name in needed if name not in row.values]
        for name in missing:
            row.wrong(name, f"is empty: a row has {', '.join(needed)}")
        entry = keyed(filled, row, _COLUMNS[sheet], path)
        if missing or any(column.key not in entry for column in _COLUMNS[sheet] if column.name in needed):
            continue
        filled.places |= {path: row.place(needed[0]), path[:1]: filled.places.get(path[:1], row.place(needed[0]))}
        filled.data.setdefault(key, []).append(entry)


def _kit_of_lessons(filled: Filled) -> None:
    """What lessons need, and no room of a class has, is a thing that one class at a time can use."""
    listed = [each["name"] for each in filled.data.get("shared", ())]
    there = {IN_SCHOOL, *listed, *(thing for each in filled.data["classes"] for thing in each.get("offers", ()))}
    kit: dict[str, CellPlace | None] = {}
    for number, unit in enumerate(filled.data["units"]):
        for place, lesson in enumerate(unit["lessons"]):
            for at, need in enumerate(lesson.get("needs", ())):
                if need not in there and plain_word(need) in _IN_SCHOOL:
                    lesson["needs"][at] = IN_SCHOOL
                elif need not in there:
                    kit.setdefault(need, filled.place_of(("units", number, "lessons", place, "needs")))
    for need, cell in kit.items():
        column, near = _SAID_ELSEWHERE.get(plain_word(need)), near_miss(need, there)
        if cell is not None and column is not None:
            filled.report(cell, f"is no thing that a lesson needs: {shown(need)}; that is said in the column {column}")
        elif cell is not None and near is not None:
            filled.report(cell, f"is on no other sheet: {shown(need)} (did you mean {near}?)")
    if kit:
        filled.data.setdefault("shared", []).extend({"name": need} for need in kit)


def topics_before(rows: list[Row]) -> dict[str, str]:
    """What lessons call the topics taught before, by title, id and reference, in small letters."""
    found: dict[str, str] = {}
    for row in rows:
        title = str(row.values.get("title", ""))
        ref = f"{BEFORE}/{row.values.get(form.ID) or plain_id(title, set())}"
        found |= dict.fromkeys((title.lower(), ref.lower()), ref)
    return found


def _taught_before(filled: Filled, rows: list[Row]) -> None:
    """What classes were taught before term: a lesson of their units is recorded as delivered, else it is a topic of its own."""
    known = {entry["id"].lower(): number for number, entry in enumerate(filled.data["classes"])}
    for row in rows:
        for column, message in (("title", "must say what was taught"), ("date", "must say when; about will do")):
            if column not in row.values:
                row.wrong(column, message)
        whose = as_words(row.values.get("class"))
        for word in [word for word in whose if word.lower() not in known]:
            names = [entry["id"] for entry in filled.data["classes"]]
            row.wrong("class", f"names no class of the sheet {form.CLASSES}: {shown(word)}{like(word, names)}")
        for number in [known[word.lower()] for word in whose if word.lower() in known] if whose else known.values():
            if {"title", "date"} <= row.values.keys():
                _topic(filled, row, number)


def _topic(filled: Filled, row: Row, number: int) -> None:
    entry = filled.data["classes"][number]
    listed = entry.setdefault("taught_before", [])
    path: Path = ("classes", number, "taught_before", len(listed))
    told = len(filled.problems)
    topic = keyed(filled, row, _COLUMNS[form.BEFORE], path)
    title, own = str(row.values["title"]), row.values.get(form.ID)
    lesson = _of_its_units(filled, entry, title) if own is None else None
    if lesson is None and own is None and (near := near_miss(title, _titles(filled, entry))):
        message = (
            f"is the title of no lesson (did you mean {shown(near)}?); if it is something else, give it a short name under id"
        )
        row.wrong("title", message)
    if lesson is not None:
        record = filled.data.setdefault("record", [])
        path = ("record", len(record))
        record.append({"class": entry["id"], "unit": lesson[0], "lesson": lesson[1], "date": topic.get("date")})
        filled.places |= {path: row.place("title"), (*path, "date"): row.place("date")}
    else:
        name = str(own) if own is not None else plain_id(title, {each["id"] for each in listed})
        listed.append({"id": name} | ({"title": title} if title != name else {}) | topic)
        filled.places |= {path: row.place("title"), (*path, "title"): row.place("title"), (*path, "id"): row.place(form.ID)}
    filled.problems[told:] = [problem for problem in filled.problems[told:] if problem not in filled.problems[:told]]
    if not listed:
        del entry["taught_before"]


def _titles(filled: Filled, entry: Mapping[str, Any]) -> list[str]:
    units = [unit for unit in filled.data["units"] if unit["id"] in entry["units"]]
    return [str(lesson.get("title", lesson["id"])) for unit in units for lesson in unit["lessons"]]


def _of_its_units(filled: Filled, entry: Mapping[str, Any], title: str) -> tuple[str, str] | None:
    """The unit and id of the lesson that a class is to be taught under a title, where there is one."""
    found = [
        (unit["id"], lesson["id"])
        for unit in filled.data["units"]
        if unit["id"] in entry["units"]
        for lesson in unit["lessons"]
        if str(lesson.get("title", lesson["id"])).lower() == title.lower()
    ]
    return found[0] if len(found) == 1 else None


def _cohorts(filled: Filled, rows: list[Row]) -> None:
    """The year groups, a row for each of their subjects."""
    listed: list[dict[str, Any]] = []
    name = None
    for row in rows:
        name = str(row.values["year group"]) if "year group" in row.values else name
        if name is None or "subject" not in row.values:
            missing, what = ("year group", "which year group it is") if name is None else ("subject", "which subject it is")
            row.wrong(missing, f"must say {what}")
            continue
        number = next((number for number, each in enumerate(listed) if each["id"] == name), len(listed))
        path: Path = ("cohorts", number)
        if number == len(listed):
            listed.append({"id": name, "subjects": []})
            filled.places |= dict.fromkeys((path, (*path, "id"), (*path, "subjects")), row.place("year group"))
        cohort = listed[number]
        if "title" in row.values:
            cohort["title"] = str(row.values["title"])
            filled.places[*path, "title"] = row.place("title")
        path = (*path, "subjects", len(cohort["subjects"]))
        filled.places[path] = row.place("subject")
        subject, typed = keyed(filled, row, _COLUMNS[form.YEARS], path), row.values.get("tests fixed on")
        place = filled.places[*path, "fixed_assessments"] = row.place("tests fixed on")
        days = [as_date(filled, day, place) for day in ([typed] if isinstance(typed, date) else as_words(typed))]
        cohort["subjects"].append(subject | ({"fixed_assessments": days} if days else {}))
    if listed:
        filled.data["cohorts"] = listed


def _aims(filled: Filled, rows: list[Row]) -> None:
    """The aims as listed; those that are not, after them in their usual order, unless nothing else is to matter."""
    aims: list[str] = []
    for row in rows:
        typed = row.values["aim"]
        aim = _PLAIN_AIMS.get(str(typed).lower()) or as_choice(
            filled, typed, (*AIMS, form.NOTHING_ELSE), row.place("aim"), _PLAIN_AIMS
        )
        if aim in aims:
            row.wrong("aim", f"is listed twice: {aim}")
        elif aim is not None:
            aims.append(aim)
        filled.places.setdefault(("aims",), row.place("aim"))
    if form.NOTHING_ELSE in aims:
        filled.data["aims"] = aims[: aims.index(form.NOTHING_ELSE)]
    elif aims:
        filled.data["aims"] = _completed(aims)


def _completed(aims: Sequence[str]) -> list[str]:
    return [*aims, *(aim for aim in _USUAL if aim not in aims)]


def _what_ifs(filled: Filled, rows: list[Row]) -> None:
    listed: list[dict[str, Any]] = []
    name = None
    for row in rows:
        name = str(row.values["what if"]) if "what if" in row.values else name
        if name is None:
            row.wrong("what if", "must say what it is called")
            continue
        number = next((number for number, each in enumerate(listed) if each["name"] == name), len(listed))
        path: Path = ("what_ifs", number)
        if number == len(listed):
            listed.append({"name": name, "changes": []})
            filled.places |= {path: row.place("what if"), (*path, "changes"): row.place(form.WHAT)}
        listed[number] |= keyed(filled, row, _COLUMNS[form.WHAT_IF], path)
        change = _change(filled, row, (*path, "changes", len(listed[number]["changes"])), name)
        if change is not None:
            listed[number]["changes"].append(change)
    if listed:
        filled.data["what_ifs"] = listed


def _change(filled: Filled, row: Row, path: Path, name: str) -> dict[str, Any] | None:
    """What comes in a what-if, or what does not; None for a row that says neither, whose changes stand elsewhere."""
    if form.WHAT not in row.values:
        return None
    what = what_of(filled, row, (*COMES, *GOES))
    called = str(row.values.get(form.NAME, name))
    filled.places[path] = row.place(form.WHAT)
    if what in GOES:
        filled.places[*path, "name"] = row.place(form.NAME)
        return {"change": GOES[what], "name": called}
    if what in COMES:
        word, key = COMES[what]
        entry = day_entry(filled, row, what, (*path, key), called)
        if entry is None:
            filled.wanting.add(path[:3])
        return {"change": word, key: entry} if entry is not None else None
    return None


# -- written -----------------------------------------------------------------------------------------------------------


def cohort_cells(cohorts: Sequence[Cohort]) -> list[tuple[form.Cell, ...]]:
    """The rows that say the year groups."""
    found: list[tuple[form.Cell, ...]] = []
    for cohort in cohorts:
        for number, subject in enumerate(cohort.subjects):
            named = (cohort.id, cohort.title) if number == 0 else (None, None)
            days = ", ".join(day.isoformat() for day in subject.fixed_assessments) or None
            found.append((*named, subject.name, ", ".join(subject.classes) or None, days))
    return found


def aim_cells(aims: Sequence[str] | None) -> list[tuple[form.Cell, ...]]:
    """The rows that say an order of aims."""
    if aims is None:
        return []
    listed = next((aims[:count] for count in range(1, len(aims) + 1) if _completed(aims[:count]) == list(aims)), None)
    return [(aim,) for aim in (listed if listed is not None else (*aims, form.NOTHING_ELSE))]


def what_if_cells(listed: Sequence[Mapping[str, Any]], term: Any) -> list[dict[str, form.Cell]]:
    """The rows, by their columns, that say what may come; of a what-if that rows cannot say its name alone."""
    found: list[dict[str, form.Cell]] = []
    for what_if in listed:
        rows = [_change_cells(change, what_if["name"], term) for change in what_if["changes"]]
        said = [row for row in rows if row is not None] if None not in rows else [{}]
        said[0] |= {column.name: what_if.get(column.key) for column in _COLUMNS[form.WHAT_IF] if column.key}
        found += [{"what if": what_if["name"]} | row for row in said]
    return found


def _change_cells(change: Mapping[str, Any], name: str, term: Any) -> dict[str, form.Cell] | None:
    for what, (word, key) in COMES.items():
        if change["change"] == word:
            cells = day_cells(change[key], term)
            return {**cells, form.WHAT: what, form.NAME: _other(change[key]["name"], name)} if cells is not None else None
    for what, word in GOES.items():
        if change["change"] == word:
            return {form.WHAT: what, form.NAME: _other(change["name"], name)}
    return None


def _other(called: str, name: str) -> str | None:
    return called if called != name else None
