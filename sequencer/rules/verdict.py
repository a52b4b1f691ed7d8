"""What the referee says of a sequence."""

from __future__ import annotations

from dataclasses import dataclass

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import LessonFacts
from sequencer.instance.naming import named as named
from sequencer.instance.naming import when as when
from sequencer.plan.sequence import Laid
from sequencer.rules.wishes import Ungranted
from sequencer.words import day_text as day_text

RULES = (
    "shape",
    "prerequisites",
    "runs and threads",
    "practice after dense",
    "retrieval",
    "live quotas",
    "feedback",
    "dates",
    "place",
    "weekly shape",
    "teacher's week",
    "in step",
    "optional and made lessons",
    "shared class",
)
"""Names of the rules by number."""


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
        return RULES[self.rule]


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
