"""A sequence that somebody hands in, made by hand or by an earlier run, matched with its scenario."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, GetJsonSchemaHandler, ValidationError
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from sequencer.errors import Problem, UnusableInput
from sequencer.files.given_csv import COLUMNS, csv_tree
from sequencer.files.pinned import pinned_sequence, taught_as_fixed
from sequencer.instance.build import build_instance
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.instance.load import scenario_from_tree
from sequencer.instance.record_file import recorded_part
from sequencer.plan.sequence import Gone, Placement, Previous, Revisit, Sequence, Stray
from sequencer.scenario.documents import Language, Parts, in_file_order, read_tree
from sequencer.scenario.fields import LESSON_REF, LONGEST_REF, ClassId, Day, Ident, MadeIdent, OneOrList, OrShort, PeriodNumber
from sequencer.scenario.guards import plain_tree
from sequencer.scenario.limits import NO_LIMITS, Limits
from sequencer.scenario.places import Path, Suggestions, Tree, shown
from sequencer.scenario.schema import Scenario
from sequencer.scenario.wording import document_path, schema_problem
from sequencer.words import TAUGHT

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

    unit: Ident | None = Field(None, description="Its unit; that of the row's lesson unless stated.")
    lesson: MadeIdent = Field(description="Its id.")


RevisitEntry = Annotated[
    GivenRevisit, BeforeValidator(_unit_and_lesson), OrShort({"type": "string", "pattern": LESSON_REF, "maxLength": LONGEST_REF})
]
RevisitEntries = Annotated[
    tuple[RevisitEntry, ...], BeforeValidator(lambda value: (value,) if isinstance(value, str | dict) else value), OneOrList()
]


class GivenLesson(BaseModel):
    """One row: which lesson of which class is on which date in which period. Other keys of an answer are ignored."""

    model_config = ConfigDict(extra="ignore", frozen=True, strict=True)

    class_: ClassId = Field(alias="class", description="The class.")
    unit: Ident | None = Field(None, description="The unit; may be left out where the lesson's id is unique in the class.")
    lesson: MadeIdent = Field(description="The lesson's id.")
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


def load_sequence(
    scenario: Scenario, text: bytes | str, source: str = "", language: Language | Literal["csv"] = "json"
) -> Sequence:
    """Read a sequence for a scenario from JSON or YAML text, or from a table of comma-separated values.

    Raises
    ------
    UnusableInput
        With every problem found: what is not of the right form, and classes and lessons that the scenario does not know. A
        period in which the class does not meet is no problem here: the referee reports it.
    """
    return _sequence(scenario, csv_tree(text) if language == "csv" else read_tree(text, language), source)


def sequence_from_data(scenario: Scenario, data: object, source: str = "") -> Sequence:
    """Read a sequence for a scenario from mappings and lists in memory; see ``load_sequence``."""
    return _sequence(scenario, plain_tree(data), source)


def load_previous(
    scenario: Scenario, text: bytes | str, source: str = "", language: Language | Literal["csv"] = "json"
) -> Previous:
    """The same of a sequence planned before: lessons that the scenario does not have any more are no problem, but told apart.

    Raises
    ------
    UnusableInput
    """
    tree = csv_tree(text) if language == "csv" else read_tree(text, language)
    return _matched_before(scenario, _rows(tree, source), tree, source)


def previous_from_data(scenario: Scenario, data: object, source: str = "") -> Previous:
    """Read a sequence planned before from mappings and lists in memory; see ``load_previous``."""
    tree = plain_tree(data)
    return _matched_before(scenario, _rows(tree, source), tree, source)


def load_check(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, Sequence]:
    """Read a scenario and a sequence for it from one text: a mapping with the keys ``scenario`` and ``sequence``.

    Without a sequence the scenario's own pins are it.

    What happened may stand beside them under ``record``, in the form of a record file.

    Raises
    ------
    UnusableInput
        With every problem found in either, at its place in the whole text. Whether the scenario knows the sequence's classes
        and lessons can only be said of a scenario that can be used.
    BeyondLimit
        When there is more of something than the limits allow.
    """
    parts = Parts(read_tree(text, language, limits), source, ("scenario",), ("sequence", "record"))
    scenario, sequence = checked_parts(parts, source)
    parts.report()
    assert scenario is not None, "whatever cannot be read is reported"
    return scenario, sequence if sequence is not None else pinned_sequence(scenario)


def load_with_earlier(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, bytes | Sequence | None]:
    """Read a scenario, or a mapping with ``scenario`` and what was planned ``earlier``: a calendar's text, or a sequence.

    What happened may stand beside them under ``record``, in the form of a record file.

    Raises
    ------
    UnusableInput
        With every problem found, at its place in the whole text.
    BeyondLimit
        When there is more of something than the limits allow.
    """
    tree = read_tree(text, language, limits)
    if not isinstance(tree.data, dict) or "scenario" not in tree.data:
        return scenario_from_tree(tree, source), None
    parts = Parts(tree, source, ("scenario",), ("record", "earlier"))
    scenario = recorded_part(parts, source)

    def planned(part: Tree) -> bytes | Sequence | None:
        if isinstance(part.data, str) and part.data.lstrip().startswith("BEGIN:VCALENDAR"):
            return "\r\n".join(part.data.lstrip().splitlines()).encode() + b"\r\n"
        return _matched(scenario, _rows(part, source), part, source) if scenario is not None else None

    earlier = parts.read("earlier", planned)
    parts.report()
    assert scenario is not None, "whatever cannot be read is reported"
    return scenario, earlier


def load_replan(
    text: bytes | str, source: str = "", language: Language = "json", limits: Limits = NO_LIMITS
) -> tuple[Scenario, Previous]:
    """The same with the sequence planned before under ``previous``, whose lessons need not all be there any more."""
    parts = Parts(read_tree(text, language, limits), source, ("scenario", "previous"), ("record",))
    scenario = recorded_part(parts, source)

    def matched(part: Tree) -> Previous | None:
        rows = _rows(part, source)
        return _matched_before(scenario, rows, part, source) if scenario is not None else None

    previous = parts.read("previous", matched)
    parts.report()
    assert scenario is not None and previous is not None, "whatever cannot be read is reported"
    return scenario, previous


def checked_parts(parts: Parts, source: str, key: str = "sequence") -> tuple[Scenario | None, Sequence | None]:
    """The scenario, with a record where there is one, and the sequence, of a text that holds them; None what cannot be used."""
    scenario = recorded_part(parts, source)

    def judged(part: Tree) -> Sequence | None:
        rows = _rows(part, source)
        return _matched(scenario, rows, part, source) if scenario is not None else None

    return scenario, parts.read(key, judged)


def _sequence(scenario: Scenario, tree: Tree, source: str) -> Sequence:
    return _matched(scenario, _rows(tree, source), tree, source)


def _rows(tree: Tree, source: str) -> GivenSequence:
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


def _matched(scenario: Scenario, given: GivenSequence, tree: Tree, source: str) -> Sequence:
    """The rows matched with the scenario's lessons and periods."""
    return _matching(scenario, given, tree, source, False).sequence()


