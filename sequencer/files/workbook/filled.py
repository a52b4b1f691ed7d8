"""A filled-in workbook, or a folder of CSV files, read as a scenario; what is wrong is told by sheet and cell."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sequencer.errors import Problem, UnusableInput
from sequencer.files.workbook import all_sheets, form
from sequencer.files.workbook.cells import CellPlace, Sheet, Value
from sequencer.files.workbook.day_rows import read_days
from sequencer.files.workbook.further_rows import read_further, read_listed, topics_before
from sequencer.files.workbook.lesson_rows import Lessons
from sequencer.files.workbook.limit_rows import read_limits
from sequencer.files.workbook.more import add_more, titles_of_units
from sequencer.files.workbook.part_rows import PartsSheet
from sequencer.files.workbook.rows import (
    Filled,
    Path,
    Row,
    as_held,
    as_words,
    keyed,
    like,
    misspelt,
    moved,
    path_of,
    rows_of,
)
from sequencer.instance.load import scenario_from_data
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import shown
from sequencer.scenario.schema import Scenario
from sequencer.words import EVERY_WEEK


def meant(filled: Filled, source: str, limits: Limits = NO_LIMITS) -> Scenario:
    """The scenario that was filled in.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    problems = list(filled.problems)
    scenario = None
    try:
        scenario = scenario_from_data(filled.data, "", limits)
    except UnusableInput as unusable:
        # What spoils a cell has been told; what follows from it there is no news.
        told = {problem.where for problem in problems}
        wanting = filled.wanting if filled.problems else set()
        news = [each for each in unusable.problems if path_of(each) not in wanting]
        problems += [problem for each in news if (problem := moved(each, filled)).where not in told]
    if problems or scenario is None:
        raise UnusableInput(tuple(dict.fromkeys(problems)), source)
    return scenario


def filled_in(sheets: list[Sheet]) -> Filled:
    """What the sheets of a filled-in workbook mean; sheets that are not of the form are the teacher's own."""
    filled = Filled()
    by_name = {sheet.name.lower(): sheet for sheet in sheets}
    forms = {each.name: each for each in all_sheets.SHEETS}
    missing = [name for name in (form.TERM, *forms) if name.lower() not in by_name]
    for sheet in sheets:
        if name := misspelt(sheet.name, missing):
            filled.report(sheet.place(0, 0), f"is on a sheet that is not known here (did you mean {name}?)")
    for name in (form.TERM, form.TIMETABLE, form.CLASSES, form.LESSONS):
        if name.lower() not in by_name:
            filled.problems.append(Problem("", f"has no sheet {name}"))
    labels = _term(filled, by_name.get(form.TERM.lower(), Sheet("", ())))
    rows = {
        name: list(rows_of(by_name[name.lower()], each.names, each.needed, filled)) if name.lower() in by_name else []
        for name, each in forms.items()
    }
    read_days(filled, rows[form.DAYS])
    read_days(filled, rows[form.COVER], form.RESTRICTED)
    read_listed(filled, rows[form.BELLS], form.BELLS, "periods")
    titles = titles_of_units(rows[form.MORE])
    units = Lessons(filled, topics_before(rows[form.BEFORE])).read(rows[form.LESSONS], titles)
    PartsSheet(filled, units).read(rows[form.PARTS])
    _classes(filled, rows[form.CLASSES], units)
    _timetable(filled, rows[form.TIMETABLE], labels)
    read_further(filled, rows)
    read_limits(filled, rows[form.LIMITED], titles)
    add_more(filled, rows[form.MORE])
    filled.tell_unsaid()
    return filled


