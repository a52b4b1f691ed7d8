"""The inside of each lesson, settled for how it is taught: versions, minutes of its periods, the narrowest numbers of rules."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.instance.resolve import Resolved, RulesInForce
from sequencer.outlines.inside import CLOSING, CONTENT, MIDDLE, OPENING, Inside, PartFacts
from sequencer.plan.sequence import Laid
from sequencer.scenario.class_schema import ClassLesson
from sequencer.scenario.parts_schema import (
    USUAL_PART_LOAD,
    Exercise,
    ExercisePool,
    LessonPart,
    OutlineRules,
    PartVersion,
    UsualOutline,
)
from sequencer.scenario.patterns import usual_outline
from sequencer.scenario.schema import Scenario
from sequencer.scenario.unit_schema import Lesson, Unit


def insides(laid: Laid, minutes: int | None = None, on: date | None = None) -> list[Inside]:
    """The inside of every lesson of a sequence that has parts and is still to come, class by class in order of time.

    Periods have ``minutes`` instead of those stated, on that day alone where one is given.
    """
    found = []
    for facts in laid.classes:
        latest: dict[str, bool] = {}
        for lesson in laid.in_order(facts.index):
            stated = _stated(laid.instance, lesson) if lesson.delivered is None else None
            has_parts = stated is not None and bool(stated[1].parts)
            if stated is not None and has_parts:
                own = minutes if on in (None, laid.date(lesson.index)) else None
                lasts = lesson_minutes(laid.instance.scenario, laid.slots(lesson.index), lesson.length, own)
                inside = _inside(laid.instance, lesson, *stated, laid.taught(lesson.index), lasts)
                found.append(replace(inside, joined=latest.get(lesson.unit, False)))
            latest[lesson.unit] = has_parts
    return found


def _stated(instance: Instance, lesson: LessonFacts) -> tuple[Unit, Lesson] | None:
    """The unit and lesson of the scenario that a lesson is, or remains of; None for what a pattern made."""
    unit = next((unit for unit in instance.scenario.units if unit.id == lesson.unit), None)
    stated = next((each for each in unit.lessons if each.id in (lesson.id, lesson.role)), None) if unit is not None else None
    if unit is None or stated is None:
        return None
    named, left = ({word for part in parts for word in part.objectives} for parts in (stated.parts, lesson.parts))
    objectives = tuple(each for each in stated.objectives if each.id not in named - left)
    return unit, stated.model_copy(update={"parts": lesson.parts, "objectives": objectives})


def lesson_minutes(scenario: Scenario, slots: tuple[Slot, ...], length: int, minutes: int | None = None) -> int:
    """What the outline of a lesson in these slots may take."""
    bells = _bells(scenario)
    stated = [[lasts for place in slot.restrictions if (lasts := scenario.restricted_days[place].minutes)] for slot in slots]
    if minutes is None and any(stated):
        usual = (bells.get(slot.period, scenario.lesson_minutes) for slot in slots)
        lasts = sum(min(on_day, default=own) for own, on_day in zip(usual, stated, strict=True))
    elif minutes is not None or any(slot.period not in bells for slot in slots):
        lasts = (minutes or scenario.lesson_minutes) * length
    else:
        lasts = sum(bells[slot.period] for slot in slots)
    return max(0, lasts - scenario.change_over - scenario.margin)


def shortest_minutes(scenario: Scenario, unit: Unit, minutes: int | None) -> int:
    """What the outline of a lesson may take in periods of so many minutes, or in the shortest in which a class has the unit."""
    takers = [teaching_class for teaching_class in scenario.classes if unit.id in teaching_class.units]
    weeks = (days for each in takers for timetable in each.timetable for days in timetable.weeks.values())
    used = {entry.period for days in weeks for entries in days.values() for entry in entries}
    stated = _bells(scenario)
    bells = [stated.get(period, scenario.lesson_minutes) for period in used] or [scenario.lesson_minutes]
    ids = {each.id for each in takers}
    bells += [day.minutes for day in scenario.restricted_days if day.minutes and (not day.classes or ids & set(day.classes))]
    lasts = minutes or min(bells)
    return max(0, lasts - scenario.change_over - scenario.margin)


def _bells(scenario: Scenario) -> dict[int, int]:
    """The minutes of each period whose bell times are stated."""
    return {bell.number: _clock(bell.ends) - _clock(bell.starts) for bell in scenario.periods}


def _clock(time: str) -> int:
    hours, _, minutes = time.partition(":")
    return int(hours) * 60 + int(minutes)


def _inside(instance: Instance, facts: LessonFacts, unit: Unit, lesson: Lesson, taught: str, minutes: int) -> Inside:
    teaching_class = instance.scenario.classes[facts.class_index]
    own = teaching_class.lessons.get(facts.ref) or teaching_class.lessons.get(facts.id)
    usual = usual_outline(instance.scenario, unit, lesson)
    rules = outline_rules(instance.scenario, unit, lesson, usual, teaching_class.outline_rules, own)
    inside = settled(instance.scenario, unit, lesson, usual, rules, taught, minutes)
    return replace(inside, lesson=facts.index, class_id=teaching_class.id, ref=facts.ref, title=facts.title)


def outline_rules(
    scenario: Scenario,
    unit: Unit,
    lesson: Lesson,
    usual: UsualOutline,
    of_class: OutlineRules | None = None,
    own: ClassLesson | None = None,
    but: Iterable[str] = (),
) -> RulesInForce:
    """The numbers of a lesson's inside as they hold: the narrowest wins; some rules are off, whatever is stated."""
    own_rules = own.outline_rules if own is not None else None
    levels = (scenario.outline_rules, of_class, usual.outline_rules, unit.outline_rules, lesson.outline_rules, own_rules)
    return Resolved(*levels, keys_of=OutlineRules).in_force(OutlineRules.model_fields, but)


