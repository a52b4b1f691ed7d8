"""What is different between two scenarios' periods and sequences, by name, in plain Python: neither knows the other's numbers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sequencer.instance.facts import ClassFacts, Instance, LessonFacts
from sequencer.plan.moves import Standing
from sequencer.plan.outcomes import CARRIED, practices, retrievals
from sequencer.plan.sequence import Laid
from sequencer.words import LIVE

Period = tuple[date, int]
"""A date and the number of a period on it."""

LessonName = tuple[str, str, str]
"""A class, a unit and a lesson."""


@dataclass(frozen=True)
class ClassPeriods:
    """What becomes of one class's periods: those lost and gained, and those that are remote, or in school, instead."""

    class_id: str
    lost: tuple[Period, ...]
    gained: tuple[Period, ...]
    turned_remote: tuple[Period, ...]
    turned_in_school: tuple[Period, ...]


@dataclass(frozen=True)
class Shift:
    """One lesson that lies elsewhere than in the base; None where it is not placed."""

    name: LessonName
    title: str
    old: Period | None
    new: Period | None


@dataclass(frozen=True)
class Quota:
    """One live quota, and how many lessons are live; the least is the one that holds, after cutting in a short week."""

    owner: str
    span: str
    live: int
    least: int | None
    most: int | None
    stated_least: int | None
    wish: bool

    @property
    def met(self) -> bool:
        """Whether what the scenario states is met, uncut."""
        return (self.stated_least or 0) <= self.live and (self.most is None or self.live <= self.most)


def periods_changed(base: Instance, other: Instance) -> tuple[ClassPeriods, ...]:
    """What becomes of every class's periods."""
    found = []
    for facts, changed in zip(base.classes, other.classes, strict=True):
        before, after = _remote_at(facts), _remote_at(changed)
        kept = sorted(before.keys() & after.keys())
        found.append(
            ClassPeriods(
                facts.id,
                tuple(sorted(before.keys() - after.keys())),
                tuple(sorted(after.keys() - before.keys())),
                tuple(period for period in kept if after[period] and not before[period]),
                tuple(period for period in kept if before[period] and not after[period]),
            )
        )
    return tuple(found)


def _remote_at(facts: ClassFacts) -> dict[Period, bool]:
    return {(slot.date, slot.period): slot.remote for slot in facts.slots}


def standing(base: Laid, other: Instance) -> Standing:
    """Where the lessons of another scenario lie in the base's sequence."""
    numbers = known_lessons(other)
    return {numbers[name]: at for name, (_, at) in _places(base).items() if at is not None and name in numbers}


def known_lessons(instance: Instance) -> dict[LessonName, int]:
    """The lessons of a scenario that have a period or may have one, with their positions in ``Instance.lessons``."""
    return {_name(instance, instance.lessons[index]): index for facts in instance.classes for index in facts.lessons}


def shifts(base: Laid, other: Laid) -> tuple[Shift, ...]:
    """Every lesson whose date or period differs, or that only one of the two places; class by class, in order of time."""
    old, new = _places(base), _places(other)
    order = {facts.id: place for place, facts in enumerate(base.instance.classes)}
    found = []
    for name in {**old, **new}:
        title, before = old.get(name, ("", None))
        title, after = new.get(name, (title, None))
        first = before or after
        if before != after and first is not None:
            found.append((order[name[0]], first, name, Shift(name, title, before, after)))
    return tuple(shift for *_, shift in sorted(found, key=lambda entry: entry[:3]))


def not_placed(laid: Laid) -> tuple[LessonName, ...]:
    """The lessons left out: optional ones that are not placed, and those that the record says were skipped."""
    instance = laid.instance
    left_out = [_name(instance, lesson) for lesson in laid.lessons() if lesson.optional and not laid.placed(lesson.index)]
    for class_index, ref in instance.skipped:
        unit, _, lesson = ref.partition("/")
        left_out.append((instance.classes[class_index].id, unit, lesson))
    return tuple(left_out)


def carried(laid: Laid) -> tuple[LessonName, ...]:
    """The lessons whose practice or retrieval is carried over to the next plan; once for each."""
    outcomes = (*practices(laid), *retrievals(laid))
    names = (_name(laid.instance, laid.instance.lessons[each.lesson]) for each in outcomes if each.state == CARRIED)
    return tuple(dict.fromkeys(names))


def quotas(laid: Laid) -> tuple[Quota, ...]:
    """Every live quota, and how many lessons are live."""
    live = [(lesson.class_index, laid.pos(lesson.index)) for lesson in laid.all_placed() if laid.taught(lesson.index) == LIVE]
    found = []
    for count in laid.instance.live_counts:
        number = sum(at in count.slots for at in live)
        found.append(Quota(count.owner, count.span, number, count.least, count.most, count.stated_least, count.wish > 0))
    return tuple(found)


def _places(laid: Laid) -> dict[LessonName, tuple[str, Period | None]]:
    found: dict[LessonName, tuple[str, Period | None]] = {}
    for lesson in laid.lessons():
        slot = laid.first_slot(lesson.index) if laid.placed(lesson.index) else None
        found[_name(laid.instance, lesson)] = (lesson.title, (slot.date, slot.period) if slot is not None else None)
    return found


def _name(instance: Instance, lesson: LessonFacts) -> LessonName:
    return (instance.class_of(lesson).id, lesson.unit, lesson.id)
