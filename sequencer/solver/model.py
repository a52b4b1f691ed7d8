"""One model: the ordered list of rules, read like the specification, over some classes of an instance."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, fields
from itertools import pairwise
from operator import attrgetter

from sequencer.aims import BY_NAME
from sequencer.aims.base import Objective
from sequencer.aims.disruption import LessonsMoved
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.plan.differences import MoveWeights, Standing
from sequencer.rules import RULES
from sequencer.solver.costs import cost
from sequencer.solver.day_numbers import ClassDays, class_days
from sequencer.solver.deadline import NO_DEADLINE, Deadline
from sequencer.solver.domains import Domains, cut_domains, sure_lessons
from sequencer.solver.links import Link, in_order, order_links, step_links
from sequencer.solver.meeting_dates import Meeting, meetings
from sequencer.solver.parts import Parts
from sequencer.solver.posting import PostedStatement, Posting
from sequencer.solver.servings import Serving, block_links, practice_servings, retrieval_servings
from sequencer.solver.starts import StartsAlone, starts_alone
from sequencer.solver.sure_order import Order, reduced, sure_order
from sequencer.solver.variables import Variables
from sequencer.words import EVEN_WEEK


@dataclass(frozen=True)
class Prepared:
    """What every model of an instance shares: links, servings and cut domains.

    Parameters
    ----------
    alone
        Where each lesson could start if there were no other.
    """

    instance: Instance
    days: tuple[ClassDays, ...]
    links: tuple[Link, ...]
    twins: tuple[Link, ...]
    steps: tuple[Link, ...]
    practice: tuple[Serving, ...]
    retrieval: tuple[Serving, ...]
    meetings: tuple[Meeting, ...]
    domains: Domains
    order: Order
    alone: StartsAlone


@dataclass(frozen=True)
class ClassesModel:
    """A model ready to be solved, with its aims in the scenario's order; before them that nothing moves, where lessons stand.

    ``size`` is the number of its variables and constraints as it was built.
    """

    parts: Parts
    aims: tuple[Objective, ...]
    moved: LessonsMoved | None = None
    size: tuple[int, int] = field(init=False)

    def __post_init__(self) -> None:
        proto = self.parts.posting.model.model_proto
        object.__setattr__(self, "size", (len(proto.variables), len(proto.constraints)))


def prepare(instance: Instance, ordered_twins: bool = True, deadline: Deadline = NO_DEADLINE) -> Prepared:
    """Settle links and domains, once for all models of the instance.

    Lessons that nothing tells apart keep an order unless that could be felt: where one of them stood before.

    Raises
    ------
    OutOfTime
        When the deadline is over.
    """
    days = class_days(instance)
    alone = starts_alone(instance, days)
    links = order_links(instance, days, alone)
    practice = practice_servings(instance, days, alone)
    retrieval = retrieval_servings(instance, days)
    twins = twin_links(instance, days, links) if ordered_twins else ()
    sure = sure_lessons(instance, alone)
    links += block_links(instance, days, links, practice, sure)
    links = reduced(instance, links, sure)
    steps = step_links(instance, days, alone)
    domains = cut_domains(instance, days, (*links, *twins), (*practice, *retrieval), steps, alone, deadline)
    order = sure_order(instance, (*links, *twins), sure)
    met_again = meetings(instance, days, alone, domains)
    return Prepared(instance, days, links, twins, steps, practice, retrieval, met_again, domains, order, alone)


def build_model(
    prepared: Prepared,
    class_indices: tuple[int, ...],
    posting: Posting | None = None,
    standing: Standing | None = None,
    weights: MoveWeights | None = None,
    most_moved: int | None = None,
    deadline: Deadline = NO_DEADLINE,
) -> ClassesModel:
    """The model of some classes that share no rule with the others; beside others in one posting where one is given.

    Where lessons are to stay where they stand, that comes before every aim; after them where no more than so many may move.

    Raises
    ------
    OutOfTime
        When the deadline is over.
    """
    instance = prepared.instance
    posting = posting or Posting(deadline)
    classes = [instance.classes[class_index] for class_index in class_indices]
    members = {index for facts in classes for index in (*facts.lessons, *facts.earlier)}
    parts = Parts(
        instance=instance,
        days=prepared.days,
        posting=posting,
        variables=Variables(posting, instance, prepared.domains, class_indices),
        links=tuple(link for link in prepared.links if link.before in members),
        twins=tuple(link for link in prepared.twins if link.before in members),
        steps=tuple(link for link in prepared.steps if link.before in members and link.after in members),
        practice=tuple(serving for serving in prepared.practice if serving.lesson in members),
        retrieval=tuple(serving for serving in prepared.retrieval if serving.lesson in members),
        meetings=tuple(meeting for meeting in prepared.meetings if meeting.lesson in members),
        order=prepared.order,
    )
    for link in parts.twins:
        parts.keep_order(link)
    for rule in RULES:
        deadline.check()
        rule.post(parts)
    aims = []
    for name in instance.aims:
        deadline.check()
        aims.append(BY_NAME[name].cost(parts))
    if standing is None:
        return ClassesModel(parts, tuple(aims))
    moved = LessonsMoved(standing, weights)
    if most_moved is None:
        return ClassesModel(parts, (moved.cost(parts), *aims), moved)
    moves = LessonsMoved(standing).cost(parts)
    statement = PostedStatement(0, f"at most {most_moved} lessons move")
    parts.posting.linear(statement, cost(moves) + moves.constant <= most_moved)
    return ClassesModel(parts, (*aims, moved.cost(parts)), moved)


def coupled_classes(instance: Instance) -> tuple[tuple[int, ...], ...]:
    """Classes in groups that share no rule: each group can be sequenced by itself, and every aim is the sum over groups."""
    group = list(range(len(instance.classes)))

    def join(classes: list[int]) -> None:
        for other in classes[1:]:
            old, new = group[other], group[classes[0]]
            group[:] = [new if each == old else each for each in group]

    for rule in RULES:
        for together in rule.couples(instance):
            join(list(together))
    for teacher in instance.teachers:
        if EVEN_WEEK in instance.aims:
            join(sorted({class_index for class_index, _ in teacher.slots}))
    return tuple(tuple(index for index, each in enumerate(group) if each == wanted) for wanted in dict.fromkeys(group))


def twin_links(instance: Instance, days: tuple[ClassDays, ...], links: tuple[Link, ...]) -> tuple[Link, ...]:
    """Order among lessons that nothing tells apart but their names."""
    around: dict[int, list[object]] = {lesson.index: [] for lesson in instance.lessons}
    shapes: dict[tuple[tuple[int, ...], tuple[int, ...]], int] = {}
    known: dict[tuple[int, int], int] = {}  # many links share their windows, which are long
    for link in links:
        shared = (id(link.low), id(link.high))
        if shared not in known:
            known[shared] = shapes.setdefault((link.low, link.high), len(shapes))
        window = (known[shared], link.binds, link.statement.rule)
        around[link.after].append(("after", link.before, window))
        around[link.before].append(("before", link.after, window))
    for follows in instance.follows:
        if follows.window is not None and follows.window.wish:
            wished = tuple(follows.window.model_dump(exclude={"lesson"}).values())
            around[follows.after].append(("wished after", follows.before, wished))
            around[follows.before].append(("wished before", follows.after, wished))
    alike: dict[object, list[LessonFacts]] = {}
    for lesson in instance.lessons:
        if lesson.delivered is not None:
            continue
        alike.setdefault(_likeness(lesson, around[lesson.index]), []).append(lesson)
    found = []
    for twins in alike.values():
        for first, second in pairwise(twins):
            low, high = in_order(days[first.class_index].count, first.length)
            statement = PostedStatement(0, f"{first.ref} and {second.ref} are alike")
            found.append(Link(first.index, second.index, low, high, statement, binds=True))
    return tuple(found)


_NAMES = frozenset(
    {
        "index", "id", "role", "title", "unit", "pointer", "exam_distance", "prepare", "parts", "covers", "notes",
        "private_notes", "may_return",
    }
)  # fmt: skip
"""Fields of a lesson that no rule sees by themselves; whatever else differs tells two lessons apart."""

_SEEN = attrgetter(*(each.name for each in fields(LessonFacts) if each.name not in _NAMES))


def _likeness(lesson: LessonFacts, around: list[object]) -> object:
    """Everything the rules and aims can see of a lesson: every field but its names, and its links.

    The name counts where parallel classes are held to it (rule 11, and preparation shared in rule 10).
    """
    held_to_name = (lesson.in_step is not None or lesson.preparation_minutes) and lesson.made != "retrieval"
    shared_name = lesson.ref if held_to_name else None
    return _SEEN(lesson), shared_name, frozenset(Counter(around).items())
