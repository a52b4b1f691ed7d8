"""What is different between two sequences of one scenario, or between two scenarios' periods and sequences, by name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import ClassFacts, Instance, LessonFacts
from sequencer.plan.outcomes import CARRIED, practices, retrievals
from sequencer.plan.sequence import Laid, Sequence
from sequencer.words import LIVE, day_text

Period = tuple[date, int]
"""A date and the number of a period on it."""

LessonName = tuple[str, str, str]
"""A class, a unit and a lesson."""


# -- two sequences of one scenario --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Move:
    """One lesson, by its position in ``Instance.lessons``, and its first slot in two sequences; None where it is not placed."""

    lesson: int
    old: Slot | None
    new: Slot | None


def moves(old: Laid, new: Laid) -> tuple[Move, ...]:
    """Every lesson whose date or period, or whether it is placed at all, differs; live or set work alone is no difference.

    Class by class, in the order of time of the old sequence.
    """
    found = []
    for lesson in old.lessons():
        before, after = (laid.first_slot(lesson.index) if laid.placed(lesson.index) else None for laid in (old, new))
        first = before or after
        if first is not None and before != after:
            found.append((lesson.class_index, first.number, lesson.index, Move(lesson.index, before, after)))
    return tuple(move for *_, move in sorted(found, key=lambda entry: entry[:3]))


Standing = Mapping[int, Period]
"""Where lessons, by their position in ``Instance.lessons``, are to stay if they can: the date and period they begin in."""


@dataclass(frozen=True)
class MoveWeights:
    """What it costs to move a lesson, by how soon its class feels it and by who knows of the plan; 1 unless stated.

    ``near`` are numbers of days from ``today`` and the weight of a move up to so many days ahead, the nearest first; ``shared``
    is the weight, by class, of a plan that is shared already, by which that of each move is multiplied.
    """

    today: date | None = None
    near: tuple[tuple[int, int], ...] = ()
    shared: Mapping[int, int] = field(default_factory=dict)

    def of(self, class_index: int, old: date, new: date | None) -> int:
        """The cost of a move from one date to another, or to none: what counts is the earlier of the two."""
        weight = 1
        if self.today is not None:
            days = (min(old, new or old) - self.today).days
            weight = next((each for within, each in self.near if days <= within), 1)
        return weight * self.shared.get(class_index, 1)


def displaced(laid: Laid, standing: Standing, weights: MoveWeights | None = None) -> int:
    """How many lessons of the classes looked at do not lie where they are to stay, or are not placed; each by its weight."""
    count = 0
    weights = weights or MoveWeights()
    for lesson in laid.lessons():
        if lesson.index in standing:
            slot = laid.first_slot(lesson.index) if laid.placed(lesson.index) else None
            old = standing[lesson.index]
            if slot is None or (slot.date, slot.period) != old:
                count += weights.of(lesson.class_index, old[0], slot.date if slot is not None else None)
    return count


def least_difference(instance: Instance, before: Iterable[Sequence], sequence: Sequence) -> int:
    """The number of lessons in which a sequence differs from the one before that is most like it."""
    new = Laid(instance, sequence)
    return min(len(moves(Laid(instance, old), new)) for old in before)


# -- two scenarios, whose lessons and periods are compared by name -------------------------------------------------------


def period_text(period: Period) -> str:
    """A period for people: ``Tue 10 Nov 2026, period 3``."""
    return f"{day_text(period[0])}, period {period[1]}"


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

    def told(self, gained: str, lost: str) -> str:
        """The lesson, and from where to where; ``gained`` and ``lost`` say what it is without one of the two."""
        old, new = (period_text(at) if at is not None else None for at in (self.old, self.new))
        moved = f"from {old} to {new}" if old and new else gained.format(new) if new else f"{lost}; was on {old}"
        return f'"{self.title}" ({self.name[1]}/{self.name[2]}) {moved}'


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
    optional = (lesson for lesson in laid.lessons() if lesson.optional and not laid.placed(lesson.index))
    return (*(_name(laid.instance, lesson) for lesson in optional), *skipped(laid.instance))


def skipped(instance: Instance) -> Iterator[LessonName]:
    """The lessons that the record says are not taught and not to be."""
    for class_index, ref in instance.skipped:
        unit, _, lesson = ref.partition("/")
        yield instance.classes[class_index].id, unit, lesson


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