def settled(
    scenario: Scenario, unit: Unit, lesson: Lesson, usual: UsualOutline, rules: RulesInForce, taught: str, minutes: int
) -> Inside:
    """The inside of a lesson of a unit that is taught in this way and may take so many minutes."""
    title = lesson.title or lesson.id
    titles = {each.id: each.title or each.id for each in (*unit.objectives, *lesson.objectives)}
    named = [word for part in lesson.parts for word in part.objectives or _of_title(part, title)]
    listed = list(dict.fromkeys([*(each.id for each in lesson.objectives), *named])) or [title]
    own = [_part(scenario, part, MIDDLE, f"part-{number}", taught, listed, title) for number, part in enumerate(lesson.parts, 1)]
    around = [
        [_part(scenario, part, where, f"{where}-{number}", taught, listed, None) for number, part in enumerate(parts, 1)]
        for where, parts in ((OPENING, usual.opening), (CLOSING, usual.closing))
    ]
    parts = [part for part in (*around[0], *own, *around[1]) if part is not None]
    explained = {word for part in parts if part.content for word in part.objectives}
    meant = {word for part in lesson.parts if part.kind in CONTENT for word in part.objectives or (title,)}
    threads = rules["lesson_threads"] or ()
    pools = {pool.tag for pool in scenario.pools}
    wanted = [
        (thread.tag, thread.least - sum(thread.tag in part.tags and not part.optional for part in parts))
        for thread in threads
        if thread.tag in pools
    ]
    lacking = tuple(word for word in listed if word in meant and word not in explained)
    return Inside(
        lesson=0,
        class_id="",
        ref=f"{unit.id}/{lesson.id}",
        title=title,
        taught=taught,
        minutes=minutes,
        parts=tuple(parts),
        objectives=tuple((word, titles.get(word, word)) for word in listed),
        rules=rules,
        free=lesson.free,
        unexplained=lacking,
        wanted=tuple((tag, number) for tag, number in wanted if number > 0),
    )


def _of_title(part: LessonPart, title: str) -> tuple[str, ...]:
    return () if part.kind in ("preview", "review") else (title,)


def _part(
    scenario: Scenario, part: LessonPart, where: str, usual_id: str, taught: str, listed: list[str], title: str | None
) -> PartFacts | None:
    """A part in its version; None where it has none."""
    version = next((each for way, each in part.versions.items() if way == taught), PartVersion())
    if version.off:
        return None
    minutes = version.minutes or part.minutes
    all_of_them = title is None or part.kind in ("preview", "review")
    load = _load(scenario, part.load)
    return PartFacts(
        id=part.id or usual_id,
        title=part.title,
        kind=part.kind,
        where=where,
        least=minutes.least,
        most=minutes.most,
        load=load,
        heavy=load >= scenario.loads.high,
        objectives=part.objectives or (tuple(listed) if all_of_them else (title or "",)),
        tags=part.tags,
        after=part.after,
        needs=part.needs,
        material=version.material or part.material,
        optional=part.optional,
        priority=part.priority or 1,
        split=part.split,
    )


def _load(scenario: Scenario, stated: int | None) -> int:
    loads = scenario.loads
    return stated if stated is not None else min(max(USUAL_PART_LOAD, loads.least), loads.most)


def exercise_part(scenario: Scenario, inside: Inside, pool: ExercisePool, exercise: Exercise) -> PartFacts | None:
    """An exercise as a part of a lesson; None where it does not suit the lesson."""
    ids = [word for word, _ in inside.objectives]
    suited = [word for word in ids if word in exercise.objectives]
    if (exercise.lessons or exercise.objectives) and not suited and inside.ref not in exercise.lessons:
        return None
    load = _load(scenario, exercise.load)
    return PartFacts(
        id=f"{pool.tag}/{exercise.id}",
        title=exercise.title or exercise.id,
        kind=pool.kind,
        where=MIDDLE,
        least=exercise.minutes.least,
        most=exercise.minutes.most,
        load=load,
        heavy=load >= scenario.loads.high,
        objectives=tuple(suited or ids),
        tags=(pool.tag,),
        exercise=(pool.tag, exercise.id),
    )
