"""Lessons pasted one to a line, with a few marks: what each line means, and the units that they make.

A line is a title with marks behind it, in brackets or in further cells of a table: ``Meanders (hard)``, ``Rivers test (test,
double)``. A line that ends with a colon, or begins with ``#``, names the unit of those beneath it. What is not marked means what
an empty cell of the sheet of lessons means.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Annotated, Any

from pydantic import Field

from sequencer.errors import Problem, UnusableInput
from sequencer.files.workbook import form
from sequencer.files.workbook.cells import Sheet, Value
from sequencer.files.workbook.lesson_rows import PLAIN_KINDS, Lessons
from sequencer.files.workbook.rows import Filled, Row, plain_word
from sequencer.instance.load import model_from_tree
from sequencer.scenario.documents import Language, read_tree
from sequencer.scenario.fields import ClassId, Model
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import shown
from sequencer.words import IN_SCHOOL, KINDS, count_text


class PastedList(Model):
    """The lessons of a class, as they were pasted."""

    class_: ClassId = Field(alias="class", description="The class.")
    text: Annotated[str, Field(max_length=100_000)] = Field(description="Its lessons, one to a line.")


class PastedLists(Model):
    """Lists of lessons to be understood."""

    lists: Annotated[tuple[PastedList, ...], Field(min_length=1, max_length=100)] = Field(description="A list for each class.")


@dataclass
class UnderstoodLine:
    """How a line is understood; ``hint`` asks whether something else is meant, and ``instead`` is the line that says so."""

    line: int
    text: str
    says: str = ""
    unit: str | None = None
    lesson: str | None = None
    hint: str | None = None
    instead: str | None = None
    wrong: str | None = None


@dataclass
class UnderstoodList:
    """How the list of a class is understood: each line, and the units that the class is taught."""

    class_: str
    lines: list[UnderstoodLine] = field(default_factory=list)
    units: list[str] = field(default_factory=list)


@dataclass
class Pasted:
    """What pasted lists mean: units, what is made of hard lessons, and usual numbers of rules, all as a scenario states them."""

    lists: list[UnderstoodList]
    units: list[dict[str, Any]]
    patterns: list[dict[str, Any]]
    rules: dict[str, Any]


UNIT = "Lessons"
"""What the unit of a list is called that names none."""

LONGEST = 200
"""Letters of a title at most."""

_KINDS = {kind: kind for kind in KINDS} | PLAIN_KINDS
_LOADS = {"easy": 2, "hard": 4, "very hard": 5}
_LENGTHS = {"double": 2, "triple": 3} | {
    f"{said} {what}": number for number, words in ((2, ("2", "two")), (3, ("3", "three"))) for said in words
    for what in ("periods", "lessons", "hours")
}  # fmt: skip
_TAGS = ("practical", "fieldwork")
MARKS = (*_KINDS, *_LOADS, "double", "triple", *_TAGS, "optional", IN_SCHOOL)
"""What may stand behind a title; besides, ``load 3`` and ``on 2026-11-20``."""

SHOWN_KINDS = {
    "teach": "new content", "practice": "practice", "retrieval": "retrieval", "feedback": "feedback", "assessment": "test",
}  # fmt: skip
_TELLING = {
    "test": "test", "assessment": "test", "exam": "test", "quiz": "retrieval", "recap": "retrieval", "retrieval": "retrieval",
    "practice": "practice", "exercise": "practice", "feedback": "feedback",
}  # fmt: skip
"""Words of a title without marks that seem to say a kind, and the mark that does."""

_BULLET = re.compile(r"^(?:[-–—*•·]|\(?\d{1,3}[.):])\s+")
_DASHED = re.compile(r"^(.*\S)(?:\s+[-–—]|[,:;])\s+([a-z ]+)$", re.IGNORECASE)
"""A mark behind a title, and no brackets around it."""

_BRACKETS = re.compile(r"^(.*\S)\s*[(\[]([^()\[\]]*)[)\]]$")


def load_pasted(text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS) -> Pasted:
    """Read lists of pasted lessons from a mapping with ``lists``, a ``class`` and a ``text`` each.

    Raises
    ------
    UnusableInput, BeyondLimit
    """
    asked = model_from_tree(PastedLists, read_tree(text, language, limits), source, lambda _data, _words: ())
    lessons = sum(len(each.text.splitlines()) for each in asked.lists)
    limits.require("lessons", lessons, "lines of lessons")
    return understood({each.class_: each.text for each in asked.lists})


def understood(texts: dict[str, str]) -> Pasted:
    """What the lists of some classes mean."""
    filled = Filled()
    filled.data["patterns"] = [form.USUAL_PRACTICE]
    lists = [UnderstoodList(class_) for class_ in texts]
    rows: list[Row] = []
    titles: dict[str, UnderstoodList] = {}
    for each in lists:
        _read_lines(each, texts[each.class_], rows, titles, filled)
    Lessons(filled).read(rows)
    filled.tell_unsaid()
    lines = [line for each in lists for line in each.lines if line.lesson is not None]
    lessons = [(unit, lesson) for unit in filled.data["units"] for lesson in unit["lessons"]]
    by_title = {unit.get("title", unit["id"]).lower(): (unit, iter(unit["lessons"])) for unit in filled.data["units"]}
    for line in lines:
        unit, still_to_come = by_title[str(line.unit).lower()]
        lesson = next(still_to_come)
        line.unit, line.lesson = unit["id"], lesson["id"]
        line.says = _said(lesson, unit, lessons)
    for each in lists:
        each.units = list(dict.fromkeys(line.unit for line in each.lines if line.lesson and line.unit))
    _tell_problems(filled.problems, lines)
    for each in lists:
        if not each.units:
            each.lines.append(UnderstoodLine(0, "", wrong="holds no lesson: write one to a line"))
    rules: dict[str, Any] = {}
    for setting in form.SETTINGS:
        if setting.path[:1] == ("rules",):
            into = rules
            for key in setting.path[1:-1]:
                into = into.setdefault(key, {})
            into[setting.path[-1]] = setting.example
    return Pasted(lists, filled.data["units"], [form.USUAL_PRACTICE], rules)


def _read_lines(listed: UnderstoodList, text: str, rows: list[Row], titles: dict[str, UnderstoodList], filled: Filled) -> None:
    """The lines of a list, and a row of the sheet of lessons for each that is one; ``titles`` are units, and whose they are."""
    unit = ""
    for number, raw in enumerate(text.splitlines(), 1):
        cells = [" ".join(cell.split()) for cell in raw.split("\t")]
        title = _BULLET.sub("", cells[0])
        if not any(cells):
            continue
        line = UnderstoodLine(number, " ".join(cell for cell in cells if cell))
        listed.lines.append(line)
        if title.startswith("#") or (title.endswith(":") and not any(cells[1:])):
            unit = _own_title(title.strip("#: ").strip(), listed, titles)
            line.says, line.unit = "a unit: what stands beneath it belongs to it", unit
            continue
        if not title:
            line.wrong = "has no title in its first cell"
            continue
        unit = unit or _own_title(UNIT, listed, titles)
        values: dict[str, Value] = {form.UNIT: unit}
        title = _take_marks(raw.strip(), title, cells[1:], values, line)
        if len(title) > LONGEST:
            line.wrong = f"is longer than a title may be: {LONGEST} letters"
            continue
        values[form.LESSON] = title
        line.unit, line.lesson = unit, title
        rows.append(Row(Sheet(form.LESSONS, ()), len(rows), values, {}, filled))


def _own_title(title: str, listed: UnderstoodList, titles: dict[str, UnderstoodList]) -> str:
    """A unit's title; with the class behind it where another class's list has a unit of that name."""
    title = title or UNIT
    if titles.setdefault(title.lower(), listed) is not listed:
        title = f"{title} ({listed.class_})"
        titles.setdefault(title.lower(), listed)
    return title


def _take_marks(raw: str, title: str, cells: list[str], values: dict[str, Value], line: UnderstoodLine) -> str:
    """Put what the marks of a line say into a row; return the title without them."""
    while bracketed := _BRACKETS.match(title):
        words = [word.strip() for word in re.split(r"[,;]", bracketed[2]) if word.strip()]
        read = [_mark(word) for word in words]
        if not words or None in read:
            unread = [word for word, found in zip(words, read, strict=True) if found is None]
            near = [(word, like[0]) for word in unread if (like := get_close_matches(word.lower(), MARKS, 1, 0.75))]
            if near:
                line.hint = f"The brackets are read as part of the title. Did you mean ({near[0][1]})?"
                line.instead = near[0][1].join(raw.rsplit(near[0][0], 1))
            break
        title = bracketed[1]
        for found in read:
            values |= found or {}
    notes: list[str] = []
    for word in filter(None, (part.strip() for cell in cells for part in re.split(r"[,;]", cell))):
        means = _mark(word)
        notes += [word] if means is None else []
        values |= means or {}
    if notes:
        values[form.NOTES] = "; ".join(notes)
    dashed = _DASHED.match(raw)
    if dashed and _mark(dashed[2]) is not None and line.hint is None:
        line.hint, line.instead = f"Is it ({dashed[2]})?", f"{dashed[1]} ({dashed[2]})"
    telling = next((mark for word, mark in _TELLING.items() if word in plain_word(title).split()), None)
    if telling and form.KIND not in values and line.hint is None:
        line.hint, line.instead = f"Is it {'a test' if telling == 'test' else telling}?", f"{raw} ({telling})"
    return title


def _mark(word: str) -> dict[str, Value] | None:
    """What a mark says, by the columns of the sheet of lessons; None where it is none."""
    plain = plain_word(word)
    if plain in _KINDS:
        return {form.KIND: _KINDS[plain]}
    if plain in _LOADS:
        return {form.LOAD: _LOADS[plain]}
    if plain in _LENGTHS:
        return {form.PERIODS: _LENGTHS[plain]}
    if plain in _TAGS:
        return {form.TAGS: plain}
    if plain in ("optional", "can be left out"):
        return {form.OPTIONAL: "yes"}
    if plain == IN_SCHOOL:
        return {form.NEEDS: IN_SCHOOL}
    if load := re.fullmatch(r"(?:load )?([1-5])", plain):
        return {form.LOAD: int(load[1])}
    if on := re.fullmatch(r"on (\d{4}) (\d{1,2}) (\d{1,2})", plain):
        return {form.ON: f"{on[1]}-{on[2]}-{on[3]}"}
    return None


def _said(lesson: dict[str, Any], unit: dict[str, Any], lessons: list[tuple[dict[str, Any], dict[str, Any]]]) -> str:
    """What a lesson is taken for, in words."""
    kind, load = lesson.get("kind", "teach"), lesson.get("load", 3)
    titles = {each["id"]: each.get("title", each["id"]) for inside, each in lessons if inside is unit}
    goes_with = [titles[name] for key in ("practises", "revisits", "answers") for name in lesson.get(key, ())]
    between = {"practice": "of", "retrieval": "of", "feedback": "on"}.get(kind, "")
    parts = [f"{SHOWN_KINDS[kind]} {between} {_listed(goes_with)}" if goes_with else SHOWN_KINDS[kind]]
    if kind == "assessment" and lesson.get("requires"):
        parts[0] += ", after all that is above it"
    if load >= 4 and kind == "teach":
        practised = any(lesson["id"] in each.get("practises", ()) for inside, each in lessons if inside is unit)
        parts.append("hard, practised in a lesson of the list" if practised else "hard, with a practice lesson made for it")
    elif load != 3:
        parts.append(f"load {load}")
    parts += [f"takes {count_text(lesson['length'], 'period')}"] if lesson.get("length", 1) > 1 else []
    parts += [f"on {lesson['on']}"] if "on" in lesson else []
    parts += [tag for tag in _TAGS if tag in lesson.get("tags", ())]
    parts += [IN_SCHOOL] if IN_SCHOOL in lesson.get("needs", ()) else []
    parts += ["may be left out"] if lesson.get("optional") else []
    parts += [f"noted beside it: {'; '.join(lesson['notes'])}"] if lesson.get("notes") else []
    return "; ".join(parts)


def _listed(titles: list[str]) -> str:
    quoted = [shown(title) for title in titles]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"


def _tell_problems(problems: list[Problem], lines: list[UnderstoodLine]) -> None:
    """Tell what is wrong at the line that it is about."""
    for problem in problems:
        row = re.search(r"(\d+)$", problem.where)
        if row is None:
            raise UnusableInput((problem,))
        lines[int(row[1]) - 1].wrong = problem.message
