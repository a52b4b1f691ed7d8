"""The aims as cost terms: one function each, returning a named sum to be made small and a bound that needs no search."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from ortools.sat.python import cp_model

from sequencer.instance.facts import LessonFacts, TeacherFacts
from sequencer.solver.costs import CostTerm
from sequencer.solver.finish_terms import class_finish
from sequencer.solver.links import Link
from sequencer.solver.meeting_dates import Meeting
from sequencer.solver.parts import Parts
from sequencer.solver.posted.teacher_weeks import marking_terms, preparation_terms
from sequencer.solver.posting import Literal, Statement, total
from sequencer.solver.rule_wishes import rule_wishes
from sequencer.solver.shared_distance import shared_distance
from sequencer.solver.variables import Starts
from sequencer.words import (
    CARRIED_OVER,
    DENSE_SET_WORK,
    DISTANCE,
    EARLY_FINISH,
    EVEN_LOAD,
    EVEN_WEEK,
    LEFT_OUT,
    LIVE,
    MADE_LESSONS,
    NEXT_PLAN,
    OPEN,
    SET_WORK,
    WISHES,
)


@dataclass(frozen=True)
class Aim:
    """An aim ready to be made small.

    Parameters
    ----------
    name
        One of ``words.AIMS``.
    terms
        Its value is their weighted sum plus ``constant``.
    floor
        A lower bound proven by arithmetic alone.
    summed
        Whether its value over several classes is the sum of those over each.
    """

    name: str
    terms: tuple[CostTerm, ...]
    constant: int = 0
    floor: int = 0
    summed: bool = True

    @property
    def value(self) -> cp_model.LinearExpr:
        """What it comes to, in the model's variables."""
        return total((term.variable, term.weight) for term in self.terms) + self.constant


def build_aim(parts: Parts, name: str) -> Aim:
    """The aim of that name over the classes of this model."""
    return _BUILDERS[name](parts)


def _left_out(parts: Parts) -> Aim:
    """Sum of the priorities of optional lessons not placed."""
    constant, terms = 0, []
    for variables in parts.variables.lessons.values():
        lesson = variables.lesson
        if lesson.optional:
            constant += lesson.priority
            terms.append(CostTerm(variables.placed, -lesson.priority, f"{lesson.ref} placed", lesson.class_index))
    return Aim(LEFT_OUT, tuple(terms), constant)


def _carried_over(parts: Parts) -> Aim:
    """Practices and retrievals carried over, and retrievals late."""
    late = []
    for serving in parts.retrieval:
        variables = parts.variables.lessons[serving.lesson]
        late += [
            CostTerm(variables.at(start), 1, f"{variables.lesson.ref} late", variables.lesson.class_index)
            for start in serving.late
            if start in variables.starts
        ]
    for meeting in parts.meetings:
        late += _late_terms(parts, meeting)
    return Aim(CARRIED_OVER, (*_carried_terms(parts), *late))


def _left_for_the_next_plan(parts: Parts) -> Aim:
    """Practices and retrievals carried over, without those that are late."""
    return Aim(NEXT_PLAN, tuple(_carried_terms(parts)))


def _carried_terms(parts: Parts) -> Iterator[CostTerm]:
    for (_, index), literals in parts.carried.items():
        lesson = parts.instance.lessons[index]
        yield from (CostTerm(literal, 1, f"{lesson.ref} carried over", lesson.class_index) for literal in literals)


def _late_terms(parts: Parts, meeting: Meeting) -> Iterator[CostTerm]:
    """Starts from which the meeting is late; one that is given up is not."""
    anchor, given_up = counted_from(parts, meeting), parts.given_up.get((meeting.lesson, meeting.number))
    for start, window in meeting.windows.items():
        if window.late:
            late = anchor.at(start)
            if given_up is not None:
                late = parts.posting.boolean(f"{anchor.name} late from {start}")
                parts.posting.clause(Statement(4, anchor.name), ~anchor.at(start), given_up, late)
            yield CostTerm(late, 1, f"{anchor.name} late", parts.instance.lessons[meeting.lesson].class_index)


def _made_lessons(parts: Parts) -> Aim:
    """Lessons placed that patterns made."""
    made = [each for each in parts.variables.lessons.values() if each.lesson.made is not None and not each.lesson.earlier]
    sure = [each for each in made if each.placed is parts.posting.true]
    terms = tuple(
        CostTerm(each.placed, 1, f"{each.name} is made", each.lesson.class_index)
        for each in made
        if each.placed is not parts.posting.true
    )
    return Aim(MADE_LESSONS, terms, len(sure), len(sure))


