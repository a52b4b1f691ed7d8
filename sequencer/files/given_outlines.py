"""Outlines made by hand, as a file holds them: what the command ``outline`` writes, changed or begun."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sequencer.errors import Problem, UnusableInput
from sequencer.files.workbook import form
from sequencer.files.workbook.cells import Sheet, is_table, read_sheets
from sequencer.files.workbook.counted import unusable
from sequencer.files.workbook.rows import Filled, rows_of
from sequencer.scenario.documents import read_file, read_tree
from sequencer.scenario.places import Path as Place
from sequencer.scenario.places import Tree, shown

_NEEDED = ("class", "lesson", "minutes")
_COLUMNS = (*_NEEDED, "unit", "part", "title", "kind")


def given_outlines(path: Path) -> list[dict[str, Any]]:
    """The lines of outlines in a file: class, lesson, part, minutes and place of each; the part is None for a made check.

    Raises
    ------
    UnusableInput
        With every problem found, each at its line or cell.
    """
    filled = Filled()
    lines: list[dict[str, Any]] = []
    if is_table(path):
        for sheet in read_sheets(path):
            if sheet.rows and "minutes" in [str(name).lower() for name in sheet.rows[0]]:
                lines += _lines_of_table(sheet, filled)
    else:
        text, language = read_file(path)
        tree = read_tree(text, language)
        filled.problems += tree.problems
        lines += _lines_of_answer(tree, filled.problems)
    if filled.problems:
        raise UnusableInput(tuple(filled.problems), str(path))
    if not lines:
        raise unusable(str(path), "holds no outline: a table has columns class, lesson, part, minutes; JSON lessons with parts")
    return lines


def _lines_of_table(sheet: Sheet, filled: Filled) -> Iterator[dict[str, Any]]:
    for row in rows_of(sheet, _COLUMNS, _NEEDED, filled):
        named = row.values.get("part") or row.values.get("title")
        if named is None:
            continue  # a lesson without an outline has one row without a part
        for name in _NEEDED:
            if name not in row.values:
                row.wrong(name, "is empty")
        if not set(_NEEDED) <= row.values.keys():
            continue
        minutes = row.number("minutes")
        made = "part" not in row.values and row.values.get(form.KIND) == "check"
        unit = f"{row.values['unit']}/" if "unit" in row.values else ""
        yield {
            "class_id": str(row.values["class"]), "lesson": f"{unit}{row.values['lesson']}", "part": None if made else str(named),
            "minutes": minutes or 0, "place": Problem(str(row.place("part" if "part" in row.values else "title")), ""),
        }  # fmt: skip


def outlines_given(tree: Tree) -> tuple[dict[str, Any], ...]:
    """The lines of outlines in a document that has the form of the JSON which is written of them.

    Raises
    ------
    UnusableInput
        With every problem found.
    """
    problems: list[Problem] = []
    lines = tuple(_lines_of_answer(tree, problems))
    if problems:
        raise UnusableInput(tuple(problems))
    return lines


def _lines_of_answer(tree: Tree, problems: list[Problem]) -> Iterator[dict[str, Any]]:
    lessons = tree.data.get("lessons") if isinstance(tree.data, dict) else None
    if not isinstance(lessons, list):
        problems.append(tree.positions.problem((), "must be a mapping with the key lessons: lessons with their parts"))
        return
    for number, lesson in enumerate(lessons):
        path: Place = ("lessons", number)
        parts = lesson.get("parts") if isinstance(lesson, dict) else None
        if not isinstance(parts, list) or not {"class", "lesson"} <= lesson.keys():
            problems.append(tree.positions.problem(path, "must have class, lesson and a list of parts"))
            continue
        unit = f"{lesson['unit']}/" if "unit" in lesson else ""
        for place, part in enumerate(parts):
            here = (*path, "parts", place)
            minutes = part.get("minutes") if isinstance(part, dict) else None
            if not isinstance(minutes, int) or isinstance(minutes, bool):
                said = f"must have minutes, a whole number (got {shown(minutes)})"
                problems.append(tree.positions.problem(here, said))
                continue
            named = part.get("id") or (None if part.get("kind") == "check" else part.get("title"))
            yield {
                "class_id": str(lesson["class"]), "lesson": f"{unit}{lesson['lesson']}",
                "part": str(named) if named is not None else None, "minutes": minutes,
                "place": tree.positions.problem(here, ""),
            }  # fmt: skip
