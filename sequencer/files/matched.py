"""A sequence that somebody hands in, or that a scenario's pins are, matched with the scenario's lessons and periods."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from sequencer.errors import Problem, UnusableInput
from sequencer.files.given import GivenLesson, GivenRevisit, csv_tree, given_rows
from sequencer.instance.build import build_instance
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.plan.sequence import Gone, Placement, Previous, Revisit, Sequence, Stray, taught_as_fixed
from sequencer.scenario.documents import Language, in_file_order, read_tree
from sequencer.scenario.guards import plain_tree
from sequencer.scenario.places import Path, Suggestions, Tree, shown
from sequencer.scenario.references.titles import Titles, either_lesson
from sequencer.scenario.schema import Scenario
from sequencer.scenario.wording import document_path
from sequencer.words import TAUGHT


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
    return matched(scenario, _tree(text, language), source).sequence


def sequence_from_data(scenario: Scenario, data: object, source: str = "") -> Sequence:
    """Read a sequence for a scenario from mappings and lists in memory; see ``load_sequence``."""
    return matched(scenario, plain_tree(data), source).sequence


def load_previous(
    scenario: Scenario, text: bytes | str, source: str = "", language: Language | Literal["csv"] = "json"
) -> Previous:
    """The same of a sequence planned before: lessons that the scenario does not have any more are no problem, but told apart.

    Raises
    ------
    UnusableInput
    """
    return matched(scenario, _tree(text, language), source, before=True)


def previous_from_data(scenario: Scenario, data: object, source: str = "") -> Previous:
    """Read a sequence planned before from mappings and lists in memory; see ``load_previous``."""
    return matched(scenario, plain_tree(data), source, before=True)


def _tree(text: bytes | str, language: Language | Literal["csv"]) -> Tree:
    return csv_tree(text) if language == "csv" else read_tree(text, language)


def matched(scenario: Scenario, tree: Tree, source: str, before: bool = False) -> Previous:
    """The rows of a document matched with a scenario; where planned ``before``, those of lessons that are gone stand apart."""
    given = given_rows(tree, source)
    matching = _Matching(build_instance(scenario), tree, before)
    for place, row in enumerate(given.lessons):
        matching.add(("lessons", place), row)
    if matching.problems:
        raise UnusableInput(in_file_order(matching.problems, tree.data), source)
    return Previous(matching.sequence(), tuple(matching.gone))


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
        self._titled: dict[str, Titles] = {}
        self.placements: list[Placement] = []
        self.strays: list[Stray] = []
        self.revisits: set[Revisit] = set()
        self.problems: list[Problem] = []

    def add(self, where: Path, row: GivenLesson) -> None:
        """Match one row."""
        row = row.model_copy(update=self._ids(row.class_, row.unit, row.lesson))
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

    def _titles(self, class_id: str) -> Titles:
        if class_id not in self._titled:
            own = [lesson for lessons in self._lessons[class_id].values() for lesson in lessons]
            units = [(unit.id, unit.title) for unit in self._instance.scenario.units]
            self._titled[class_id] = Titles(units, [((lesson.unit, lesson.id), lesson.title) for lesson in own])
        return self._titled[class_id]

    def _ids(self, class_id: str, unit: str | None, lesson: str) -> dict[str, str]:
        """The ids of a lesson that is named by title; nothing where it is not."""
        there = self._lessons.get(class_id)
        if there is None or any(unit in (None, one.unit) for one in there.get(lesson, ())):
            return {}
        found = self._titles(class_id).lessons(lesson if unit is None else f"{unit}/{lesson}")
        return {"unit": found[0][0], "lesson": found[0][1]} if len(found) == 1 else {}

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
        if either := either_lesson(self._titles(class_id).lessons(named)):
            self._report(where, either)
            return
        self._unknown(where, lesson, f"names no lesson of class {class_id}: {shown(named)}", known)

    def _meet(self, where: Path, class_id: str, by: LessonFacts, met: GivenRevisit) -> None:
        """Note that a lesson is met again in another by choice, unless the scenario lists it there."""
        met = met.model_copy(update=self._ids(class_id, met.unit, met.lesson))
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


# -- pins ----------------------------------------------------------------------------------------------------------------


def pinned_sequence(scenario: Scenario) -> Sequence:
    """The sequence, complete or partial, that the scenario's own pins are.

    A pin without a period counts where the class meets once on its date. One for a period in which the class does not meet is
    kept as it is, for the referee to report.
    """
    instance = build_instance(scenario)
    placements, strays = [], []
    for lesson in instance.lessons:
        wished = lesson.wished_dates
        on, period = (wished.on, wished.period) if wished is not None and wished.on is not None else (lesson.on, lesson.period)
        if on is None or lesson.delivered is not None:
            continue
        slots = [slot for slot in instance.slots_for(lesson) if slot.date == on and period in (None, slot.period)]
        if len(slots) == 1:
            start = slots[0].number
            placements.append(Placement(lesson.index, start, taught_as_fixed(instance, lesson, start)))
        elif period is not None:
            strays.append(Stray(lesson.index, on, period))
    return Sequence(tuple(placements), tuple(strays))
