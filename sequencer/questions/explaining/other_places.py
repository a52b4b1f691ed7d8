"""Why a lesson lies where it does: every other period of its class, with what it would cost there or what forbids it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from sequencer.errors import UnusableSettings
from sequencer.instance.build import build_instance
from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.instance.naming import named
from sequencer.instance.plain_names import by_title
from sequencer.plan.sequence import Laid, Sequence
from sequencer.questions.explaining.minimal_conflict import Search
from sequencer.questions.explaining.possible import Clock, possible
from sequencer.questions.explaining.spread_out import own_key, pinned_to
from sequencer.questions.explaining.statement import Statement
from sequencer.questions.explaining.statements import Stated, take_apart
from sequencer.questions.judge import judge
from sequencer.questions.solve import SolveSettings, solve
from sequencer.scenario.changes.edits import edited
from sequencer.scenario.places import Suggestions
from sequencer.scenario.references.titles import MOST_WRITTEN, Titles
from sequencer.scenario.schema import Scenario
from sequencer.solver.solver_calls import StopSignal
from sequencer.words import INFEASIBLE

LONGEST_SOLVE = 5.0


@dataclass(frozen=True)
class Place:
    """One period in which the lesson could start; ``here`` where it lies.

    Parameters
    ----------
    costs, proven
        What each aim would come to more than it does, in the scenario's order, and whether these are the least it could come to;
        None where the lesson cannot lie there, or nothing was found in time.
    forbidden_by
        The statements that keep it from there; empty where it can lie there, or that was not settled.
    """

    slot: Slot
    here: bool
    costs: Mapping[str, int] | None
    proven: bool
    forbidden_by: tuple[Statement, ...] = ()


@dataclass(frozen=True)
class Elsewhere:
    """Every period of a lesson's class, for the lesson."""

    instance: Instance
    lesson: LessonFacts
    aims: Mapping[str, int]
    places: tuple[Place, ...]


def elsewhere(
    scenario: Scenario,
    class_id: str,
    ref: str,
    sequence: Sequence | None = None,
    seconds: float = 60.0,
    stop: StopSignal | None = None,
) -> Elsewhere:
    """For one lesson (``unit/lesson`` of a class) every period of its class: what it would cost there, or what forbids it.

    Of a sequence, the best one found unless given; so many seconds are for all of it.

    Raises
    ------
    UnusableSettings
        When there is no such lesson to be moved, or no sequence.
    """
    clock = Clock(seconds, seconds / 10, stop)
    instance = build_instance(scenario)
    lesson = _lesson(instance, class_id, ref)
    if sequence is None:
        answer = solve(scenario, SolveSettings(seconds=seconds / 3), stop=clock.stop)
        if answer.sequence is None:
            called = by_title(instance)(named((lesson,)))
            known = "there is none" if answer.status == INFEASIBLE else "none was found in the time"
            raise UnusableSettings(
                [f"{class_id}: where {called} could lie is told of a sequence, and {known}: ask first why, without a lesson"]
            )
        sequence = answer.sequence
    aims = judge(instance, sequence).aims
    laid = Laid(instance, sequence)
    at = laid.pos(lesson.index) if laid.placed(lesson.index) else None
    looking = _Looking(scenario, instance, lesson, aims, clock)
    facts = instance.class_of(lesson)
    usable = [slot for slot in facts.slots if facts.usable[slot.number]]
    places = []
    for number, slot in enumerate(usable):
        if slot.number == at:
            places.append(Place(slot, True, dict.fromkeys(instance.aims, 0), True))
        else:
            places.append(looking.place(slot, min(LONGEST_SOLVE, clock.left / (len(usable) - number))))
    return Elsewhere(instance, lesson, aims, tuple(places))


