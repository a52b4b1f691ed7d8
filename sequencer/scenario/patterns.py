"""What a pattern makes for a unit: its practice, retrieval, feedback and writing lessons, with ids that stay.

``made_lessons`` works on plain data, so that the checks across entries see the same lessons as the instance: they walk the
document before the schema has accepted it. A lesson that the unit lists under the id of a made one stands in its place.
"""

from __future__ import annotations

from typing import Any, Literal

from sequencer.scenario.base_schema import BaseScenario, Loads
from sequencer.scenario.fields import LessonRef, LessonRefs, MadeIdent
from sequencer.scenario.guards import with_tuples
from sequencer.scenario.parts_schema import NO_OUTLINE, UsualOutline
from sequencer.scenario.pattern_schema import Made, MadeFeedback, MadePractice, MadeRetrieval, MadeWriting
from sequencer.scenario.unit_schema import Lesson, Pattern, Unit

LONGEST_TITLE = 200
MOST_KINDS = 20
"""The schema may not have seen a pattern yet: no more of it than it can allow is looked at for each unit."""


class MadeLesson(Lesson):
    """A lesson that a pattern made.

    ``part`` says which part of the pattern made it: practice, retrieval, writing or feedback. ``made_for`` names the lessons of
    the unit without which it goes; ``follows`` those that it comes after when both are placed. A made retrieval lesson has
    neither: it goes when nothing is met again in it. A practice lesson that its dense lesson describes is that lesson's ``own``.
    """

    id: MadeIdent
    part: Literal["practice", "retrieval", "writing", "feedback"]
    own: bool = False
    made_for: LessonRefs = ()
    follows: tuple[LessonRef, ...] = ()


def lessons_of_units(scenario: BaseScenario) -> dict[str, tuple[Lesson, ...]]:
    """Every unit's lessons by its id, the listed ones first, then those that its pattern makes."""
    if all(unit.pattern is None for unit in scenario.units):
        return {unit.id: unit.lessons for unit in scenario.units}
    stated = scenario.model_dump(mode="json", include={"rules", "classes", "patterns", "units"}, exclude_unset=True)
    further = most_further(stated)
    return {unit.id: _with_made_lessons(scenario, unit, further) for unit in scenario.units}


def _with_made_lessons(scenario: BaseScenario, unit: Unit, further: int) -> tuple[Lesson, ...]:
    pattern = pattern_of(scenario, unit)
    if pattern is None:
        return unit.lessons
    stated = unit.model_dump(mode="json", exclude_unset=True)
    made = made_lessons(stated, pattern.model_dump(mode="json", exclude_unset=True), scenario.loads, further)
    return (*unit.lessons, *(MadeLesson.model_validate(with_tuples(lesson)) for lesson in made))


def pattern_of(scenario: BaseScenario, unit: Unit) -> Pattern | None:
    """The pattern that a unit names; None when it names none."""
    return next((pattern for pattern in scenario.patterns if pattern.id == unit.pattern), None)


def usual_outline(scenario: BaseScenario, unit: Unit, lesson: Lesson) -> UsualOutline:
    """The usual outline of a lesson; an empty one where it has none."""
    pattern = pattern_of(scenario, unit)
    named = lesson.outline or unit.outline or (pattern.outline if pattern is not None else None)
    found = (usual for usual in scenario.usual_outlines if usual.id == named and named != NO_OUTLINE)
    return next(found, UsualOutline(id="none"))


def made_lessons(unit: dict[str, Any], pattern: dict[str, Any], loads: Loads, further: int) -> list[dict[str, Any]]:
    """The lessons that a pattern makes for a unit, as plain data; parts of the wrong type make none.

    ``further`` is how many more times than once a lesson of the scenario is met again, at most.
    """
    listed = [lesson for lesson in _list(unit.get("lessons")) if isinstance(lesson, dict) and isinstance(lesson.get("id"), str)]
    taken = {lesson["id"] for lesson in listed}

    def new(lessons: list[dict[str, Any]]) -> list[dict[str, Any]]:
        return [lesson for lesson in lessons if lesson["id"] not in taken]

    made = new([*_practice(unit.get("id"), listed, pattern, loads), *_retrieval(listed, pattern, loads, further)])
    made += new(_writing(listed, made, pattern, loads))
    return made + new(_feedback(listed, made, pattern, loads))


def most_further(stated: Any) -> int:
    """The longest list of further retrievals that any entry of a scenario's plain data states."""
    if isinstance(stated, dict):
        retrieval = stated.get("retrieval")
        here = len(_list(retrieval.get("then"))) if isinstance(retrieval, dict) else 0
        return max([here, *map(most_further, stated.values())])
    return max(map(most_further, stated), default=0) if isinstance(stated, list | tuple) else 0


