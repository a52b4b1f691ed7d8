"""Rule 2: the cap on consecutive high-load lessons."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, ClassVar

from pydantic import Field

from sequencer.instance.facts import ClassFacts, LessonFacts
from sequencer.plan.sequence import Laid
from sequencer.plan.spans import high_load_runs_of, stretches, windows
from sequencer.rules.base import LESSON, Rule
from sequencer.rules.past import all_delivered
from sequencer.rules.verdict import Breach, Ungranted, by_lessons, named
from sequencer.scenario.fields import Days
from sequencer.scenario.numbers import at_most
from sequencer.scenario.rules_schema import WISHED_WEIGHT, RuleNumbers, RunLength, WishOrOff, WishWeight, short_forms


class WishedHighLoad(RuleNumbers):
    """Rule 2, wished beside the hard cap: how many high-load lessons would better follow one another."""

    main: ClassVar[str] = "most"

    most: RunLength | None = Field(None, description="At most this many, wished.")
    weight: WishWeight | None = Field(None, description=WISHED_WEIGHT)


class ConsecutiveHighLoad(RuleNumbers):
    """Rule 2: how many high-load lessons may follow one another."""

    main: ClassVar[str] = "most"
    topic: ClassVar[str] = "hard lessons in a row"
    unless_stated: ClassVar[str] = "at most 2"
    usual: ClassVar[Mapping[str, Any]] = {"most": 2}

    most: Annotated[RunLength | None, at_most("in a row", "hard lesson", cost="run", most_steps=5)] = Field(
        None, description="How many high-load lessons may follow one another; 2 unless stated."
    )
    break_days: Days | None = Field(
        None,
        description="A run breaks where neighbouring periods' dates differ by more than this many days; never unless stated.",
    )
    wish: WishOrOff | None = Field(
        None,
        description="Makes the cap a preference of this weight: it costs once for each `most` + 1 high-load lessons that follow "
        "one another; `off` makes it hard again.",
    )
    wished: Annotated[WishedHighLoad, short_forms("most")] | None = Field(
        None, description="A smaller cap that is wished beside this one, such as {most: 1, weight: 2}; `off` for none."
    )


class RunRule(Rule):
    """The cap on consecutive high-load lessons: no p + 1 of them follow one another without a period between them that is
    spare or holds another lesson.

    A double counts once. A run keeps the cap of every lesson in it. Weekends, closures and holidays do not break a run unless
    days are stated: then it breaks where dates differ by more. As a wish it costs once for each p + 1 that follow one another.
    """

    number, name, key, level = 2, "runs and threads", "consecutive_high_load", LESSON
    numbers = ConsecutiveHighLoad
    described = "Rule 2, the cap on consecutive high-load lessons: a run that holds the lesson keeps its number."

    def judge(self, laid: Laid) -> Iterator[Breach]:
        for facts in laid.instance.classes:
            for run in high_load_runs_of(laid, facts):
                if too_long := list(_too_long(run)):
                    cap = min(lesson.run_cap for lesson in run if lesson.run_cap is not None and not lesson.run_wish)
                    yield Breach(
                        2, (facts.id,), tuple(lesson.index for lesson in run),
                        tuple(slot for lesson in run for slot in laid.slots(lesson.index)),
                        f"{facts.id}: {len(run)} high-load lessons follow one another, at most {cap} may: {named(run)}",
                        all(all_delivered(window) for window in too_long),
                    )  # fmt: skip

    def wishes(self, laid: Laid) -> Iterator[Ungranted]:
        for facts in laid.classes:
            for run in high_load_runs_of(laid, facts):
                for cap in sorted({cap for lesson in run for cap, _ in lesson.wished_caps}):
                    for together in _windows(run, cap + 1):
                        # The greatest weight of those that wish this cap, whatever the others allow.
                        weights = [weight for lesson in together for wished, weight in lesson.wished_caps if wished == cap]
                        if weights:
                            message = f"{facts.id}: {cap + 1} high-load lessons follow one another, at most {cap} wished"
                            yield by_lessons(laid, 2, together, 1, max(weights), f"{message}: {named(together)}")

    def post(self, model: Any) -> None:
        """Windows of p + 1 periods hold at most p of them.

        Where lessons are longer, a window all of whose periods are held by capped lessons starts at most p of them. A lesson with
        a smaller cap than its neighbours tightens the windows that it starts in. Lessons whose cap is a wish lengthen runs.
        """
        lessons = model.instance.lessons
        for facts in model.classes():
            capped = [index for index in facts.lessons if lessons[index].run_cap is not None]
            longest = max((lessons[index].length for index in capped), default=1)
            hard = [index for index in capped if not lessons[index].run_wish]
            for cap in sorted({lessons[index].run_cap for index in hard}):
                tight = [index for index in hard if lessons[index].run_cap <= cap]
                statement = model.statement(2, f"{facts.id}: at most {cap} high-load lessons follow one another")
                for stretch in stretches(facts.slots, facts.run_break_days):
                    for size in range(cap + 1, min(cap * longest + 1, len(stretch)) + 1):
                        for window in windows(stretch, size):
                            _cap_window(model, facts, statement, cap, capped, tight, [slot.number for slot in window], longest)

    def follow(self, chain: Any) -> None:
        """Of several caps the greatest; lessons whose cap is a wish lengthen runs only beside others."""
        caps = {lesson.index: lesson.run_cap for lesson in chain.lessons if lesson.run_cap is not None}
        hard = any(not lesson.run_wish for lesson in chain.lessons if lesson.run_cap is not None)
        if hard and len(set(caps.values())) == 1 and not any(lesson.run_wish for lesson in chain.lessons):
            breaks = [stretch[0].number for stretch in stretches(chain.facts.slots, chain.facts.run_break_days)]
            chain.keep_runs(caps, breaks)

    def costs(self, model: Any) -> Iterator[Any]:
        """Lessons of one cap and different weights cost the difference between each weight and the one below it."""
        for facts in model.classes():
            chains = _Chains(model, facts)
            asked = [(lesson.index, cap, weight) for lesson in chains.capped for cap, weight in lesson.wished_caps]
            for cap in sorted({cap for _, cap, _ in asked}):
                below = 0
                for weight in sorted({weight for _, each, weight in asked if each == cap}):
                    marked = frozenset(index for index, each, wish in asked if each == cap and wish >= weight)
                    for literal in chains.with_marked(marked, cap + 1):
                        yield model.cost(literal, weight - below, f"{facts.id}: more than {cap} high-load lessons in a row")
                    below = weight


def _windows(run: list[LessonFacts], size: int) -> Iterator[list[LessonFacts]]:
    return (run[first : first + size] for first in range(len(run) - size + 1))


def _too_long(run: list[LessonFacts]) -> Iterator[list[LessonFacts]]:
    """Every cap + 1 lessons of a run that hold a lesson under that cap, wished caps aside."""
    caps = {lesson.index: lesson.run_cap or 0 for lesson in run if not lesson.run_wish}
    for cap in set(caps.values()):
        for window in _windows(run, cap + 1):
            if any(lesson.index in caps and caps[lesson.index] <= cap for lesson in window):
                yield window


def _cap_window(
    model: Any,
    facts: ClassFacts,
    statement: Any,
    cap: int,
    capped: list[int],
    tight: list[int],
    window: list[int],
    longest: int,
) -> None:
    variables, posting = model.variables, model.posting
    inside = [literal for index in capped for literal in variables.lessons[index].starts_between(window[0], window[-1])]
    if len(inside) <= cap:
        return
    delivered = {index for index in capped if model.instance.lessons[index].delivered is not None}
    done = [literal for index in delivered for literal in variables.lessons[index].starts_between(window[0], window[-1])]
    gone = len(done) > cap  # what was delivered is a run already, which nothing can mend
    # Slots of one-slot lessons need no condition: a window of p + 1 starts is full.
    full = [] if longest == 1 else [model.all_capped(facts, slot, capped) for slot in window]
    if gone and len(tight) == len(capped):
        return
    if len(tight) == len(capped):
        posting.at_most_when_all(statement, sum(inside), cap, full)
        return
    beyond = len(window) - cap
    for slot in window:
        here = [
            literal
            for index in tight
            if not (gone and index in delivered)
            for literal in variables.lessons[index].starts_between(slot, slot)
        ]
        if here:
            # Where none of them starts here the window may start one lesson per slot, which is no limit.
            posting.at_most_when_all(statement, sum(inside) + beyond * sum(here), cap + beyond, full)


class _Chains:
    """Where so many capped lessons of a class follow one another: for each slot, literals of which one holds if they do from it.

    What is made here may hold elsewhere too: it is only ever made small.
    """

    def __init__(self, model: Any, facts: ClassFacts) -> None:
        self._model, self._facts = model, facts
        self.capped = [lesson for index in facts.lessons if (lesson := model.instance.lessons[index]).run_cap is not None]
        self._any = frozenset(lesson.index for lesson in self.capped)
        self._made: dict[tuple[frozenset[int], int, int], list[Any]] = {}

    def with_marked(self, marked: frozenset[int], count: int) -> Iterator[Any]:
        """A literal for each slot from which so many capped lessons, a marked one among them, can follow one another."""
        for slot in self._facts.slots:
            yield from self._from(marked, slot.number, count)

    def _from(self, marked: frozenset[int], slot: int, count: int) -> list[Any]:
        if count == 1:
            return self._starting(marked, slot)
        if (marked, slot, count) not in self._made:
            self._made[marked, slot, count] = self._make(marked, slot, count)
        return self._made[marked, slot, count]

    def _make(self, marked: frozenset[int], slot: int, count: int) -> list[Any]:
        """One literal for the first lesson and those after it; none where they cannot be."""
        ways = []
        for length in sorted({lesson.length for lesson in self.capped}):
            after = slot + length
            if not self._goes_on(after):
                continue
            ways.append((self._starting(marked, slot, length), self._from(self._any, after, count - 1)))
            if marked != self._any:
                ways.append((self._starting(self._any, slot, length), self._from(marked, after, count - 1)))
        ways = [(first, rest) for first, rest in ways if first and rest]
        if not ways:
            return []
        posting, name = self._model.posting, f"{self._facts.id}: {count} high-load lessons in a row from slot {slot}"
        together = posting.boolean(name)
        for first, rest in ways:
            posting.linear(self._model.statement(2, name), sum(first) + sum(rest) - 1 <= together)
        return [together]

    def _starting(self, lessons: frozenset[int], slot: int, length: int | None = None) -> list[Any]:
        return [
            literal
            for lesson in self.capped
            if lesson.index in lessons and length in (None, lesson.length)
            for literal in self._model.variables.lessons[lesson.index].starts_between(slot, slot)
        ]

    def _goes_on(self, slot: int) -> bool:
        """Whether a run goes on into the slot from the one before it."""
        slots, most = self._facts.slots, self._facts.run_break_days
        if slot >= len(slots):
            return False
        return most is None or (slots[slot].date - slots[slot - 1].date).days <= most