def _matched_before(scenario: Scenario, given: GivenSequence, tree: Tree, source: str) -> Previous:
    """The same of rows planned before, those of lessons that are gone apart."""
    matching = _matching(scenario, given, tree, source, True)
    return Previous(matching.sequence(), tuple(matching.gone))


def _matching(scenario: Scenario, given: GivenSequence, tree: Tree, source: str, before: bool) -> _Matching:
    matching = _Matching(build_instance(scenario), tree, before)
    for place, row in enumerate(given.lessons):
        matching.add(("lessons", place), row)
    if matching.problems:
        raise UnusableInput(in_file_order(matching.problems, tree.data), source)
    return matching


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


class _Matching:
    """Rows one by one matched with the lessons and periods of an instance; what cannot be is a problem.

    Where they were planned ``before``, lessons that the instance does not have are gone, and no problem; nor is a lesson that was
    taught on another date than planned.
    """

    def __init__(self, instance: Instance, tree: Tree, before: bool) -> None:
        self._before = before
        self.gone: list[Gone] = []
        self._instance = instance
        self._tree = tree
        self._suggestions = Suggestions()
        self._classes = {facts.id: facts for facts in instance.classes}
        self._lessons: dict[str, dict[str, list[LessonFacts]]] = {name: {} for name in self._classes}
        """For each class, lessons by their ids."""
        for lesson in instance.lessons:
            self._lessons[instance.class_of(lesson).id].setdefault(lesson.id, []).append(lesson)
        self.placements: list[Placement] = []
        self.strays: list[Stray] = []
        self.revisits: set[Revisit] = set()
        self.problems: list[Problem] = []

    def add(self, where: Path, row: GivenLesson) -> None:
        """Match one row."""
        if self._before and self._is_gone(row):
            self.gone.append(self._gone(where, row))
            return
        lesson = self._lesson(where, row)
        if lesson is None:
            return
        if row.taught is not None and row.taught not in TAUGHT:
            hint = self._suggestions.hint(row.taught, TAUGHT)
            self._report((*where, "taught"), f"must be one of {', '.join(TAUGHT)} (got {shown(row.taught)}){hint}")
            return
        if lesson.earlier:
            assert lesson.delivered is not None
            if row.date != lesson.delivered.date and not self._before:
                self._report((*where, "date"), f"must be {lesson.delivered.date}, when {lesson.id} was taught (got {row.date})")
            return
        slots = self._instance.slots_for(lesson)
        slot = next((slot for slot in slots if (slot.date, slot.period) == (row.date, row.period)), None)
        if slot is None:
            self.strays.append(Stray(lesson.index, row.date, row.period))
            return
        taught = row.taught or taught_as_fixed(self._instance, lesson, slot.number)
        self.placements.append(Placement(lesson.index, slot.number, taught))
        for place, met in enumerate(row.revisits):
            self._meet((*where, "revisits", place), row.class_, lesson, met)

    def sequence(self) -> Sequence:
        """What was matched."""
        revisits = sorted(self.revisits, key=lambda revisit: (revisit.lesson, revisit.by))
        return Sequence(tuple(self.placements), tuple(self.strays), tuple(revisits))

    def _is_gone(self, row: GivenLesson) -> bool:
        """Whether a row of a class that is there names a lesson that is not."""
        there = self._lessons.get(row.class_)
        return there is not None and not any(row.unit in (None, one.unit) for one in there.get(row.lesson, ()))

    def _gone(self, where: Path, row: GivenLesson) -> Gone:
        rows = self._tree.data["lessons"] if isinstance(self._tree.data, dict) else self._tree.data
        title = rows[where[1]].get("title")
        told = title if isinstance(title, str) and title.strip() else row.lesson
        skipped = self._is_skipped(row.class_, row.unit, row.lesson)
        return Gone(row.class_, row.unit or "", row.lesson, told, row.date, row.period, skipped)

    def _is_skipped(self, class_id: str, unit: str | None, lesson: str) -> bool:
        names = [skipped for index, skipped in self._instance.skipped if self._instance.classes[index].id == class_id]
        return any(name.rpartition("/")[2] == lesson and unit in (None, name.partition("/")[0]) for name in names)

    def _lesson(self, where: Path, row: GivenLesson) -> LessonFacts | None:
        """The lesson that a row names."""
        if row.class_ not in self._classes:
            self._unknown((*where, "class"), row.class_, f"names no class of the scenario: {shown(row.class_)}", self._classes)
            return None
        found = [lesson for lesson in self._lessons[row.class_].get(row.lesson, ()) if row.unit in (None, lesson.unit)]
        if len(found) > 1:
            either = " or ".join(f"unit: {lesson.unit}" for lesson in found)
            self._report((*where, "lesson"), f"can mean more than one lesson of class {row.class_}: write {either}")
        elif not found:
            self._no_lesson((*where, "lesson"), row.class_, row.unit, row.lesson)
        return found[0] if len(found) == 1 else None

    def _no_lesson(self, where: Path, class_id: str, unit: str | None, lesson: str) -> None:
        if self._is_skipped(class_id, unit, lesson):
            self._report(where, f"names a lesson that class {class_id} skipped: {shown(lesson)}")
            return
        known = {
            name: None for name, lessons in self._lessons[class_id].items() if any(unit in (None, one.unit) for one in lessons)
        }
        named = f"{unit}/{lesson}" if unit is not None else lesson
        self._unknown(where, lesson, f"names no lesson of class {class_id}: {shown(named)}", known)

    def _meet(self, where: Path, class_id: str, by: LessonFacts, met: GivenRevisit) -> None:
        """Note that a lesson is met again in another by choice, unless the scenario lists it there."""
        unit = met.unit or by.unit
        lesson = next((one for one in self._lessons[class_id].get(met.lesson, ()) if one.unit == unit), None)
        if lesson is None:
            if not self._before:
                self._no_lesson(where, class_id, unit, met.lesson)
        elif by.index not in lesson.revisited_by:
            self.revisits.add(Revisit(lesson.index, by.index))

    def _unknown(self, where: Path, word: str, what: str, known: Iterable[str]) -> None:
        self._report(where, f"{what}{self._suggestions.hint(word, known)}")

    def _report(self, where: Path, message: str) -> None:
        self.problems.append(self._tree.positions.problem(document_path(where, self._tree.data), message))
