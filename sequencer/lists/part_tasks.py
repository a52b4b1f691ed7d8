"""The tasks that the parts of lessons set: their material is made ready, booked and uploaded, as that of whole lessons is.

What several classes use, or several lessons where it stands in a usual outline, is prepared once, for the earliest of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sequencer.instance.facts import LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.scenario.parts_schema import USUAL_PART_LOAD, LessonPart, PartVersion
from sequencer.scenario.patterns import usual_outline
from sequencer.scenario.preparing_schema import READY, Prepare
from sequencer.words import SET_WORK


@dataclass(frozen=True)
class PartUsed:
    """A part as lessons have it that are taught alike: what it is called, its material, and those lessons in order of time.

    ``material`` is None where a heavy part of set work has none, which is to be made. It is ``prepared`` where a lesson that has
    it was delivered.
    """

    title: str
    material: Prepare | None
    lessons: tuple[LessonFacts, ...]
    prepared: bool


def parts_used(laid: Laid, lessons: Iterable[LessonFacts]) -> list[PartUsed]:
    """The parts of lessons that have material, or lack what set work wants."""
    found: dict[tuple[str, str, str], list[tuple[LessonPart, Prepare | None, LessonFacts]]] = {}
    for lesson in sorted(lessons, key=lambda each: (laid.date(each.index), laid.first_slot(each.index).period)):
        for name, part in _parts(laid, lesson):
            taught = laid.taught(lesson.index)
            version = next((each for way, each in part.versions.items() if way == taught), PartVersion())
            material = version.material or part.material
            if version.off or (material is None and not (taught == SET_WORK and _is_heavy(laid, part))):
                continue
            said = material.model_dump_json() if material is not None else ""
            found.setdefault((*name, said), []).append((part, material, lesson))
    return [
        PartUsed(group[0][0].title, group[0][1], tuple(each[2] for each in group), any(each[2].delivered for each in group))
        for group in found.values()
    ]


def to_be_prepared(used: PartUsed) -> bool:
    """Whether something is left to be done for it."""
    return not used.prepared and (used.material is None or used.material.status != READY)


def _parts(laid: Laid, lesson: LessonFacts) -> Iterator[tuple[tuple[str, str], LessonPart]]:
    """The parts of a lesson and of its usual outline, each with what tells it from others."""
    scenario = laid.instance.scenario
    unit = next((unit for unit in scenario.units if unit.id == lesson.unit), None)
    stated = next((each for each in unit.lessons if each.id == lesson.role), None) if unit is not None else None
    if unit is None or stated is None or not lesson.parts:
        return
    usual = usual_outline(scenario, unit, stated)
    for number, part in enumerate(lesson.parts, 1):
        yield (f"{lesson.unit}/{lesson.role}", part.id or f"part-{number}"), part
    for where, parts in (("opening", usual.opening), ("closing", usual.closing)):
        for number, part in enumerate(parts, 1):
            yield (usual.id, f"{where} {number}"), part


def _is_heavy(laid: Laid, part: LessonPart) -> bool:
    loads = laid.instance.scenario.loads
    return (part.load if part.load is not None else min(max(USUAL_PART_LOAD, loads.least), loads.most)) >= loads.high