def _term(filled: Filled, sheet: Sheet) -> tuple[str, ...]:
    """Put the term and the rules of the first sheet into the data; return the labels of the timetable's weeks."""
    settings = {setting.name: setting for setting in form.SETTINGS}
    found: dict[str, tuple[Value, CellPlace]] = {}

    def value_of(setting: form.Setting, path: Path) -> Any:
        if setting.name not in found:
            return None
        value, place = found[setting.name]
        filled.places[path] = place
        return as_held(filled, value, place, setting.holds, setting.offers)

    for row in rows_of(sheet, form.TERM_COLUMNS, form.TERM_COLUMNS[:2], filled) if sheet.name else ():
        name = str(row.values.get("what", "")).lower()
        if name not in settings:
            row.wrong("what", f"is nothing that is set here: {shown(name)}{like(name, settings)}")
        elif name in found:
            row.wrong("what", f"is set twice: {shown(name)}")
        elif "value" in row.values:
            found[name] = row.values["value"], row.place("value")
    where = sheet.place(0, 0) if sheet.name else None
    for name in (form.FIRST_DAY, form.LAST_DAY):
        if name not in found and where is not None:
            filled.report(where, f"must have a row {shown(name)} with a value")
    weeks = value_of(settings[form.CYCLE], ("term", "cycle"))
    if weeks not in (None, 1, 2):
        filled.report(found[form.CYCLE][1], f"must be 1 or 2 (got {weeks})")
    labels = ("A", "B") if weeks != 1 else ("A",)
    filled.data |= {"term": {"cycle": list(labels)}, "rules": {}}
    for setting in form.SETTINGS:
        if setting.path and not (setting.name == form.FIRST_WEEK and weeks == 1):
            value, into = value_of(setting, setting.path), filled.data
            if value is not None:
                for key in setting.path[:-1]:
                    into = into.setdefault(key, {})
                into[setting.path[-1]] = value
    if not {"first", "last"} <= filled.data["term"].keys():
        filled.wanting.add(("term",))
    if "retrieval" in filled.data["rules"] and form.LEAST in found:
        filled.places["rules", "retrieval"] = found[form.LEAST][1]
    if where is not None:
        filled.places["term",] = found.get(form.FIRST_DAY, (None, where))[1]
        filled.places[()] = where
    if value_of(settings[form.MAKE_PRACTICE], ("patterns",)) != "no":
        filled.data["patterns"] = [form.USUAL_PRACTICE]
    return labels


def _classes(filled: Filled, rows: list[Row], units: dict[str, str]) -> None:
    classes = filled.data["classes"] = []
    names = [each[key] for key in ("id", "title") for each in filled.data["units"] if key in each]
    for row in rows:
        path: Path = ("classes", len(classes))
        if "class" not in row.values:
            row.wrong("class", "must name the class")
            continue
        found: list[str] = []
        for word in as_words(row.values.get("units")):
            if word.lower() in units:
                found.append(units[word.lower()])
            else:
                message = f"names no unit of the sheet {form.LESSONS}: {shown(word)}{like(word, names)}"
                row.wrong("units", message)
        entry: dict[str, Any] = {"id": str(row.values["class"])} | keyed(filled, row, form.CLASS_COLUMNS, path)
        entry["units"] = found if "units" in row.values else list(dict.fromkeys(units.values()))
        entry["timetable"] = {}
        filled.places |= {path: row.place("class"), (*path, "id"): row.place("class"), (*path, "units"): row.place("units")}
        classes.append(entry)
    if not rows:
        filled.places["classes",] = CellPlace(form.CLASSES, 2, 1)


def _timetable(filled: Filled, rows: list[Row], labels: tuple[str, ...]) -> None:
    """The timetables of the classes; of a class in rows with a date, another one from that date on."""
    cells = sorted(_met(filled, rows, labels), key=lambda cell: cell[:2])
    changing = {number for since, _, _, number, _, _ in cells if since}
    for since, key, weekday, number, period, place in cells:
        entry = filled.data["classes"][number]
        path: Path = ("classes", number, "timetable")
        weeks = entry["timetable"]
        if number in changing:
            listed = entry["timetable"] = weeks or []
            if not listed or listed[-1].get("first", "") != since:
                listed.append(({"first": since} if since else {}) | {"weeks": {}})
            weeks, path = listed[-1]["weeks"], (*path, len(listed) - 1, "weeks")
            filled.places.setdefault(path[:-1], place)
        met = weeks.setdefault(key, {}).setdefault(weekday, [])
        path = (*path, key, weekday)
        filled.places |= {(*path, len(met)): place, path: filled.places.get(path, place)}
        met.append(period)


def _met(filled: Filled, rows: list[Row], labels: tuple[str, ...]) -> Iterator[tuple[str, str, str, int, int, CellPlace]]:
    """Each class in each cell: from which date, in which week, on which weekday, the class's number, the period, the cell."""
    classes = {entry["id"].lower(): number for number, entry in enumerate(filled.data["classes"])}
    for row in rows:
        if "period" not in row.values:
            row.wrong("period", "must be the number of the period")
            continue
        period = row.number("period")
        since = row.date("from")
        for label, weekday in form.GRID:
            column = f"{label} {weekday}".lower()
            for word in as_words(row.values.get(column)):
                place = row.place(column)
                if label not in labels:
                    filled.report(place, f"stands in week {label}, and the timetable has one week, A")
                elif word.lower() not in classes:
                    known = [entry["id"] for entry in filled.data["classes"]]
                    filled.report(place, f"names no class of the sheet {form.CLASSES}: {shown(word)}{like(word, known)}")
                elif period is not None:
                    key = label if len(labels) > 1 else EVERY_WEEK
                    yield since or "", key, weekday, classes[word.lower()], period, place