def lesson_asked(instance: Instance, text: str) -> tuple[str, str]:
    """The class and the ``unit/lesson`` that people mean by ``10G:Meanders`` or ``10G:rivers/meanders``.

    The lesson alone will do where one class has it.

    Raises
    ------
    UnusableSettings
        When there is no such lesson, or several.
    """
    head, colon, rest = text.partition(":")
    whose = {facts.index for facts in instance.classes if colon and head.strip() in (facts.id, facts.name)}
    word = rest.strip() if whose else text.strip()
    own = [each for each in instance.lessons if (not whose or each.class_index in whose) and each.delivered is None]
    units = [(unit.id, unit.title) for unit in instance.scenario.units]
    meant = Titles(units, [((each.unit, each.id), each.title) for each in own]).lessons(word)
    refs = {"/".join(key) for key in meant} or {word}
    found = [(instance.class_of(each).id, each.ref) for each in instance.lessons if each in own and each.ref in refs]
    if len(found) > 1:
        # Where the class settles which is meant, the word does beside it.
        alone = len({class_id for class_id, _ in found}) == len(found)
        either = " or ".join(f"{class_id}:{word if alone else ref}" for class_id, ref in found[:MOST_WRITTEN])
        raise UnusableSettings([f"{text.strip()} can mean more than one lesson: write {either}"])
    if not found:
        near = Suggestions().hint(word, [each.title for each in own])
        raise UnusableSettings(
            [f'{head if whose else "no class"} has {"no" if whose else "a"} lesson "{word}" that is still to be taught{near}']
        )
    return found[0]


def _lesson(instance: Instance, class_id: str, ref: str) -> LessonFacts:
    for lesson in instance.lessons:
        if (instance.class_of(lesson).id, lesson.ref) == (class_id, ref):
            called = by_title(instance)(named((lesson,)))
            if lesson.delivered is not None:
                raise UnusableSettings([f"{class_id}: {called} was taught already"])
            if lesson.made is not None:
                raise UnusableSettings([f"{class_id}: {called} is made by a pattern; ask about a lesson that is listed"])
            return lesson
    raise UnusableSettings([f"names no lesson of the scenario: {class_id}:{ref}"])


class _Looking:
    """Looks at one lesson in one period after another, and remembers what forbade it before."""

    def __init__(
        self, scenario: Scenario, instance: Instance, lesson: LessonFacts, aims: Mapping[str, int], clock: Clock
    ) -> None:
        self.scenario = scenario
        self.instance = instance
        self.lesson = lesson
        self.aims = aims
        self.clock = clock
        self._stated = {statement.key: statement for statement in take_apart(scenario).statements}
        self._seen: list[frozenset[tuple[str, ...]]] = []

    def place(self, slot: Slot, seconds: float) -> Place:
        """The lesson in one period."""
        pinned = edited(self.scenario, [pinned_to(self.scenario, self.lesson, slot)])
        fixed = self._fixed_elsewhere(slot)
        if fixed:
            return Place(slot, False, None, True, fixed)
        if self.clock.left <= 0:
            return Place(slot, False, None, False)
        stated = take_apart(pinned)
        holds = possible(stated.spread, self.clock)
        if holds is False:
            return Place(slot, False, None, True, self._forbidding(stated))
        answer = solve(pinned, SolveSettings(seconds=max(0.1, min(seconds, self.clock.left))), stop=self.clock.stop)
        if answer.sequence is None:
            return Place(slot, False, None, False)
        costs = {aim.aim: (aim.value or 0) - self.aims[aim.aim] for aim in answer.aims}
        return Place(slot, False, costs, all(aim.proven for aim in answer.aims))

    def _fixed_elsewhere(self, slot: Slot) -> tuple[Statement, ...]:
        """The lesson's own date or period, where it has one and this is another: the pin has taken its place."""
        others = {"on"} if self.lesson.on not in (None, slot.date) else set()
        others |= {"period"} if self.lesson.period not in (None, slot.period) else set()
        return tuple(one for one in self._stated.values() if one.kind in others and self.lesson.index in one.lessons)

    def _forbidding(self, stated: Stated) -> tuple[Statement, ...]:
        """Statements that cannot hold beside the lesson's lying there; those that forbade another period come first."""
        owner = self.instance.class_of(self.lesson).id
        own = (owner, self.lesson.unit, self.lesson.role)
        given = {("on", *own), ("period", *own), ("lesson", owner, own_key(self.lesson))}
        stated = replace(stated, statements=tuple(one for one in stated.statements if one.key not in given))
        search = Search(stated, self.clock)
        for keys in self._seen:
            if search.contradict(one for one in stated.statements if one.key in keys):
                return self._told(stated, keys)
        conflict = search.conflict(proof=False)
        if conflict is None or not conflict.statements:
            return ()
        keys = frozenset(one.key for one in conflict.statements)
        self._seen.append(keys)
        return self._told(stated, keys)

    def _told(self, stated: Stated, keys: frozenset[tuple[str, ...]]) -> tuple[Statement, ...]:
        return tuple(self._stated.get(one.key, one) for one in stated.statements if one.key in keys)