def _practice(unit_id: Any, listed: list[dict[str, Any]], pattern: dict[str, Any], loads: Loads) -> list[dict[str, Any]]:
    """One for each dense lesson that no listed lesson practises."""
    usual = pattern.get("practice")
    named = [ref for lesson in listed for ref in _list(lesson.get("practises")) if isinstance(ref, str)]
    practised = {ref.removeprefix(f"{unit_id}/") for ref in named}
    found = []
    for lesson in listed:
        own = lesson.get("practice")
        says = _says(MadePractice, usual) | _says(MadePractice, own)
        if (usual is None and own is None) or not _dense(lesson, loads) or lesson["id"] in practised:
            continue
        title = _title(says, MadePractice).replace("{lesson}", _short(lesson.get("title"), lesson["id"]))
        found.append(
            _made("practice", f"{lesson['id']}-practice", "practice", title, says, loads)
            | {"practises": [lesson["id"]], "made_for": [lesson["id"]], "own": own is not None}
        )
    return found


def _retrieval(listed: list[dict[str, Any]], pattern: dict[str, Any], loads: Loads, further: int) -> list[dict[str, Any]]:
    """As many as could be needed: one for each time that a lesson is to be met again, or the most that is stated."""
    says = pattern.get("retrieval")
    if says is None:
        return []
    says = _says(MadeRetrieval, says)
    teach = [lesson for lesson in listed if lesson.get("kind", "teach") == "teach"]
    needed, most = len(teach) * (1 + further), says.get("most")
    count = min(needed, most) if isinstance(most, int) else needed
    title = _title(says, MadeRetrieval)
    room = says.get("room", 3)
    return [
        _made("retrieval", f"retrieval-{number}", "retrieval", title.replace("{number}", str(number)), says, loads)
        | {"room": room}
        for number in range(1, count + 1)
    ]


def _writing(
    listed: list[dict[str, Any]], made: list[dict[str, Any]], pattern: dict[str, Any], loads: Loads
) -> list[dict[str, Any]]:
    """One after all teach and practice lessons of the unit."""
    if pattern.get("writing") is None:
        return []
    says = {"load": max(loads.least, min(loads.high, loads.most))} | _says(MadeWriting, pattern["writing"])
    kind = "practice" if says.get("kind") == "practice" else "assessment"
    teach = [lesson["id"] for lesson in listed if lesson.get("kind", "teach") == "teach"]
    before = [lesson["id"] for lesson in (*listed, *made) if lesson.get("kind", "teach") in ("teach", "practice")]
    lesson = _made("writing", "writing", kind, _title(says, MadeWriting), says, loads)
    lesson |= {"made_for": teach, "follows": before}
    return [lesson | ({"practises": teach} if kind == "practice" else {})]


def _feedback(
    listed: list[dict[str, Any]], made: list[dict[str, Any]], pattern: dict[str, Any], loads: Loads
) -> list[dict[str, Any]]:
    """One for the unit, on every lesson of the kinds stated."""
    if pattern.get("feedback") is None:
        return []
    says = _says(MadeFeedback, pattern["feedback"])
    kinds = _list(says.get("answers", ["practice", "retrieval"]))[:MOST_KINDS]
    answered = [lesson["id"] for lesson in (*listed, *made) if lesson.get("kind", "teach") in kinds]
    if not answered:
        return []
    lesson = _made("feedback", "feedback", "feedback", _title(says, MadeFeedback), says, loads)
    return [lesson | {"answers": answered, "made_for": answered}]


def _made(part: str, id_: str, kind: str, title: str, says: dict[str, Any], loads: Loads) -> dict[str, Any]:
    load = says.get("load")
    found = {
        "part": part,
        "id": id_,
        "kind": kind,
        "title": title[:LONGEST_TITLE],
        "load": max(loads.least, loads.high - 2) if load is None else load,
    }
    plain = ("length", "tags", "needs", "preparation_minutes", "marking_minutes", "marking_minutes_per_script")
    return found | {key: says[key] for key in plain if says.get(key) is not None}


def _dense(lesson: dict[str, Any], loads: Loads) -> bool:
    load = lesson.get("load", max(loads.least, loads.high - 1))
    return lesson.get("kind", "teach") == "teach" and isinstance(load, int) and load >= loads.high


def _title(says: dict[str, Any], part: type[Made]) -> str:
    return _short(says.get("title"), part.model_fields["title"].default)


def _short(title: Any, usual: str) -> str:
    """A title, cut to its greatest length."""
    return (title if isinstance(title, str) else usual)[:LONGEST_TITLE]


def _says(part: type[Made], written: Any) -> dict[str, Any]:
    """What is written about a part of a pattern, under the keys that it can have."""
    return {key: written[key] for key in part.model_fields if key in written} if isinstance(written, dict) else {}


def _list(value: Any) -> list[Any]:
    if isinstance(value, list):
        return value
    return [] if value is None else [value]
