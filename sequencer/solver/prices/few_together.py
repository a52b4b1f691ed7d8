"""A few parts planned anew in one model of their own, all others being left as they are."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from random import Random

from ortools.sat.python import cp_model

from sequencer.plan.sequence import Sequence, joined
from sequencer.solver.deadline import OutOfTime
from sequencer.solver.links import Link
from sequencer.solver.model import ClassesModel
from sequencer.solver.posting import Literal, total
from sequencer.solver.prices.beside import ALL_PAID, PlannedBeside, left_of
from sequencer.solver.prices.columns import PartColumn, Shared
from sequencer.solver.prices.pricing import SCALE, Paid, PricedPart
from sequencer.solver.prices.rows import SharedRow
from sequencer.solver.prices.shared_names import literal_of
from sequencer.solver.solver_calls import AT_ONCE, NONE, Budget, Calls
from sequencer.solver.sought import SequenceSought
from sequencer.words import CARRIED_OVER, NEXT_PLAN

Chosen = Mapping[int, PartColumn]
"""The column that each part takes; of those that are not planned yet none."""

MOST_DRAWN = 4
"""Most parts that are drawn together."""

ABOUT_AS_NARROW = 1.5
"""A limit under which that many times the parts of the narrowest stand says as much of who could make room."""

PENALTY = 50
"""What a unit of a broken row costs where rows may be broken."""


class FewTogether:
    """Plans a few parts anew.

    Parameters
    ----------
    links
        Lessons of different parts that are kept in step.
    build
        A model of some classes.
    """

    def __init__(
        self,
        shared: Shared,
        parts: tuple[PricedPart, ...],
        links: tuple[Link, ...],
        build: Callable[[tuple[int, ...]], ClassesModel],
        calls: Calls,
    ) -> None:
        self._shared, self._parts, self._build, self._calls = shared, parts, build, calls
        self._rows = shared.coupling.rows
        self._of_part: list[list[int]] = [[] for _ in parts]
        self._of_nobody: dict[int, list[int]] = {}
        for number, row in enumerate(self._rows):
            for part in shared.parts_in(row):
                self._of_part[part].append(number)
            for variable, _ in row.terms:
                if variable not in shared.part_of:
                    self._of_nobody.setdefault(variable, []).append(number)
        part_of = {lesson: part.number for part in parts for lesson in part.model.model.parts.variables.lessons}
        self._limits: list[set[frozenset[int]]] = [set() for _ in parts]
        for together in self._tied_together():
            for part in together:
                self._limits[part].add(together)
        self._links: dict[int, list[Link]] = {}
        self._beside: dict[int, dict[int, int]] = {}
        for link in links:
            self._links.setdefault(link.before, []).append(link)
            self._links.setdefault(link.after, []).append(link)
            beside = self._beside.setdefault(part_of[link.before], {})
            beside[part_of[link.after]] = beside.get(part_of[link.after], 0) + 1
        self.lessons = [len(part.model.model.parts.variables.lessons) for part in parts]
        self.impossible = False
        """Whether parts have no sequence by themselves, rows broken or not."""

    def anew(
        self, chosen: Chosen, free: tuple[int, ...], place: int | None, most: Mapping[int, int], soft: bool, budget: Budget
    ) -> Sequence | None:
        """The best sequence of a few parts beside what the others have; None where none is found.

        Parameters
        ----------
        place
            The aim that is made small, after what is broken.
        most
            What aims, by their places, may come to over all parts.
        soft
            Whether rows may be broken; the rows between the free parts themselves are kept.
        """
        one = self._parts[free[0]].model
        if len(free) == 1 and self._parts[free[0]].steps_through:
            better = free[0] in chosen and not soft
            sequence, told = self._by_periods(chosen, free[0], place, most, better, budget)
            if sequence is not None or (told and better):
                return sequence
        try:
            sought = one if len(free) == 1 else SequenceSought(self._build(self._classes(free)))
        except OutOfTime:
            return None
        question = _FewAsked(self._shared, sought, chosen, frozenset(free), soft)
        numbers = self._touched(free)
        literals = {
            variable: literal_of(sought.model.parts, self._shared.says[variable])
            for number in numbers
            for variable, _ in self._rows[number].terms
            if self._shared.part_of.get(variable) in question.free
        }
        question.begin(literals)
        for number in numbers:
            question.keep(self._rows[number])
        self._keep_step(question)
        for aim, value in most.items():
            question.hold(aim, value)
        question.make_small(place)
        begins = (chosen[part].sequence if part in chosen else self._parts[part].model.stood()[0] for part in free)
        question.hint(joined(begins))
        found: list[Sequence] = []

        def take(solver: cp_model.CpSolver, status: object) -> bool:
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                found.append(sought.found(solver))
            if soft and not most and status == cp_model.INFEASIBLE:
                self.impossible = True
            return status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)

        budget.effort -= self._calls.attempt(question.model, budget, take, NONE)
        return found[0] if found else None

    def several(
        self, chosen: Chosen, frees: list[tuple[int, ...]], place: int | None, most: Mapping[int, int], soft: bool, budget: Budget
    ) -> list[tuple[tuple[int, ...], Sequence | None, float]]:
        """Several lots of parts that have none in common, side by side, each within a budget of its own; what each took."""

        def ask(free: tuple[int, ...]) -> tuple[tuple[int, ...], Sequence | None, float]:
            own = Budget(budget.ends, budget.effort)
            return free, self.anew(chosen, free, place, most, soft, own), budget.effort - own.effort

        with ThreadPoolExecutor(AT_ONCE) as threads:
            return list(threads.map(ask, frees))

    def vying(self, part: int) -> dict[int, int]:
        """The parts that share rows with one, with how many; rows of very many parts say nothing."""
        found = dict(self._beside.get(part, {}))
        for number in self._of_part[part]:
            others = self._shared.parts_in(self._rows[number])
            for other in others - {part} if len(others) <= FEW else ():
                found[other] = found.get(other, 0) + 1
        return found

    def beside(self, part: int) -> list[int]:
        """The parts that are kept in step with one."""
        return sorted(self._beside.get(part, ()))

    def around(self, parts: tuple[int, ...]) -> list[int]:
        """The other parts under the limit that some parts share; where there is none, those that vie with the first of them."""
        limits = [limit for limit in self._limits[parts[0]] if limit.issuperset(parts)]
        narrowest = min(map(len, limits), default=0)
        found = {part for limit in limits if len(limit) <= ABOUT_AS_NARROW * narrowest for part in limit} - {*parts}
        return sorted(found or self.vying(parts[0]).keys() - {*parts})

    def largest_first(self) -> list[int]:
        """All parts, those with most lessons first."""
        return sorted(range(len(self._parts)), key=lambda part: (-self.lessons[part], part))

    def drawn(self, random: Random) -> tuple[int, ...]:
        """Some parts that vie with one another, at random."""
        first = random.randrange(len(self._parts))
        vying = self.vying(first)
        others = random.sample(sorted(vying), min(len(vying), random.randint(1, MOST_DRAWN - 1)))
        return tuple(sorted([first, *others]))

    def _classes(self, free: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(sorted(index for part in free for index in self._parts[part].model.class_indices))

    def _touched(self, free: tuple[int, ...]) -> list[int]:
        """The rows in which the free parts stand, and those that are tied to these by what belongs to nobody."""
        return sorted(self._tied({number for part in free for number in self._of_part[part]}))

    def _tied(self, numbers: set[int]) -> set[int]:
        """Some rows, and all that are tied to them by what belongs to nobody."""
        waiting = list(numbers)
        while waiting:
            for variable, _ in self._rows[waiting.pop()].terms:
                new = set(self._of_nobody.get(variable, ())) - numbers
                numbers |= new
                waiting += new
        return numbers

    def _tied_together(self) -> Iterator[frozenset[int]]:
        """Of each limit that parts share, which is one row or several that are tied, those that stand under it."""
        seen: set[int] = set()
        for number in range(len(self._rows)):
            if number not in seen:
                tied = self._tied({number})
                seen |= tied
                yield frozenset(part for each in tied for part in self._shared.parts_in(self._rows[each]))

    def _keep_step(self, question: _FewAsked) -> None:
        for lesson, variables in question.sought.model.parts.variables.lessons.items():
            for late in self._late(lesson, variables.starts, question.at):
                question.forbid([variables.at(start) for start in late])

    def _late(self, lesson: int, starts: Iterable[int], at: Mapping[int, int]) -> Iterator[list[int]]:
        """The starts of a lesson that are out of step with a lesson of another part, for each of those where it lies."""
        for link in self._links.get(lesson, ()):
            there = at.get(link.after if link.before == lesson else link.before)
            if there is not None:
                yield [s for s in starts if (link.high[s] < there if link.before == lesson else s > link.high[there])]

    def _by_periods(
        self, chosen: Chosen, part: int, place: int | None, most: Mapping[int, int], better: bool, budget: Budget
    ) -> tuple[Sequence | None, bool]:
        """What is likely to be the best sequence of one part whose periods are stepped through; whether these could tell.

        Parameters
        ----------
        place
            The aim on which it is best; where there is none, all in their order, with nothing left to the next plan.
        better
            Whether it is to come to less than what the part has.
        """
        paid = self._parts[part].all_aims(self._shared.aims)
        if place is not None and part in chosen:
            paid = Paid(((self._shared.aims[place], SCALE),), {})
        below = paid.by(chosen[part], self._shared) if better else ALL_PAID
        others = {number: column for number, column in chosen.items() if number != part}
        rows = left_of((self._rows[number] for number in self._touched((part,))), part, others, self._shared)
        if rows is None or any(aim.of_nobody for aim, _ in paid.aims):
            return None, False
        at = {p.lesson: p.slot for column in others.values() for p in column.sequence.placements}
        lessons = self._parts[part].model.model.parts.variables.lessons
        barred = (
            (lesson, start)
            for lesson, variables in lessons.items()
            for late in self._late(lesson, variables.starts, at)
            for start in late
        )
        aims = [(self._shared.aims[number], value) for number, value in most.items()]
        held = {aim.name: value - sum(column.counts[aim.name] for column in others.values()) for aim, value in aims if aim.alone}
        if len(paid.aims) > 1:
            held = {aim.name: 0 for aim in self._shared.aims if aim.name in (CARRIED_OVER, NEXT_PLAN)}
        return PlannedBeside(self._shared, self._parts[part], rows, barred, held).best(paid, below, budget)


FEW = 12
"""Rows of more parts than this say nothing of who vies with whom."""


class _FewAsked:
    """A model of the free parts, with what the others leave."""

    def __init__(self, shared: Shared, sought: SequenceSought, chosen: Chosen, free: frozenset[int], soft: bool) -> None:
        self._shared, self.sought, self.free, self._soft = shared, sought, free, soft
        self._others = {part: column for part, column in chosen.items() if part not in free}
        self.at = {p.lesson: p.slot for column in self._others.values() for p in column.sequence.placements}
        self._nobodys: dict[int, cp_model.IntVar] = {}
        self._over: list[cp_model.IntVar] = []

    def begin(self, literals: Mapping[int, Literal]) -> None:
        """Copy the model, now that it has these literals."""
        self._literals = literals
        self.model = self.sought.solver_model.clone()
        self.model.clear_objective()  # type: ignore[no-untyped-call]

    def keep(self, row: SharedRow) -> None:
        """Keep a row, or count by how much it is broken."""
        terms: list[tuple[Literal, int]] = []
        fixed = reaches = 0
        for variable, much in row.terms:
            part = self._shared.part_of.get(variable)
            if part is None:
                terms.append((self._nobody(variable), much))
                reaches += max(much * end for end in self._shared.coupling.bounds[variable])
            elif part in self.free:
                terms.append((self._literals[variable], much))
                reaches += max(0, much)
            elif part in self._others:
                fixed += much * self._shared.holds(self._others[part], variable)
        if terms and reaches + fixed > row.most:
            self._at_most(terms, row.most - fixed, reaches + fixed - row.most)

    def forbid(self, literals: list[Literal]) -> None:
        """None of these, at most one of which can hold."""
        if literals:
            self._at_most([(literal, 1) for literal in literals], 0, 1)

    def hold(self, place: int, most: int) -> None:
        """Let an aim over all parts be no more than so much, where parts alone say what it comes to."""
        aim = self._shared.aims[place]
        own = self.sought.aims[place]
        if aim.alone and own.terms:
            others = sum(column.counts[aim.name] for column in self._others.values())
            self.model.add(total((term.variable, term.weight) for term in own.terms) <= most - others - own.constant)

    def make_small(self, place: int | None) -> None:
        """What is to be small: what is broken, then an aim."""
        terms = [(over, PENALTY) for over in self._over]
        if place is not None:
            aim = self._shared.aims[place]
            if any(aim.of_parts[part] for part in self.free):
                terms += [(term.variable, term.weight) for term in self.sought.aims[place].terms]
            terms += [(variable, aim.of_nobody.get(number, 0)) for number, variable in self._nobodys.items()]
        self.model.minimize(total(terms))

    def hint(self, sequence: Sequence) -> None:
        """Begin from what the free parts have."""
        if sequence.placements:
            self.model.clear_hints()  # type: ignore[no-untyped-call]
            hints = {variable.index: (variable, value) for variable, value in self.sought.starts(sequence, frozenset())}
            for variable, value in hints.values():
                self.model.add_hint(variable, value)

    def _nobody(self, variable: int) -> cp_model.IntVar:
        if variable not in self._nobodys:
            self._nobodys[variable] = self.model.new_int_var(*self._shared.coupling.bounds[variable], "")
        return self._nobodys[variable]

    def _at_most(self, terms: list[tuple[Literal, int]], most: int, beyond: int) -> None:
        if self._soft:
            over = self.model.new_int_var(0, beyond, "")
            self._over.append(over)
            terms = [*terms, (over, -1)]
        self.model.add(total(terms) <= most)