def _wishes(parts: Parts) -> Aim:
    """Rules that are preferences; live-preferring lessons that are set work, and live-avoiding lessons that are live."""
    asked = {"prefer": SET_WORK, "avoid": LIVE}
    return Aim(WISHES, (*rule_wishes(parts), *_taught_terms(parts, lambda lesson: asked.get(lesson.live or ""))))


def _dense_as_set_work(parts: Parts) -> Aim:
    """Dense lessons that are set work, but for those that avoid or refuse live."""
    return Aim(DENSE_SET_WORK, tuple(_taught_terms(parts, lambda lesson: SET_WORK if lesson.better_live else None)))


def _taught_terms(parts: Parts, unwanted: Callable[[LessonFacts], str | None]) -> Iterator[CostTerm]:
    """A literal for each lesson that could be taught in the way that is unwanted for it: that it is."""
    for variables in parts.variables.lessons.values():
        lesson = variables.lesson
        against = unwanted(lesson)
        if against is None or lesson.earlier:
            continue
        cost = parts.posting.boolean(f"{lesson.ref} of class {lesson.class_index} is {against}")
        statement = Statement(5, f"{lesson.ref}: better not {against}")
        live = parts.variables.classes[lesson.class_index].live_starts
        possible = False
        for start in variables.starts:
            together = parts.variables.taught_from(lesson, start)
            if together == OPEN:
                spared = live[start] if against == SET_WORK else ~live[start]
                parts.posting.clause(statement, ~variables.at(start), spared, cost)
                possible = True
            elif together == against:
                parts.posting.clause(statement, ~variables.at(start), cost)
                possible = True
        if possible:
            yield CostTerm(cost, 1, f"{lesson.ref} {against}", lesson.class_index)


def _distance(parts: Parts) -> Aim:
    """Days between the distance kept and the preferred one, over all retrievals.

    Encoded as the sum over days of |(y placed by the day) - (x placed by the day less the preferred distance)|, which is
    exactly |date(y) - date(x) - preferred|. A retrieval lesson that revisits several lessons cannot be at the preferred
    distance from all of them: what it costs at least from each of its starts is settled in ``shared_distance`` and tightens
    the relaxation.
    """
    terms: list[CostTerm] = []
    shared: dict[int, list[tuple[Link, list[CostTerm]]]] = {}
    for serving in parts.retrieval:
        for link, serves in parts.serves[serving.lesson]:
            taught, there = parts.variables.lessons[link.before], parts.variables.lessons[link.after]
            (numbers,) = taught.lesson.retrievals
            own = list(_distance_terms(parts, link.statement, taught.lesson, taught, there, numbers.preferred, serves))
            terms += own
            if serves is parts.posting.true:
                shared.setdefault(link.after, []).append((link, own))
    for meeting in parts.meetings:
        lesson, met = parts.instance.lessons[meeting.lesson], parts.meeting_starts[meeting.lesson, meeting.number]
        anchor = counted_from(parts, meeting)
        terms += _distance_terms(parts, Statement(4, met.name), lesson, anchor, met, meeting.numbers.preferred, met.placed)
    floor = sum(_least_when_shared(parts, index, group) for index, group in shared.items())
    return Aim(DISTANCE, tuple(terms), floor=floor)


def counted_from(parts: Parts, meeting: Meeting) -> Starts:
    """What the days of a retrieval are counted from: the lesson, or the retrieval before."""
    if meeting.numbers.chained and meeting.number:
        return parts.meeting_starts[meeting.lesson, meeting.number - 1]
    return parts.variables.lessons[meeting.lesson]


def _least_when_shared(parts: Parts, index: int, group: list[tuple[Link, list[CostTerm]]]) -> int:
    """Post what a retrieval lesson costs at least from each of its starts; the least of these."""
    met = parts.variables.lessons[index]
    least = shared_distance(parts, met.starts, [link for link, _ in group])
    statement = Statement(4, f"{met.lesson.ref}: distance from all that it revisits")
    for start, cost in least.items():
        if cost is None:
            parts.posting.clause(statement, ~met.at(start))
    possible = {start: cost for start, cost in least.items() if cost is not None}
    costs = total((term.variable, term.weight) for _, own in group for term in own)
    parts.posting.linear(statement, costs >= total((met.at(start), cost) for start, cost in possible.items()))
    return min(possible.values(), default=0)


