"""A sequence that somebody hands in, made by hand or by an earlier run, matched with its scenario."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from sequencer.calendar import taught_together
from sequencer.errors import UnusableInput
from sequencer.facts import Instance, LessonFacts
from sequencer.instance import build_instance
from sequencer.scenario.documents import Language, in_file_order, read_tree
from sequencer.scenario.fields import ClassId, Day, Ident, PeriodNumber
from sequencer.scenario.guards import plain_tree
from sequencer.scenario.load import scenario_from_tree
from sequencer.scenario.parts import Parts
from sequencer.scenario.places import Suggestions, Tree, shown
from sequencer.scenario.schema import Scenario
from sequencer.scenario.wording import schema_problem
from sequencer.sequence import Placement, Sequence, Stray
from sequencer.words import LIVE, OPEN, SET_WORK, TAUGHT


class GivenLesson(BaseModel):
    """One row: which lesson of which class is on which date in which period. Other keys of an answer are ignored."""

    model_config = ConfigDict(extra="ignore", frozen=True, strict=True)

    class_: ClassId = Field(alias="class", description="The class.")
    unit: Ident | None = Field(None, description="The unit; may be left out where the lesson's id is unique in the class.")
    lesson: Ident = Field(description="The lesson's id.")
    date: Day = Field(description="Date of its first period.")
    period: PeriodNumber = Field(description="Its first period.")
    taught: str | None = Field(
        None, description="in class, live or set work; what the period fixes unless stated, set work where it is open."
    )


class GivenSequence(BaseModel):
    """A sequence as it is handed in: the `lessons` of an answer, or rows of the same form."""

    model_config = ConfigDict(extra="ignore", frozen=True, strict=True)

    lessons: Annotated[tuple[GivenLesson, ...], Field(max_length=20000)] = Field(description="The lessons with their dates.")


def load_sequence(scenario: Scenario, text: bytes | str, source: str = "", language: Language = "json") -> Sequence:
    """Read a sequence for a scenario from JSON or YAML text.

    Raises
    ------
    UnusableInput
        With every problem found: what is not of the right form, and classes and lessons that the scenario does not know. A
        period in which the class does not meet is no problem here: the referee reports it.
    """
    return _sequence(scenario, read_tree(text, language), source)


def sequence_from_data(scenario: Scenario, data: object, source: str = "") -> Sequence:
    """Read a sequence for a scenario from mappings and lists in memory; see ``load_sequence``."""
    return _sequence(scenario, plain_tree(data), source)


def load_check(text: bytes | str, source: str = "", language: Language = "json") -> tuple[Scenario, Sequence]:
    """Read a scenario and a sequence for it from one text: a mapping with the keys ``scenario`` and ``sequence``.

    Raises
    ------
    UnusableInput
        With every problem found in either, at its place in the whole text. Whether the scenario knows the sequence's classes
        and lessons can only be said of a scenario that can be used.
    """
    parts = Parts(text, source, language, ("scenario", "sequence"))
    scenario = parts.read("scenario", lambda part: scenario_from_tree(part, source))

    def judged(part: Tree) -> Sequence | None:
        rows = _rows(part, source)
        return _matched(scenario, rows, part, source) if scenario is not None else None

    sequence = parts.read("sequence", judged)
    parts.report()
    assert scenario is not None and sequence is not None, "whatever cannot be read is reported"
    return scenario, sequence


def _sequence(scenario: Scenario, tree: Tree, source: str) -> Sequence:
    return _matched(scenario, _rows(tree, source), tree, source)


def _rows(tree: Tree, source: str) -> GivenSequence:
    """The sequence as it was written, if it is of the right form."""
    problems = list(tree.problems)
    given = None
    if not tree.cut_short:
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
    problems = []
    instance = build_instance(scenario)
    placements, strays = [], []
    for place, row in enumerate(given.lessons):
        where = ("lessons", place)
        lesson = _find(instance, row)
        if isinstance(lesson, str):
            problems.append(tree.positions.problem(where, lesson))
            continue
        if row.taught is not None and row.taught not in TAUGHT:
            problems.append(
                tree.positions.problem((*where, "taught"), f"must be one of {', '.join(TAUGHT)} (got {shown(row.taught)})")
            )
            continue
        slots = instance.slots_for(lesson)
        slot = next((slot for slot in slots if (slot.date, slot.period) == (row.date, row.period)), None)
        if slot is None:
            strays.append(Stray(lesson.index, row.date, row.period))
        else:
            taught = row.taught or _taught(instance, lesson, slot.number)
            placements.append(Placement(lesson.index, slot.number, taught))
    if problems:
        raise UnusableInput(in_file_order(problems, tree.data), source)
    return Sequence(tuple(placements), tuple(strays))


def _only_lessons(data: Any) -> Any:
    """The rows as tuples, as frozen models hold them."""
    if isinstance(data, dict) and isinstance(data.get("lessons"), list):
        return {"lessons": tuple(data["lessons"])}
    return data


def _find(instance: Instance, row: GivenLesson) -> LessonFacts | str:
    owner = next((facts for facts in instance.classes if facts.id == row.class_), None)
    if owner is None:
        return f"names a class that the scenario does not have: {row.class_}"
    found = [
        instance.lessons[index]
        for index in owner.lessons
        if instance.lessons[index].id == row.lesson and row.unit in (None, instance.lessons[index].unit)
    ]
    name = row.lesson if row.unit is None else f"{row.unit}/{row.lesson}"
    if not found:
        return f"names a lesson that class {owner.id} does not have: {name}"
    if len(found) > 1:
        units = " and ".join(lesson.unit for lesson in found)
        return f"names a lesson that stands in several units ({units}): say which with `unit`"
    return found[0]


def _taught(instance: Instance, lesson: LessonFacts, start: int) -> str:
    together = taught_together(instance.slots_for(lesson)[start : start + lesson.length])
    if together == OPEN or together is None:
        return LIVE if lesson.live == "demand" else SET_WORK
    return together
