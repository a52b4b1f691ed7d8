"""What the referee says of a sequence: rules that it breaks, wishes that it does not grant."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import LessonFacts
from sequencer.instance.naming import named as named
from sequencer.instance.naming import when as when
from sequencer.plan.sequence import Laid
from sequencer.words import day_text as day_text

NAMES: dict[int, str] = {}
"""What each number of a rule is called in a verdict; the rules fill it."""


@dataclass(frozen=True)
class Breach:
    """One instance of a rule that a sequence breaks.

    Parameters
    ----------
    rule
        Number of the rule, 0 to 13.
    class_ids
        Classes concerned.
    lessons
        Positions in ``Instance.lessons`` of the lessons concerned.
    slots
        Slots concerned.
    message
        The breach in a sentence, with names, dates and periods.
    past
        Whether delivered lessons and ``today`` make it wherever the rest is placed: it is reported, and blocks nothing.
    """

    rule: int
    class_ids: tuple[str, ...]
    lessons: tuple[int, ...]
    slots: tuple[Slot, ...]
    message: str
    past: bool = False

    @property
    def name(self) -> str:
        """The rule's name."""
        return NAMES[self.rule]


@dataclass(frozen=True)
class Ungranted:
    """One instance of a rule that is a preference, or a wish about live, that a sequence does not keep.

    Parameters
    ----------
    rule
        Number of the rule, 1 to 11.
    class_ids
        Classes concerned.
    lessons
        Positions in ``Instance.lessons`` of the lessons concerned.
    units
        By how much it is missed, in the rule's unit of violation.
    weight
        Weight of the wish.
    message
        What is missed, in a sentence, with names, dates and periods.
    """

    rule: int
    class_ids: tuple[str, ...]
    lessons: tuple[int, ...]
    units: int
    weight: int
    message: str

    @property
    def name(self) -> str:
        """The rule's name."""
        return NAMES[self.rule]

    @property
    def cost(self) -> int:
        """What it adds to the aim ``wishes``."""
        return self.weight * self.units


@dataclass(frozen=True)
class Verdict:
    """The referee's judgement: every breach, every aim's value, and the wishes that are not granted.

    Parameters
    ----------
    breaches
        Broken instances in the order of the rules; only past ones when the sequence is sound.
    aims
        Value of every aim by name.
    wishes
        The wishes that are not granted; what they cost adds up to the aim ``wishes``.
    """

    breaches: tuple[Breach, ...]
    aims: dict[str, int]
    wishes: tuple[Ungranted, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether no rule is broken, but for what cannot be mended any more."""
        return all(breach.past for breach in self.breaches)


def breach_in(laid: Laid, rule: int, lessons: tuple[LessonFacts, ...], message: str, past: bool = False) -> Breach:
    """A breach by lessons of one class, in the slots of those that are placed."""
    owner = laid.instance.class_of(lessons[0])
    held = [lesson for lesson in lessons if laid.placed(lesson.index) and not lesson.earlier]
    slots = tuple(slot for lesson in held for slot in laid.slots(lesson.index))
    return Breach(rule, (owner.id,), tuple(lesson.index for lesson in lessons), slots, f"{owner.id}: {message}", past)


def breach_of(laid: Laid, rule: int, lessons: Iterable[LessonFacts], message: str, past: bool = False) -> Breach:
    """A breach by lessons of one or several classes, in their first slots."""
    concerned = list(lessons)
    owners = tuple(dict.fromkeys(laid.instance.class_of(lesson).id for lesson in concerned))
    slots = tuple(laid.first_slot(lesson.index) for lesson in concerned if not lesson.earlier)
    return Breach(rule, owners, tuple(lesson.index for lesson in concerned), slots, message, past)


def outside(value: int, least: int | None, most: int | None) -> int:
    """By how much a value lies outside its limits; 0 when inside."""
    short = 0 if least is None else least - value
    over = 0 if most is None else value - most
    return max(short, over, 0)


def by_lessons(laid: Laid, rule: int, lessons: Iterable[LessonFacts], units: int, weight: int, message: str) -> Ungranted:
    """A wish that some lessons miss, in their classes."""
    concerned = list(lessons)
    owners = tuple(dict.fromkeys(laid.instance.class_of(lesson).id for lesson in concerned))
    return Ungranted(rule, owners, tuple(lesson.index for lesson in concerned), units, weight, message)
