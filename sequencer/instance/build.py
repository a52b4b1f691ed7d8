"""Scenario and calendar, turned into frozen, integer-indexed facts.

Dates, lookups and "the narrowest wins" are settled here once, so that the referee and the model read plain numbers. No rule is
judged here: what a number means is the business of ``rules``.
"""

from __future__ import annotations

from sequencer.instance.calendar import Slot, slots_of
from sequencer.instance.exam_distances import days_before, distance_before
from sequencer.instance.facts import (
    ClassFacts,
    CohortFacts,
    Follows,
    Instance,
    LessonFacts,
    RetrievalNumbers,
    SetHomework,
    SharedFacts,
    SubjectFacts,
    TeacherFacts,
    WishedDates,
)
from sequencer.instance.listing import Finder, ListedLesson, listed_lessons
from sequencer.instance.live_counts import live_counts
from sequencer.instance.orders import assessed, orders, orders_after_units
from sequencer.instance.resolve import Resolved
from sequencer.scenario.class_schema import ClassLesson, TeachingClass
from sequencer.scenario.patterns import MadeLesson, lessons_of_units, pattern_of
from sequencer.scenario.preparing_schema import READY
from sequencer.scenario.rules_schema import ClassRules, CohortRules, LessonRules
from sequencer.scenario.schema import Scenario
from sequencer.scenario.school_weeks import school_calendar
from sequencer.scenario.unit_schema import Lesson, Unit
from sequencer.words import AIMS, EVEN_WEEK, MADE_LESSONS


def build_instance(scenario: Scenario) -> Instance:
    """Settle a scenario into facts.

    The scenario has passed ``references.py``: ids are known and unique, windows are not empty, prerequisites have no circle.
    """
    calendar = school_calendar(scenario)
    units = {unit.id: unit for unit in scenario.units}
    of_units = lessons_of_units(scenario)
    shared_names = {thing.name: thing for thing in scenario.shared}

    lessons: list[LessonFacts] = []
    classes: list[ClassFacts] = []
    follows: list[Follows] = []
    skipped: list[tuple[int, str]] = []
    users: dict[str, list[int]] = {name: [] for name in shared_names}

    for class_index, teaching_class in enumerate(scenario.classes):
        slots = slots_of(scenario, calendar, teaching_class)
        listed, left = listed_lessons(scenario, class_index, slots, of_units)
        skipped += [(class_index, f"{unit.id}/{lesson.id}") for unit, lesson in left]
        find = Finder(listed, len(lessons))
        mentions = _Mentions(listed, left, find)
        before_exam = days_before(listed, slots, scenario.today, teaching_class.exam_date)
        own_facts = [
            _lesson_facts(scenario, each, find, mentions, class_index, days)
            for each, days in zip(listed, before_exam, strict=True)
        ]
        for facts in own_facts:
            for name in facts.needs:
                if name in users:
                    users[name].append(facts.index)
        lessons += own_facts
        follows += orders(listed, own_facts, find)
        for unit_id in teaching_class.units:
            follows += orders_after_units(units[unit_id], teaching_class, listed, own_facts)
        classes.append(_class_facts(scenario, teaching_class, class_index, slots, own_facts))

    return Instance(
        scenario=scenario,
        calendar=calendar,
        classes=tuple(classes),
        lessons=tuple(lessons),
        follows=tuple(follows),
        shared=tuple(SharedFacts(name, thing.capacity, tuple(users[name])) for name, thing in shared_names.items()),
        portable=frozenset(name for name, thing in shared_names.items() if not thing.only_where_offered),
        teachers=_teachers(scenario, tuple(classes), lessons),
        parallels=_parallels(tuple(lessons)),
        live_counts=live_counts(scenario, tuple(classes)),
        restricted_days=scenario.restricted_days,
        skipped=tuple(skipped),
        assessed=tuple(assessed(lessons, follows)),
        cohorts=_cohorts(scenario),
        aims=scenario.aims if scenario.aims is not None else usual_aims(scenario),
    )


def usual_aims(scenario: Scenario) -> tuple[str, ...]:
    """What is made small where the scenario does not say."""
    makes = any(unit.pattern is not None for unit in scenario.units)
    return tuple(aim for aim in AIMS if aim != EVEN_WEEK and (makes or aim != MADE_LESSONS))


