"""Statements about lessons: that they have to be taught, their order, dates, length, needs, and what they serve."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sequencer.instance.facts import Instance, LessonFacts
from sequencer.instance.naming import named
from sequencer.questions.explaining.spread_out import own_key
from sequencer.questions.explaining.statement import Statement
from sequencer.scenario.changes.edits import Edit
from sequencer.scenario.class_schema import ClassLesson
from sequencer.scenario.places import Path
from sequencer.scenario.rules_schema import PracticeAfterDense, Retrieval
from sequencer.scenario.schema import Scenario
from sequencer.scenario.unit_schema import Lesson, Requirement, Unit
from sequencer.words import count_text, day_text

WINDOWS = (
    ("least_days", "at least {} later", "day"),
    ("most_days", "at most {} later", "day"),
    ("least_slots", "at least {} after it ends", "period"),
    ("most_slots", "at most {} after it ends", "period"),
    ("least_weeks", "at least {} later", "school week"),
    ("most_weeks", "at most {} later", "school week"),
)
"""The numbers of a window on top of a prerequisite, and how they are said."""

SERVING = (
    ("practises", "practises"),
    ("revisits", "meets again"),
    ("starter", "meets again in its starter"),
    ("answers", "answers"),
)
"""What a lesson may do for others, and how it is said."""

DATES = ("not_before", "not_after", "on", "period", "report_deadline")


def lesson_statements(scenario: Scenario, instance: Instance) -> Iterator[Statement]:
    """Everything that is said of lessons one by one, unit by unit."""
    taken = _Taken(instance)
    for place, unit in enumerate(scenario.units):
        if not taken.units.get(unit.id):
            continue
        yield from _of_unit(unit, place, taken)
        for number, lesson in enumerate(unit.lessons):
            facts = taken.of(unit, lesson)
            if facts:
                path = ("units", place, "lessons", number)
                yield from _of_lesson(unit, lesson, path, facts)
                yield from _order(scenario, instance, unit, lesson, path, facts)
    for lesson_facts in instance.lessons:
        if not lesson_facts.earlier and lesson_facts.delivered is None:
            yield from _of_class(scenario, instance, lesson_facts)
    yield from _made(scenario, instance)


class _Taken:
    """The lessons of an instance by unit and listed id; what remains of a lesson counts as that lesson."""

    def __init__(self, instance: Instance) -> None:
        self.units: dict[str, list[LessonFacts]] = {}
        for lesson in instance.lessons:
            self.units.setdefault(lesson.unit, []).append(lesson)

    def of(self, unit: Unit, lesson: Lesson) -> list[LessonFacts]:
        """The lesson in every class that is still to have it."""
        return [facts for facts in self.units[unit.id] if facts.role == lesson.id and facts.delivered is None]


def _indices(lessons: list[LessonFacts]) -> dict[str, tuple[int, ...]]:
    return {
        "lessons": tuple(lesson.index for lesson in lessons),
        "classes": tuple(dict.fromkeys(lesson.class_index for lesson in lessons)),
    }


def _of_unit(unit: Unit, place: int, taken: _Taken) -> Iterator[Statement]:
    lessons = [lesson for lesson in taken.units[unit.id] if lesson.kind == "teach"]
    title = f'unit "{unit.title}" ({unit.id})' if unit.title else f"unit {unit.id}"
    if unit.in_order:
        path: Path = ("units", place, "in_order")
        yield Statement(
            "in order", (unit.id,), path, f"the new lessons of {title} are taught in the order listed", (Edit(path, False),),
            **_indices(lessons),
        )  # fmt: skip
    for number, earlier in enumerate(unit.after):
        path = ("units", place, "after", number)
        others = [lesson for lesson in taken.units.get(earlier, ()) if lesson.kind == "teach"]
        yield Statement(
            "unit after unit", (unit.id, earlier), path, f"{title} comes after unit {earlier}", (Edit(path),),
            **_indices([*lessons, *others]),
        )  # fmt: skip
    for number, strand in enumerate(unit.strands):
        path = ("units", place, "strands", number)
        tagged = [lesson for lesson in taken.units[unit.id] if strand.tag in lesson.tags]
        yield Statement(
            "strand", (unit.id, strand.tag), path, f"{strand.teacher} teaches what is tagged {strand.tag} in {title}",
            (Edit(path),), **_indices(tagged),
        )  # fmt: skip


def _of_lesson(unit: Unit, lesson: Lesson, path: Path, facts: list[LessonFacts]) -> Iterator[Statement]:
    """What a unit says of one of its lessons for every class."""
    name, about, concerned = named(facts[:1]), (unit.id, lesson.id), _indices(facts)
    if lesson.length > 1:
        here = (*path, "length")
        yield Statement(
            "length", about, here, f"{name} takes {lesson.length} periods one after the other", (Edit(here, 1),), **concerned
        )
    for number, need in enumerate(lesson.needs):
        if any(need in each.needs for each in facts):
            here = (*path, "needs", number)
            yield Statement("need", (*about, need), here, f"{name} needs {need}", (Edit(here),), **concerned)
    if lesson.teacher is not None:
        here = (*path, "teacher")
        yield Statement("teacher", about, here, f"{name} is taught by {lesson.teacher}", (Edit(here),), **concerned)
    yield from _dates(lesson, path, ("", *about), name, concerned, facts)


def _dates(
    stated: Lesson | ClassLesson,
    path: Path,
    about: tuple[str, ...],
    name: str,
    concerned: dict[str, Any],
    facts: list[LessonFacts],
) -> Iterator[Statement]:
    """Dates, pins, deadlines and live demands, of a unit for every class or of one class."""
    said = {
        "not_before": "{name} must not come before {day}",
        "not_after": "{name} must not come after {day}",
        "on": "{name} must be on {day}",
        "report_deadline": "{name} must be marked before reports are due on {day}",
    }
    for field in DATES:
        value = getattr(stated, field)
        if value is None or all(getattr(each, field) is None for each in facts):
            continue
        here = (*path, field)
        if field == "period":
            yield Statement("period", about, here, f"{name} is pinned to period {value}", (Edit(here),), **concerned)
            continue
        edits = (Edit(here), Edit((*path, "period"))) if field == "on" else (Edit(here),)
        yield Statement(
            field.replace("_", " "), about, here, said[field].format(name=name, day=day_text(value)), edits, **concerned
        )
    if stated.live in ("demand", "refuse"):
        here = (*path, "live")
        must = "must be taught live where the class is remote" if stated.live == "demand" else "must not be taught live"
        yield Statement("live", about, here, f"{name} {must}", (Edit(here),), **concerned)


def _order(
    scenario: Scenario, instance: Instance, unit: Unit, lesson: Lesson, path: Path, facts: list[LessonFacts]
) -> Iterator[Statement]:
    """What a lesson must come after: what it requires, practises, meets again or answers."""
    held = {id(follows.window) for follows in instance.follows}
    name = named(facts[:1])
    for number, requirement in enumerate(lesson.requires):
        if id(requirement) in held:
            yield from _requirement(instance, unit, lesson, requirement, (*path, "requires", number), facts, name)
    for field, says in SERVING:
        for number, ref in enumerate(getattr(lesson, field)):
            others = _found(instance, unit, ref, facts)
            if others:
                here = (*path, field, number)
                # Without the practice or retrieval lesson itself, what it serves is not to be practised or met again either.
                unserved = () if field == "answers" else tuple(_off(scenario, other, field) for other in others)
                text = f"{name} {says} {named(others[:1])}, so it comes after it"
                about = (unit.id, lesson.id, ref)
                yield Statement(field, about, here, text, (Edit(here), *unserved), **_indices([*facts, *others]))


def _off(scenario: Scenario, lesson: LessonFacts, field: str) -> Edit:
    name, off = (
        ("practice_after_dense", PracticeAfterDense(off=True)) if field == "practises" else ("retrieval", Retrieval(off=True))
    )
    return Edit((*rules_path(scenario, lesson), name), off)


def rules_path(scenario: Scenario, lesson: LessonFacts) -> Path:
    """Where the narrowest rules of a lesson of one class stand in the spread-out scenario."""
    if not lesson.before_term:
        return ("classes", lesson.class_index, "lessons", own_key(lesson), "rules")
    topics = scenario.classes[lesson.class_index].taught_before
    return (
        "classes",
        lesson.class_index,
        "taught_before",
        next(n for n, topic in enumerate(topics) if topic.id == lesson.id),
        "rules",
    )


def _found(instance: Instance, unit: Unit, ref: str, facts: list[LessonFacts]) -> list[LessonFacts]:
    owner, _, name = ref.rpartition("/")
    classes = {lesson.class_index for lesson in facts}
    return [
        lesson
        for lesson in instance.lessons
        if lesson.class_index in classes and (lesson.unit, lesson.role) == (owner or unit.id, name)
    ]


def _requirement(
    instance: Instance, unit: Unit, lesson: Lesson, requirement: Requirement, path: Path, facts: list[LessonFacts], name: str
) -> Iterator[Statement]:
    others = _found(instance, unit, requirement.lesson, facts)
    if not others:
        return
    concerned = _indices([*facts, *others])
    about = (unit.id, lesson.id, requirement.lesson)
    first = named(others[:1])
    yield Statement("requires", about, path, f"{name} comes after {first}, which it requires", (Edit(path),), **concerned)
    for field, says, word in WINDOWS:
        number = getattr(requirement, field)
        if number is not None and not requirement.wish:
            text = f"{name} comes {says.format(count_text(number, word))} than {first}".replace("ends than", "ends:")
            here = (*path, field)
            yield Statement("window", (*about, field), here, text, (Edit(here, None),), **concerned)


def _of_class(scenario: Scenario, instance: Instance, lesson: LessonFacts) -> Iterator[Statement]:
    """What holds for one lesson of one class: that it has to be taught, and what the class says of it."""
    owner = instance.class_of(lesson)
    key = own_key(lesson)
    spread: Path = ("classes", lesson.class_index, "lessons", key)
    concerned = _indices([lesson])
    if lesson.certain:
        text = f"{owner.name}: {named((lesson,))} has to be taught"
        yield Statement(
            "lesson", (owner.id, key), _pointer_path(lesson.pointer), text, (Edit((*spread, "optional"), True),), **concerned
        )
    own = scenario.classes[lesson.class_index].lessons
    stated = next((ref for ref in (key, lesson.role) if ref in own), None)
    if stated is not None:
        name = f"{owner.name}: {named((lesson,))}"
        for statement in _dates(own[stated], spread, (owner.id, lesson.unit, lesson.role), name, concerned, [lesson]):
            written: Path = ("classes", lesson.class_index, "lessons", stated, statement.path[-1])
            yield Statement(
                statement.kind, statement.about, written, statement.text, statement.edits, statement.lessons, statement.classes
            )


def _pointer_path(pointer: str) -> Path:
    parts = [part.replace("~1", "/").replace("~0", "~") for part in pointer.split("/")[1:]]
    return tuple(int(part) if part.isdigit() else part for part in parts)


def _made(scenario: Scenario, instance: Instance) -> Iterator[Statement]:
    """Feedback and writing that patterns make once for a unit."""
    for number, pattern in enumerate(scenario.patterns):
        for part in ("writing", "feedback"):
            if getattr(pattern, part) is None:
                continue
            units = {unit.id for unit in scenario.units if unit.pattern == pattern.id}
            made = [
                lesson for lesson in instance.lessons if lesson.unit in units and lesson.made == part and not lesson.delivered
            ]
            if made:
                path = ("patterns", number, part)
                what = "exam-style writing is" if part == "writing" else "a feedback lesson is"
                text = f"{what} made for {', '.join(dict.fromkeys(lesson.unit for lesson in made))}: {named(made[:1])}"
                yield Statement("made", (pattern.id, part), path, text, (Edit(path, None),), **_indices(made))
