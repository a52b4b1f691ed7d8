"""Which lessons come after which, and which assessments after the practice of which dense lessons."""

from __future__ import annotations

from collections.abc import Iterable

from sequencer.instance.facts import Follows, LessonFacts
from sequencer.instance.listing import Finder, ListedLesson
from sequencer.scenario.class_schema import TeachingClass
from sequencer.scenario.patterns import MadeLesson
from sequencer.scenario.unit_schema import Unit


def orders(listed: list[ListedLesson], facts: list[LessonFacts], find: Finder) -> Iterable[Follows]:
    """What a lesson requires, the order of its unit, and what it serves; what remains of a lesson comes after it."""
    earlier: dict[str, list[tuple[int, bool]]] = {}  # teach lessons so far, and whether they carry the order of those before
    for each, lesson in zip(listed, facts, strict=True):
        held = each.rules.on("prerequisites")
        before = earlier.setdefault(each.unit.id, [])
        if each.replaces:
            yield Follows(find.index_of[each.unit.id, each.replaces[-1]], lesson.index, "goes on with")
        if held:
            for requirement in each.lesson.requires:
                index = find(requirement.lesson, each.unit.id)
                if index is not None and index != lesson.index:
                    yield Follows(index, lesson.index, "requires", requirement)
            if each.unit.in_order and lesson.kind == "teach":
                for index, carries in reversed(before):
                    yield Follows(index, lesson.index, "in order")
                    if carries:
                        break
        named = {
            "practises": each.lesson.practises,
            "revisits": (*each.lesson.revisits, *each.lesson.starter),
            "answers": each.lesson.answers,
        }
        if lesson.made:
            named["at the end"] = each.lesson.follows if isinstance(each.lesson, MadeLesson) else ()
        for because, refs in named.items():
            for index in find.all(refs, each.unit.id) if not each.replaced else ():
                yield Follows(index, lesson.index, because)
        if lesson.kind == "teach":
            before.append((lesson.index, held and lesson.certain and lesson.delivered is None))


def assessed(lessons: list[LessonFacts], follows: list[Follows]) -> Iterable[tuple[int, int]]:
    """Each assessment with the dense lessons that it requires, itself or through others: by name, or by their unit's order."""
    before: dict[int, list[int]] = {}
    for each in follows:
        if each.because in ("requires", "in order"):
            before.setdefault(each.after, []).append(each.before)
    for assessment in (lesson for lesson in lessons if lesson.rules["practice_before_assessment"] is not None):
        required: set[int] = set()
        waiting = [assessment.index]
        while waiting:
            new = [index for index in before.get(waiting.pop(), ()) if index not in required]
            required.update(new)
            waiting += new
        yield from ((assessment.index, index) for index in sorted(required) if lessons[index].practice is not None)


def orders_after_units(
    unit: Unit, teaching_class: TeachingClass, listed: list[ListedLesson], facts: list[LessonFacts]
) -> Iterable[Follows]:
    """The teach lessons of a unit come after those of the units that it follows."""
    for earlier_unit in unit.after:
        if earlier_unit not in teaching_class.units:
            continue
        for each, lesson in zip(listed, facts, strict=True):
            if lesson.unit != unit.id or lesson.kind != "teach" or not each.rules.on("prerequisites"):
                continue
            for other in facts:
                if other.unit == earlier_unit and other.kind == "teach":
                    yield Follows(other.index, lesson.index, "unit after unit")