class _Mentions:
    """Which lessons of a class name which, under the keys by which lessons serve others."""

    def __init__(self, listed: list[ListedLesson], skipped: list[tuple[Unit, Lesson]], find: Finder) -> None:
        self.practised_by: dict[int, list[int]] = {}
        self.revisited_by: dict[int, list[int]] = {}
        self._delivered = {find.index_of[each.key] for each in listed if each.delivered is not None}
        self._practice_skipped = {index for unit, lesson in skipped for index in find.all(lesson.practises, unit.id)}
        for each in listed:
            here = find.index_of[each.key]
            for index in find.all(each.lesson.practises, each.unit.id):
                self.practised_by.setdefault(index, []).append(here)
            # What a lesson that another has replaced still meets again is met in that one; what it has met, it has.
            listed_here = () if each.replaced else (*each.lesson.revisits, *each.lesson.starter)
            for index in find.all((*listed_here, *each.revisits), each.unit.id):
                self.revisited_by.setdefault(index, []).append(here)
        self._by_name = {index: tuple(by) for index, by in self.practised_by.items()}
        self._share_made_practice(listed, find)

    def _share_made_practice(self, listed: list[ListedLesson], find: Finder) -> None:
        """A made practice lesson may serve every lesson of its unit for which one is made, those with their own aside."""
        made: dict[str, list[tuple[int, int]]] = {}
        for each in listed:
            if isinstance(each.lesson, MadeLesson) and each.lesson.part == "practice" and not each.lesson.own:
                for index in find.all(each.lesson.practises, each.unit.id):
                    made.setdefault(each.unit.id, []).append((index, find.index_of[each.key]))
        for pairs in made.values():
            for index, _ in pairs:
                self.practised_by[index] += [other for _, other in pairs]

    def practices(self, index: int) -> tuple[int, ...]:
        """The lessons that may practise one."""
        return tuple(dict.fromkeys(self.practised_by.get(index, ())))

    def practice_is_spent(self, index: int) -> bool:
        """Whether what practises a lesson by name was skipped or, before the lesson itself, delivered."""
        by = self._by_name.get(index, ())
        if index in self._delivered:
            return not by and index in self._practice_skipped
        return bool(by or index in self._practice_skipped) and self._delivered.issuperset(by)

    def revisits_are_spent(self, index: int) -> bool:
        """Whether all lessons that list one as met again were delivered before it."""
        return index not in self._delivered and self._delivered.issuperset(self.revisited_by.get(index, ()))

    def revisits(self, index: int) -> tuple[int, ...]:
        """The lessons that list one as met again."""
        return tuple(dict.fromkeys(self.revisited_by.get(index, ())))