def _distance_terms(
    parts: Parts, statement: Statement, lesson: LessonFacts, taught: Starts, met: Starts, preferred: int, serves: Literal
) -> Iterator[CostTerm]:
    """Days off the preferred distance between two dates of a lesson's class, while the second serves."""
    here = parts.days[lesson.class_index]
    day_of = {start: here.day_of(lesson, start) for start in taught.starts}
    marks = sorted({day + preferred for day in day_of.values()} | {here.day[start] for start in met.starts})
    for mark, following in pairwise(marks):
        last = max((start for start, day in day_of.items() if day <= mark - preferred), default=None)
        should = taught.by(last) if last is not None else parts.posting.false
        is_met = met.by(here.last_by(mark))
        gap = parts.posting.boolean(f"{statement.label}: off by day {mark}")
        parts.posting.clause(statement, ~serves, ~is_met, should, gap)
        parts.posting.clause(statement, ~serves, is_met, ~should, gap)
        yield CostTerm(gap, following - mark, f"{statement.label}: days off", lesson.class_index, lesson.index)


def _even_load(parts: Parts) -> Aim:
    """The heaviest school week's load of each class, summed; never under the even share of what is sure to be placed."""
    terms, floor = [], 0
    for facts in parts.classes():
        variables = [parts.variables.lessons[index] for index in facts.lessons]
        weeks = tuple(dict.fromkeys(slot.week for slot in facts.slots))
        if not weeks:
            continue
        sure = [each.lesson.load for each in variables if each.placed is parts.posting.true]
        least = max(-(-sum(sure) // len(weeks)), max(sure, default=0))
        heaviest = parts.posting.integer(
            least, max(least, sum(each.lesson.load for each in variables)), f"{facts.id} heaviest week"
        )
        for week in weeks:
            load = total((literal, lesson.load) for lesson, literal in parts.in_week(facts, week))
            parts.posting.linear(Statement(9, f"{facts.id}: load of week {week.number}"), load <= heaviest)
        terms.append(CostTerm(heaviest, 1, f"{facts.id} heaviest week", facts.index))
        floor += least
    return Aim(EVEN_LOAD, tuple(terms), floor=floor)


def _even_week(parts: Parts) -> Aim:
    """The heaviest school week's preparation plus marking minutes of each teacher, summed; never under the even share."""
    terms, floor = [], 0
    for teacher in parts.instance.teachers:
        minutes = marking_terms(parts, teacher)
        for week, more in preparation_terms(parts, teacher).items():
            minutes.setdefault(week, []).extend(more)
        most = max((sum(weight for _, weight in weighted if weight > 0) for weighted in minutes.values()), default=0)
        if not most:
            continue
        least = _least_of_weeks(parts, teacher, len(minutes))
        heaviest = parts.posting.integer(least, max(least, most), f"{teacher.name} heaviest week")
        for week, weighted in minutes.items():
            parts.posting.linear(Statement(10, f"{teacher.name}: minutes of week {week}"), total(weighted) <= heaviest)
        terms.append(CostTerm(heaviest, 1, f"{teacher.name} heaviest week"))
        floor += least
    return Aim(EVEN_WEEK, tuple(terms), floor=floor, summed=False)


def _least_of_weeks(parts: Parts, teacher: TeacherFacts, weeks: int) -> int:
    """The even share of the minutes that are the teacher's wherever they lie, and the most that one lesson takes."""
    marking, preparation = [], {}
    for variables in parts.variables.lessons.values():
        lesson = variables.lesson
        always = variables.placed is parts.posting.true and all(
            (lesson.class_index, start) in teacher.slots for start in variables.starts
        )
        if always:
            marking.append(lesson.marking_minutes)
            if lesson.shared_ref not in teacher.prepared:
                preparation[lesson.shared_ref] = lesson.preparation_minutes
    every = sum(marking) + sum(preparation.values())
    return max(-(-every // max(1, weeks)), *marking, *preparation.values(), 0)


def _early_finish(parts: Parts) -> Aim:
    """Spare slots before each class's last required teach lesson that no date fixes."""
    finishes = [class_finish(parts, facts) for facts in parts.classes()]
    terms = tuple(term for finish in finishes for term in finish.terms)
    return Aim(EARLY_FINISH, terms, sum(each.constant for each in finishes), sum(each.floor for each in finishes))


_BUILDERS: dict[str, Callable[[Parts], Aim]] = {
    LEFT_OUT: _left_out,
    CARRIED_OVER: _carried_over,
    NEXT_PLAN: _left_for_the_next_plan,
    MADE_LESSONS: _made_lessons,
    WISHES: _wishes,
    EARLY_FINISH: _early_finish,
    DENSE_SET_WORK: _dense_as_set_work,
    DISTANCE: _distance,
    EVEN_LOAD: _even_load,
    EVEN_WEEK: _even_week,
}
