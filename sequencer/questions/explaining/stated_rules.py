"""Statements of rules whose meaning is more than their numbers say: practice, retrieval, runs, tags, quotas, keeping in step."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from functools import partial
from typing import Any

from sequencer.instance.facts import ClassFacts, Instance, LessonFacts, LiveCount
from sequencer.instance.naming import named
from sequencer.questions.explaining.spread_out import model_of, of_classes, own_key
from sequencer.questions.explaining.stated_lessons import pointer_path
from sequencer.questions.explaining.stated_numbers import StatedNumbers, rule_number_to, rules_to
from sequencer.questions.explaining.statement import Level, Statement, Way, once, stepped, to_number
from sequencer.rules.in_step import InStepRule
from sequencer.scenario.changes.edits import Edit
from sequencer.scenario.changes.rule_changes import ChangeQuota, ChangeRules
from sequencer.scenario.numbers import DOWN, asks_nothing, numbers_of
from sequencer.scenario.places import Path
from sequencer.scenario.rules_schema import LiveQuota, RuleEntry
from sequencer.scenario.schema import Scenario
from sequencer.words import count_text, day_text


def rule_statements(scenario: Scenario, spread: Scenario, instance: Instance) -> Iterator[Statement]:
    """Every instance of a rule with a number, rule by rule."""
    stated = _Rules(scenario, spread, instance)
    for lesson in instance.lessons:
        yield from stated.of_lesson(lesson)
    for facts in instance.classes:
        yield from stated.run_caps(facts)
        yield from stated.listed_of_class(facts)
        yield from stated.numbers_of_class(facts)
    yield from stated.in_step()
    for number, quota in enumerate(spread.rules.live_quotas or ()):
        place = next(n for n, each in enumerate(scenario.rules.live_quotas or ()) if _is_part(quota, each))
        path: Path = ("rules", "live_quotas")
        yield from stated.quota(quota, quota.teacher or "", (*path, place), (*path, number), teacher=quota.teacher)
    yield from stated.of_teachers()
    yield from stated.of_cohorts()
    yield from stated.of_the_school()


class _Rules(StatedNumbers):
    """Rules whose meaning is more than their numbers say."""

    def __init__(self, scenario: Scenario, spread: Scenario, instance: Instance) -> None:
        super().__init__(scenario, spread, instance)
        self._answered = {index for lesson in instance.lessons for index in lesson.answers}
        self._assessed = {assessment for assessment, _ in instance.assessed}

    def of_lesson(self, lesson: LessonFacts) -> Iterator[Statement]:
        """The rules that hold for one lesson of one class."""
        owner = self.instance.class_of(lesson)
        name, level = f"{owner.name}: {named((lesson,))}", {"class_": owner.id, "lesson": own_key(lesson)}

        def whole(kind: str, rule: str, text: str, ways: Any = None, path: Path = (), **more: bool) -> Statement:
            """A rule that is taken away from the lesson as a whole."""
            off = partial(once, self.scenario, ChangeRules, rules={rule: {"off": True}}, **level)
            return Statement(
                kind, tuple(level.values()), path or self.place_of(lesson, rule), text, (self.off(lesson, rule),),
                (lesson.index,), (lesson.class_index,), ways or off, **more,
            )  # fmt: skip

        if lesson.practice is not None:
            numbers = lesson.practice
            text = f"{name} is dense, so it is practised "
            text += "straight after" if numbers.within == 1 else f"within {count_text(numbers.within, 'period')}"
            text += f" and {count_text(numbers.days, 'day')}" if numbers.days is not None else ""
            text += ", with no new content between" if numbers.no_new_content else ""
            rule = "practice_after_dense"
            asked = {field: value for field in ("within", "days") if (value := getattr(numbers, field)) is not None}
            to = {field: rule_number_to(rule, field, level) for field in asked}
            yield whole("practice", rule, text, partial(self._or_off, rule, asked, to, level))
        if lesson.index in self._assessed:
            text = f"{name} comes after the practice of the dense lessons that it requires"
            yield whole("assessed", "practice_before_assessment", text)
        if lesson.retrievals:
            first, times = lesson.retrievals[0], len(lesson.retrievals)
            text = f"{name} is met again {first.least} to {count_text(first.most, 'day')} later"
            text += f", {times} times in all" if times > 1 else ""

            def window(number: int, field: str) -> tuple[Any, ...]:
                """The window is moved with the preferred distance inside it."""
                preferred = max(first.preferred, number) if field == "least" else min(first.preferred, number)
                return (rules_to("retrieval", {field: number, "preferred": preferred}, **level),)

            asked = {} if lesson.before_term else {"most": first.most, "least": first.least}
            to = {field: partial(window, field=field) for field in asked}
            yield whole("retrieval", "retrieval", text, partial(self._or_off, "retrieval", asked, to, level))
        if lesson.before_term:
            return
        if lesson.marking is not None:
            marking, answered = lesson.marking, lesson.index in self._answered and not lesson.marking.wish
            asked = {"least": marking.least} if answered or lesson.report_deadline is not None else {}
            asked |= {"most": marking.most} if answered and marking.most is not None else {}
            yield from self.by_number("marking", asked, owner, lesson)
        yield from self.numbers_of_lesson(lesson, but="marking")
        if lesson.made is not None and lesson.needs:
            needs = partial(self._without_needs, level)
            text = f"{name} needs {' and '.join(lesson.needs)}"
            yield whole("made need", "place", text, needs, pointer_path(lesson.pointer))

    def _or_off(
        self, rule: str, asked: dict[str, int], to: dict[str, Callable[[int], Any]], level: dict[str, str]
    ) -> Iterator[Way]:
        """Numbers of a rule eased one by one, the first of them until the rule is switched off."""
        off = Level(self.scenario.repair_costs.rule, (rules_to(rule, {"off": True}, **level),))
        for number, (field, value) in enumerate(asked.items()):
            for name, levels, whole in stepped(self.scenario, model_of(rule), field, value, to[field], field):
                yield (name, levels, whole) if number else (name, [*(one for one in levels if one.cost < off.cost), off], True)

    def _without_needs(self, level: dict[str, str]) -> Iterator[Way]:
        yield "", [Level(self.scenario.repair_costs.need, (rules_to("place", {"off": True}, **level),))], True

    def listed_of_class(self, facts: ClassFacts) -> Iterator[Statement]:
        """What rules list for one class, such as caps, threads and quotas, one by one."""
        for rule in of_classes():
            entries = getattr(self.spread.classes[facts.index].rules, rule)
            if not isinstance(entries, tuple):
                continue
            path = next(self.levels_of_class(facts.index, rule), ("rules",))
            source: Any = self.scenario.rules if path[0] == "rules" else self.scenario.classes[facts.index].rules
            for number, entry in enumerate(entries):
                at = ("classes", facts.index, "rules", rule, number)
                if isinstance(entry, LiveQuota):
                    place = next(n for n, stated in enumerate(source.live_quotas) if _is_part(entry, stated))
                    yield from self.quota(entry, facts.id, (*path, place), at, class_=facts.id)
                elif not entry.wish:
                    about, text = (facts.id, getattr(entry, "tag", ""), str(number)), f"{facts.name}: {entry.stated()}"
                    ways = partial(self._entry_eased, rule, number, entry, facts)
                    kind, here = rule.removesuffix("s"), (*path, number)
                    yield Statement(kind, about, here, text, (Edit(at),), (), (facts.index,), ways)

    def _entry_eased(self, rule: str, place: int, entry: RuleEntry, facts: ClassFacts) -> Iterator[Way]:
        """One entry of a list with another number; the others stay."""
        entries = getattr(self.spread.classes[facts.index].rules, rule)

        def to(number: int, field: str) -> Any:
            eased = (*entries[:place], entry.model_copy(update={field: number}), *entries[place + 1 :])
            return rules_to(rule, eased, class_=facts.id)

        stated = {field: value for field in numbers_of(type(entry)) if (value := getattr(entry, field)) is not None}
        for field, value in stated.items():
            yield from stepped(
                self.scenario, type(entry), field, value, partial(to, field=field), field if len(stated) > 1 else ""
            )

    def quota(self, quota: LiveQuota, owner: str, written: Path, path: Path, **who: str | None) -> Iterator[Statement]:
        """A live quota over some dates, of a class or a teacher."""
        count = self._count(owner, quota.first, quota.last) if quota.first is not None and quota.last is not None else None
        if quota.wish or count is None or quota.first is None or quota.last is None:
            return
        owners = tuple(dict.fromkeys(class_index for class_index, _ in count.slots))
        span = span_text(self.instance, quota.first, quota.last)
        for field, says in numbers_of(LiveQuota).items():
            limit = getattr(quota, field)
            if limit is not None and limit != asks_nothing(LiveQuota, field):
                about = (owner, str(quota.first), str(quota.last), field)
                to = to_number(ChangeQuota, field, first=quota.first, last=quota.last, **who)
                yield Statement(
                    "quota", about, written, f"{owner}: {says.stated_text(limit)} live {span}", (Edit((*path, field), None),),
                    classes=owners, ways=partial(stepped, self.scenario, LiveQuota, field, limit, to),
                    asks_for_more=says.eased == DOWN,
                )  # fmt: skip

    def _count(self, owner: str, first: date, last: date) -> LiveCount | None:
        """A count of the instance over these dates; None where nobody meets remotely then."""
        for count in self.instance.live_counts:
            class_index, slot = count.slots[0]
            if count.owner == owner and first <= self.instance.classes[class_index].slots[slot].date <= last:
                return count
        return None

    def run_caps(self, facts: ClassFacts) -> Iterator[Statement]:
        """The cap on consecutive high-load lessons: one statement for each place where its number stands."""
        rule = "consecutive_high_load"
        groups: dict[tuple[Path, int], list[LessonFacts]] = {}
        for index in facts.lessons:
            lesson = self.instance.lessons[index]
            if lesson.run_cap is not None and not lesson.run_wish:
                groups.setdefault((next(self.levels_of(lesson, rule), ("rules",)), lesson.run_cap), []).append(lesson)
        for (path, cap), lessons in groups.items():
            text = f"{facts.name}: {f'at most {cap}' if cap > 1 else 'no two'} hard lessons follow one another"
            edits = tuple(self.off(lesson, rule) for lesson in lessons)
            yield Statement(
                "run", (facts.id, str(cap), *map(str, path)), path, text, edits, tuple(lesson.index for lesson in lessons),
                (facts.index,), partial(self._longer_run, rule, path, cap, facts.id, lessons[0]),
            )  # fmt: skip

    def _longer_run(self, rule: str, path: Path, cap: int, owner: str, lesson: LessonFacts) -> Iterator[Way]:
        """A longer run at the level that states it, but for patterns, whose rules no change reaches."""
        level = {"class_": owner}
        if path[0] == "units":
            unit = self.scenario.units[int(path[1])]
            level = {"unit": unit.id} if path[2] == "rules" else {"lesson": f"{unit.id}/{unit.lessons[int(path[3])].id}"}
        elif path[0] == "classes" and path[2] == "lessons":
            level["lesson"] = own_key(lesson)
        if path[0] != "patterns":
            yield from stepped(self.scenario, model_of(rule), "most", cap, rule_number_to(rule, "most", level))

    def in_step(self) -> Iterator[Statement]:
        """Parallel classes that keep in step, lesson by lesson."""
        rule, field = "in_step", "days"
        for group in self.instance.parallels:
            lessons = [self.instance.lessons[index] for index in group]
            pairs = ((one, other) for number, one in enumerate(lessons) for other in lessons[number + 1 :])
            apart = [most for one, other in pairs if (most := InStepRule().most_apart(one, other)) is not None]
            if apart:
                classes = " and ".join(self.instance.class_of(lesson).name for lesson in lessons)
                text = numbers_of(model_of(rule))[field].stated_text(min(apart), lesson=named(lessons[:1]), classes=classes)
                keeping = [lesson for lesson in lessons if lesson.in_step is not None]
                nearest = min(each.in_step for each in keeping if each.in_step is not None)
                levels = [{"class_": self.instance.class_of(each).id, "lesson": own_key(each)} for each in keeping]
                yield Statement(
                    "in step", (lessons[0].unit, lessons[0].role), self.place_of(lessons[0], rule), text,
                    tuple(self.off(lesson, rule) for lesson in lessons), group, tuple(lesson.class_index for lesson in lessons),
                    partial(stepped, self.scenario, model_of(rule), field, nearest, rule_number_to(rule, field, *levels)),
                )  # fmt: skip


def _is_part(quota: LiveQuota, stated: LiveQuota) -> bool:
    """Whether a quota over dates is one of those that a stated quota means."""
    same = ("least", "most", "teacher", "wish")
    if any(getattr(quota, name) != getattr(stated, name) for name in same):
        return False
    if stated.per == "span":
        return quota == stated
    assert quota.first is not None and quota.last is not None
    return ((quota.last - quota.first).days == 6) == (stated.per == "week") or stated.per == "cycle"


def span_text(instance: Instance, first: date, last: date) -> str:
    """A span of dates for people: ``in week 2``, or its dates."""
    for week in instance.calendar.weeks:
        if week.monday == first and (last - first).days == 6:
            return f"in week {week.number} (from {day_text(first)})"
    return f"from {day_text(first)} to {day_text(last)}"