def _lesson_facts(
    scenario: Scenario, each: ListedLesson, find: Finder, mentions: _Mentions, class_index: int, before_exam: int | None
) -> LessonFacts:
    lesson, unit, own, rules = each.lesson, each.unit, each.own, each.rules
    index = find.index_of[each.key]
    loads = scenario.loads
    load = lesson.load if lesson.load is not None else max(loads.least, loads.high - 1)
    high_load = load >= loads.high
    dense = high_load and lesson.kind == "teach"
    serves_itself = not each.replaced
    still_open = each.delivered is None
    earlier = each.delivered is not None and each.delivered.slot is None

    practice = rules.numbers("practice_after_dense") if dense and serves_itself else None
    by_homework = practice.homework if practice is not None else None
    homework = (lesson.homework if serves_itself else None) or by_homework
    says_nothing = [
        key
        for key, says in (
            ("in_step", serves_itself),
            ("consecutive_high_load", high_load),
            ("practice_before_assessment", serves_itself and lesson.kind == "assessment"),
            # Rules in slots say nothing of what was taught before the first one.
            (
                "practice_after_dense",
                not (practice is None or by_homework or earlier or mentions.practice_is_spent(index)),
            ),
        )
        if not says
    ]
    revisited_by = mentions.revisits(index)
    chosen = bool(_chosen(scenario, each))
    met_again = chosen or (revisited_by and not mentions.revisits_are_spent(index))
    retrieved = lesson.kind == "teach" and serves_itself and met_again and rules.on("retrieval")
    made = lesson if isinstance(lesson, MadeLesson) and not each.replaces else None  # what remains of it must be taught
    listed_here = len(find.all(lesson.revisits, unit.id)), len(find.all(lesson.starter, unit.id))
    room = max(0, (lesson.room or 0) - listed_here[0]) if still_open else 0
    numbers = rules.numbers("starters") if still_open else None
    starters = numbers.most or 0 if numbers is not None else 0
    exam_distance = None
    if retrieved and before_exam is not None and rules.number("retrieval", "preferred") is None:
        exam_distance = distance_before(before_exam)
    placed = rules.on("place")
    dates = _dates(rules, lesson, own)
    wished = dates is not None and dates.wish
    hard = dates if dates is not None and not wished else None
    return LessonFacts(
        index=index,
        class_index=class_index,
        unit=unit.id,
        id=lesson.id,
        role=each.replaces[0] if each.replaces else lesson.id,
        title=lesson.title or lesson.id,
        kind=lesson.kind,
        load=load,
        length=lesson.length,
        tags=lesson.tags,
        high_load=high_load,
        dense=dense,
        live=own.live or lesson.live,
        optional=lesson.optional if own.optional is None else own.optional,
        priority=lesson.priority or 1,
        homework=SetHomework(
            homework.title.replace("{lesson}", lesson.title or lesson.id), homework.due_days, homework.minutes, bool(by_homework)
        )
        if homework is not None
        else None,
        practised_by=mentions.practices(index),
        retrievals=_retrievals(rules, exam_distance) if retrieved else (),
        chosen=chosen,
        revisited_by=revisited_by,
        starter=find.all(lesson.starter, unit.id),
        room=room,
        starter_room=max(0, starters - listed_here[1]),
        made=made.part if made is not None else None,
        made_for=find.all(made.made_for, unit.id) if made is not None else (),
        delivered=each.delivered,
        answers=find.all(lesson.answers, unit.id) if serves_itself else (),
        not_before=hard.not_before if hard else None,
        not_after=hard.not_after if hard else None,
        on=hard.on if hard else None,
        on_gone=bool(hard and hard.on and scenario.today and hard.on < scenario.today),
        period=hard.period if hard else None,
        report_deadline=(own.report_deadline or lesson.report_deadline) if rules.on("dates") else None,
        needs=lesson.needs if placed else (),
        restricted=placed,
        teacher=lesson.teacher or next((strand.teacher for strand in unit.strands if strand.tag in lesson.tags), None),
        wished_dates=dates if wished else None,
        rules=rules.in_force(LessonRules.model_fields, but=says_nothing),
        preparation_minutes=_preparation(lesson),
        marking_minutes=lesson.marking_minutes + lesson.marking_minutes_per_script * (scenario.classes[class_index].size or 0),
        pointer=each.pointer,
        exam_distance=exam_distance,
        prepare=lesson.prepare,
        parts=lesson.parts,
        covers=lesson.covers,
        notes=lesson.notes,
        private_notes=lesson.private_notes,
    )


def _preparation(lesson: Lesson) -> int:
    """Minutes of preparation that are left for a lesson."""
    if lesson.prepare is None:
        return lesson.preparation_minutes
    return 0 if lesson.prepare.status == READY else lesson.preparation_minutes + lesson.prepare.outside_specialism_minutes


def _dates(rules: Resolved, lesson: Lesson, own: ClassLesson) -> WishedDates | None:
    """The dates and the pin of a lesson, weighed where they are a wish; None where there are none, or the rule is off."""
    numbers, on = rules.numbers("dates"), own.on or lesson.on
    period = own.period if own.period is not None or own.on else lesson.period
    dates = own.not_before or lesson.not_before, own.not_after or lesson.not_after, on, period
    return WishedDates(*dates, wish=numbers.wish or 0) if numbers is not None and dates != (None,) * 4 else None


def _chosen(scenario: Scenario, each: ListedLesson) -> object:
    """Whether the sequence chooses where the lesson is met again: as stated, or because its pattern makes retrieval lessons."""
    stated = each.rules.number("retrieval", "chosen")
    pattern = pattern_of(scenario, each.unit)
    return stated if stated is not None else pattern is not None and pattern.retrieval is not None


