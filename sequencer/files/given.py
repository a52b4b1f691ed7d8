"""A sequence as somebody hands it in, made by hand or by an earlier run: rows as answers have them, or a table."""

from __future__ import annotations

import csv
import io
from difflib import get_close_matches
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, GetJsonSchemaHandler, ValidationError
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from sequencer.errors import Problem, UnusableInput
from sequencer.scenario.documents import in_file_order
from sequencer.scenario.fields import ClassId, Day, OneOrList, OrShort, PeriodNumber, Text
from sequencer.scenario.places import Path, Positions, Suggestions, Tree
from sequencer.scenario.wording import schema_problem

NEEDED = ("class", "lesson", "date", "period")
COLUMNS = (*NEEDED, "unit", "taught")

ANSWER_KEYS = frozenset(
    {
        "class", "unit", "lesson", "title", "kind", "load", "length", "date", "weekday", "week", "label", "period", "slot",
        "taught", "made", "delivered", "practises", "revisits", "homework",
    }
)  # fmt: skip
"""Keys of a row of an answer: never an error in a row that is handed in."""

_LIKE, _MOST_KEYS, _LONGEST_KEY = 0.75, 60, 40
"""How like a key must be to be taken for a misspelling of one that is read; how many keys are compared, and how much of each."""


def _unit_and_lesson(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    unit, slash, lesson = value.partition("/")
    return {"unit": unit, "lesson": lesson} if slash else {"lesson": value}


class GivenRevisit(BaseModel):
    """A lesson met again: its unit and id. Other keys of an answer are ignored."""

    model_config = ConfigDict(extra="ignore", frozen=True, strict=True)

    unit: Text | None = Field(None, description="Its unit; that of the row's lesson unless stated.")
    lesson: Text = Field(description="Its id, or its title.")


RevisitEntry = Annotated[GivenRevisit, BeforeValidator(_unit_and_lesson), OrShort({"type": "string", "minLength": 1})]
RevisitEntries = Annotated[
    tuple[RevisitEntry, ...], BeforeValidator(lambda value: (value,) if isinstance(value, str | dict) else value), OneOrList()
]


class GivenLesson(BaseModel):
    """One row: which lesson of which class is on which date in which period. Other keys of an answer are ignored."""

    model_config = ConfigDict(extra="ignore", frozen=True, strict=True)

    class_: ClassId = Field(alias="class", description="The class.")
    unit: Text | None = Field(None, description="The unit; may be left out where the lesson's id is unique in the class.")
    lesson: Text = Field(description="The lesson's id; or its title, where no other lesson of the class has that.")
    date: Day = Field(description="Date of its first period.")
    period: PeriodNumber = Field(description="Its first period.")
    taught: str | None = Field(
        None, description="in class, live or set work; what the period fixes unless stated, set work where it is open."
    )
    revisits: RevisitEntries = Field(
        (),
        description="Lessons met again in it: entries as answers write them, or lesson's ids. Those that the scenario lists need "
        "not be given; the others are met again by choice.",
    )


class GivenSequence(BaseModel):
    """A sequence as it is handed in: an answer, whose `lessons` are read, or rows of the same form, under that key or alone."""

    model_config = ConfigDict(extra="ignore", frozen=True, strict=True)

    lessons: Annotated[tuple[GivenLesson, ...], Field(max_length=20000)] = Field(description="The lessons with their dates.")

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        written = handler(core)
        schema = handler.resolve_ref_schema(written)
        table = {
            "type": "string",
            "description": f"A table (RFC 4180) with the columns {', '.join(COLUMNS)}; unit and taught may lack.",
        }
        forms = {"anyOf": [dict(schema), schema["properties"]["lessons"], table], "description": schema["description"]}
        schema.clear()
        schema |= forms
        return written


def given_rows(tree: Tree, source: str) -> GivenSequence:
    """The sequence as it was written, if it is of the right form."""
    if isinstance(tree.data, str):  # a table inside a body
        tree.data = csv_tree(tree.data).data
    rows = tree.data.get("lessons") if isinstance(tree.data, dict) else tree.data
    tree.limits.require("lessons", len(rows) if isinstance(rows, list) else 0, "rows in the sequence")
    problems = list(tree.problems)
    given = None
    if not tree.cut_short:
        problems += _misspelt(tree)
        try:
            given = GivenSequence.model_validate(_only_lessons(tree.data))
        except ValidationError as errors:
            for error in errors.errors(include_url=False):
                path, problem = schema_problem(error, tree, Suggestions(), GivenSequence)
                if not tree.is_spoilt(path):
                    problems.append(problem)
    if problems or given is None:
        raise UnusableInput(in_file_order(problems, tree.data), source)
    return given


def _misspelt(tree: Tree) -> list[Problem]:
    """Keys of rows that are nearly a key which is read, and none of an answer: ``revisit`` would say nothing."""
    read = [field.alias or name for name, field in GivenLesson.model_fields.items()]
    rows = tree.data.get("lessons") if isinstance(tree.data, dict) else tree.data
    under: Path = ("lessons",) if isinstance(tree.data, dict) else ()
    problems = []
    looked_up: dict[str, list[str]] = {}
    for place, row in enumerate(rows if isinstance(rows, list) else ()):
        for key in row if isinstance(row, dict) else ():
            if not isinstance(key, str) or key in read or key in ANSWER_KEYS:
                continue
            # Rows repeat their keys, and comparing words is slow: each is looked up once, and only so many.
            if key not in looked_up and len(looked_up) < _MOST_KEYS:
                looked_up[key] = get_close_matches(key.lower()[:_LONGEST_KEY], read, n=1, cutoff=_LIKE)
            for nearest in looked_up.get(key, ()):
                message = f"is not a key that can stand here (did you mean {nearest}?)"
                problems.append(tree.positions.problem((*under, place, key), message, on_key=True))
    return problems


def _only_lessons(data: Any) -> Any:
    """The rows as tuples, as frozen models hold them; a bare list is one of rows."""
    rows = data.get("lessons") if isinstance(data, dict) else data
    if not isinstance(rows, list):
        return data
    return {"lessons": tuple(_with_tuple(row, "revisits") if isinstance(row, dict) else row for row in rows)}


def _with_tuple(row: dict[str, Any], key: str) -> dict[str, Any]:
    return row | {key: tuple(row[key])} if isinstance(row.get(key), list) else row


def csv_tree(text: bytes | str) -> Tree:
    """A table (RFC 4180), its columns named in the first line, as a document of rows, each at its line."""
    if isinstance(text, bytes):
        try:
            text = text.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise UnusableInput((Problem("", "must be text in UTF-8"),)) from None
    reader = csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True)
    rows: list[dict[str, Any]] = []
    places: dict[Path, tuple[int, int]] = {}
    try:
        header = [name.strip().lower() for name in next(reader, [])]
        _check_header(header)
        line = 1 + reader.line_num
        for cells in reader:
            if any(cell.strip() for cell in cells):
                places["lessons", len(rows)] = (line, 1)
                named = zip(header, (cell.strip() for cell in cells), strict=False)
                rows.append(_row({name: cell for name, cell in named if cell}))
            line = 1 + reader.line_num
    except csv.Error as error:
        raise UnusableInput((Problem("", f"is no table of comma-separated values: {error}", "", 1, 1),)) from None
    return Tree({"lessons": rows}, Positions(places))


def _check_header(header: list[str]) -> None:
    missing = [name for name in NEEDED if name not in header]
    unknown = [name for name in header if name not in COLUMNS]
    if missing or unknown:
        known = f"the columns can be {', '.join(COLUMNS)}"
        what = f"must name the column {missing[0]}" if missing else f"names a column that is not known: {unknown[0][:40]}"
        raise UnusableInput((Problem("", f"{what} in its first line; {known}", "", 1, 1),))


def _row(cells: dict[str, str]) -> dict[str, Any]:
    row: dict[str, Any] = dict(cells)
    unit, slash, lesson = cells.get("lesson", "").partition("/")
    if slash and "unit" not in cells:
        row |= {"unit": unit, "lesson": lesson}
    if cells.get("period", "").isdecimal():
        row["period"] = int(cells["period"])
    return row