def _retrievals(rules: Resolved, exam_distance: int | None) -> tuple[RetrievalNumbers, ...]:
    """Rule 4: the first retrieval and those that follow, in days.

    What suits the exam date is kept in the window; it concerns the first retrieval, since the table is about two meetings.
    """
    numbers = rules.numbers("retrieval")
    least, most = numbers.least, numbers.most
    usual = (least + most) // 2 if exam_distance is None else min(max(exam_distance, least), most)
    found = [RetrievalNumbers(least, most, usual if numbers.preferred is None else numbers.preferred)]
    for each in numbers.then or ():
        preferred = each.preferred if each.preferred is not None else (each.least + each.most) // 2
        found.append(RetrievalNumbers(each.least, each.most, preferred, each.counted_from == "retrieval before"))
    return tuple(found)


def _class_facts(
    scenario: Scenario, teaching_class: TeachingClass, index: int, slots: tuple[Slot, ...], lessons: list[LessonFacts]
) -> ClassFacts:
    own = teaching_class.rules or ClassRules()
    wide = scenario.rules
    levels = Resolved(wide, own)
    held = {
        slot
        for lesson in lessons
        if lesson.delivered is not None and lesson.delivered.slot is not None
        for slot in range(lesson.delivered.slot, lesson.delivered.slot + lesson.length)
    }
    return ClassFacts(
        index=index,
        id=teaching_class.id,
        name=teaching_class.name or teaching_class.id,
        teacher=teaching_class.teacher,
        slots=slots,
        usable=tuple(slot.number not in held and (scenario.today is None or slot.date >= scenario.today) for slot in slots),
        lessons=tuple(lesson.index for lesson in lessons if not lesson.earlier),
        earlier=tuple(lesson.index for lesson in lessons if lesson.earlier),
        run_break_days=levels.number("consecutive_high_load", "break_days"),
        rules=levels.in_force(ClassRules.model_fields),
    )


def _teachers(scenario: Scenario, classes: tuple[ClassFacts, ...], lessons: list[LessonFacts]) -> tuple[TeacherFacts, ...]:
    """Every teacher of a slot, in the order of the slots, with the limits stated for them."""
    slots: dict[str | None, list[tuple[int, int]]] = {}
    for facts in classes:
        for slot in facts.slots:
            slots.setdefault(slot.teacher, []).append((facts.index, slot.number))
    limits: dict[str | None, dict[str, int]] = {
        stated.name: stated.model_dump(exclude={"name"}, exclude_none=True) for stated in scenario.teachers
    }
    prepared: dict[str | None, set[str]] = {}
    for lesson in (lessons[index] for facts in classes for index in facts.earlier):
        prepared.setdefault(lesson.teacher or classes[lesson.class_index].teacher, set()).add(lesson.shared_ref)
    return tuple(
        TeacherFacts(name, frozenset(own), frozenset(prepared.get(name, ())), **limits.get(name, {}))
        for name, own in slots.items()
    )


def _cohorts(scenario: Scenario) -> tuple[CohortFacts, ...]:
    """The cohorts, with those of their classes that are there: an explanation looks at some of the scenario's alone."""
    places = {each.id: place for place, each in enumerate(scenario.classes)}
    return tuple(
        CohortFacts(
            cohort.id,
            cohort.title or cohort.id,
            tuple(
                SubjectFacts(each.name, tuple(places[name] for name in each.classes if name in places), each.fixed_assessments)
                for each in cohort.subjects
            ),
            Resolved(scenario.rules, cohort.rules).in_force(CohortRules.model_fields),
        )
        for cohort in scenario.cohorts
    )


def _parallels(lessons: tuple[LessonFacts, ...]) -> tuple[tuple[int, ...], ...]:
    groups: dict[str, list[int]] = {}
    for lesson in lessons:
        name = lesson.shared_ref if lesson.role == lesson.id else f"{lesson.unit}/{lesson.role}"
        groups.setdefault(name, []).append(lesson.index)
    return tuple(tuple(group) for group in groups.values())
