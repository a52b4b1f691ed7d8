"""The old term's units cut down to what the new plan needs, with what patterns made written out."""

from __future__ import annotations

from datetime import date
from typing import Any

from sequencer.next_term.draft import dated
from sequencer.next_term.standing import OPEN, ClassStanding, Key, is_made
from sequencer.next_term.still_needed import SERVING, Kept, has_window
from sequencer.plan.notices import practised_in
from sequencer.plan.sequence import Laid
from sequencer.rules.verdict import day_text
from sequencer.scenario.patterns import MadeLesson, pattern_of
from sequencer.scenario.schema import Scenario
from sequencer.scenario.unit_schema import Lesson, Unit
from sequencer.words import BEFORE

_OF_MADE = ("part", "own", "made_for", "follows")
_DATES = ("not_before", "not_after", "on", "period", "report_deadline")
_OF_WHAT_IS_TO_COME = ("requires", "starter", "room", "optional", "priority", "prepare", *_DATES)
"""What need not be said of a lesson that every class has had."""


def units_data(scenario: Scenario, laid: Laid, kept: Kept, first: date, misfits: list[str]) -> list[dict[str, Any]]:
    """The units of the new plan: later ones whole, those of the old term cut down."""
    writer = _Units(laid, kept, first, misfits)
    found = []
    for unit in scenario.units:
        if unit.id in kept.later:
            found.append(unit.model_dump(mode="json", by_alias=True, exclude_defaults=True))
            writer.forget(found[-1])
        elif kept.takers(unit.id):
            found.append(writer.cut(scenario, unit))
    there = {unit["id"] for unit in found}
    for unit_data in found:
        if "after" in unit_data:
            unit_data["after"] = [other for other in unit_data["after"] if other in there]
    return found


def dates_left(data: dict[str, Any], whose: str, first: date, misfits: list[str]) -> None:
    """Leave out dates of a lesson that lie before the new term; what they still ask for is listed."""
    for key in _DATES:
        if key == "period" or key not in data or date.fromisoformat(data[key]) >= first:
            continue
        day = date.fromisoformat(data.pop(key))
        if key == "on":
            data.pop("period", None)
        if key != "not_before":
            misfits.append(f"{whose}, {dated(key, day)}: left out, since that is before {day_text(first)}")


class _Units:
    def __init__(self, laid: Laid, kept: Kept, first: date, misfits: list[str]) -> None:
        self.laid = laid
        self.kept = kept
        self.first = first
        self.misfits = misfits
        self.practised = practised_in(laid)

    def cut(self, scenario: Scenario, unit: Unit) -> dict[str, Any]:
        """One unit with the lessons that stay; what its pattern made is listed, and the pattern's rules are the unit's."""
        data = unit.model_dump(mode="json", by_alias=True, exclude_defaults=True, exclude={"lessons", "pattern"})
        pattern = pattern_of(scenario, unit)
        if pattern is not None and pattern.rules is not None:
            own = pattern.rules.model_dump(mode="json", exclude_defaults=True)
            data["rules"] = merged_rules(own, data.get("rules", {}))
        takers = self.kept.takers(unit.id)
        if not any(self.kept.is_open(key) for key in self.kept.keys if key[0] == unit.id):
            data.get("rules", {}).pop("starters", None)  # nothing of it is to be taught
        lessons = {key: each.lesson for standing in takers for key, each in standing.lessons.items() if key[0] == unit.id}
        order = list(takers[0].lessons)
        data["lessons"] = [self._lesson(key, lessons[key]) for key in sorted(lessons, key=order.index) if key in self.kept.keys]
        return data

    def forget(self, unit: dict[str, Any]) -> None:
        """Take out of a later unit what it requires of lessons that are over."""
        for lesson in unit["lessons"]:
            for name in ("requires", *SERVING.values(), "starter"):
                if name in lesson:
                    refs = [entry["lesson"] if isinstance(entry, dict) else entry for entry in lesson[name]]
                    pairs = zip(lesson[name], refs, strict=True)
                    lesson[name] = [entry for entry, ref in pairs if self._is_there(ref, unit["id"])]
                    if not lesson[name]:
                        del lesson[name]

    def _is_there(self, ref: str, unit: str) -> bool:
        owner, slash, name = ref.partition("/")
        return not slash or owner == unit or owner in (BEFORE, *self.kept.later) or (owner, name) in self.kept.keys

    def _lesson(self, key: Key, lesson: Lesson) -> dict[str, Any]:
        data = lesson.model_dump(mode="json", by_alias=True, exclude_defaults=True, exclude={"practice", *_OF_MADE})
        for name in ("practises", "revisits", "starter", "answers"):
            data[name] = self._refs(key, getattr(lesson, name))
        if self.kept.is_open(key):
            data["requires"] = self._requirements(key, lesson)
            dates_left(data, f"{key[0]}/{key[1]}", self.first, self.misfits)
        else:
            for name in _OF_WHAT_IS_TO_COME:
                data.pop(name, None)
        self._names_what_it_served(key, lesson, data)
        return {name: value for name, value in data.items() if value != []}

    def _refs(self, key: Key, refs: tuple[str, ...]) -> list[str]:
        """What a lesson names, of the lessons that stay."""
        found: dict[str, None] = {}
        for ref in refs:
            owner, slash, _ = ref.partition("/")
            if slash and owner == BEFORE:
                if all(ref.partition("/")[2] in self.kept.topics[standing.class_.id] for standing in self.kept.takers(key[0])):
                    found[ref] = None
                continue
            target = next((key_ for standing in self.kept.takers(key[0]) if (key_ := standing.find(ref, key[0]))), None)
            if target is not None and self._stays(key, target):
                found[_ref(target, key)] = None
        return list(found)

    def _stays(self, key: Key, target: Key) -> bool:
        """Whether a lesson that is named stays, for every class that takes the unit of the lesson that names it."""
        return all(self.kept.of_class(standing.class_.id, target) for standing in self.kept.takers(key[0]))

    def _requirements(self, key: Key, lesson: Lesson) -> list[Any]:
        found: list[Any] = []
        for requirement in lesson.requires:
            for ref in self._refs(key, (requirement.lesson,)):
                target = next(key_ for standing in self.kept.takers(key[0]) if (key_ := standing.find(ref, key[0])))
                if has_window(requirement) or self.kept.is_open(target):
                    found.append(requirement.model_dump(mode="json", exclude_defaults=True) | {"lesson": ref})
        if is_made(lesson, "writing") and isinstance(lesson, MadeLesson):
            found += [{"lesson": ref} for ref in self._refs(key, lesson.follows) if self.kept.is_open((key[0], ref))]
        return found

    def _names_what_it_served(self, key: Key, lesson: Lesson, data: dict[str, Any]) -> None:
        """What a pattern made, and what was chosen, is listed with what it served in some class."""
        if lesson.kind not in SERVING:
            return
        name = SERVING[lesson.kind]
        for standing in self.kept.takers(key[0]):
            each = standing.lessons.get(key)
            if each is None or not each.parts or (each.state == OPEN and not standing.is_begun(each.facts.index)):
                continue
            targets = self.kept.served(standing, key)
            if is_made(lesson, "practice"):
                targets += [standing.key_of[index] for index in self.practised.get(each.facts.index, ())]
            refs = [_ref(target, key) for target in targets if target[0] != BEFORE and self._stays(key, target)]
            data[name] = list(dict.fromkeys([*data[name], *refs]))
        if not data[name] and "room" not in data:
            data["kind"] = "assessment"  # it names nothing that is left, as no other kind may


def _ref(target: Key, key: Key) -> str:
    return target[1] if target[0] == key[0] else f"{target[0]}/{target[1]}"


def merged_rules(wide: dict[str, Any], narrow: dict[str, Any]) -> dict[str, Any]:
    """Rules of two levels as one: the narrower one's numbers win, and it alone says whether a rule that it states is off."""
    found = dict(wide)
    for rule, numbers in narrow.items():
        before = {name: number for name, number in found.get(rule, {}).items() if name != "off"}
        found[rule] = before | numbers
    return found


# -- what is left of an old unit comes before the new ones, where this term's units came one after the other ------------------


def put_in_order(scenario: Scenario, kept: Kept, units: list[dict[str, Any]]) -> list[str]:
    """State ``after`` for new units where some of an old one is left to teach.

    What is open is returned, for a teacher to say: units that ran side by side may go on so.
    """
    data = {unit["id"]: unit for unit in units}
    found = []
    for standing in kept.standings:
        left = _left_to_teach(kept, standing)
        later = [unit for unit in standing.class_.later_units if unit not in left]
        for old in left:
            open_ = []
            for new in later:
                if old in _before(data, new):
                    continue
                if old not in _sides(scenario, standing) and new not in _before(data, old) and _suits_all(kept, old, new):
                    data[new]["after"] = [*data[new].get("after", ()), old]
                else:
                    open_.append(new)
            if open_ or not later:
                called = {unit.id: f'unit "{unit.title or unit.id}" ({unit.id})' for unit in scenario.units}
                wait = _and([called[new] for new in open_] or ["new units"]) + (" waits" if len(open_) == 1 else " wait")
                found.append(f"whether {wait} for what {standing.class_.id} has left to be taught of {called[old]} (under after)")
    return found


def _left_to_teach(kept: Kept, standing: ClassStanding) -> list[str]:
    """The old units of which a class has teach lessons to be taught."""
    mine = kept.takes[standing.class_.id]
    lessons = [each for each in standing.lessons.values() if each.state == OPEN and each.lesson.kind == "teach"]
    return [unit for unit in standing.class_.units if unit in mine and any(each.key[0] == unit for each in lessons)]


def _sides(scenario: Scenario, standing: ClassStanding) -> set[str]:
    """Units of a class that ran beside another one: neither came after the other."""
    data = {unit.id: {"after": unit.after} for unit in scenario.units}
    own = standing.class_.units
    return {
        unit
        for unit in own
        for other in own
        if unit != other and other not in _before(data, unit) and unit not in _before(data, other)
    }


def _before(data: dict[str, Any], unit: str) -> set[str]:
    """The units that a unit comes after, by what it states and what those state."""
    found: set[str] = set()
    waiting = [unit]
    while waiting:
        for other in data.get(waiting.pop(), {}).get("after", ()):
            if other not in found:
                found.add(other)
                waiting.append(other)
    return found


def _suits_all(kept: Kept, old: str, new: str) -> bool:
    """Whether no class has had, or begun, the new unit while it still takes the old one."""
    both = [each for each in kept.standings if old in kept.takes[each.class_.id] and new in kept.takes[each.class_.id]]
    also = [each for each in kept.standings if old in each.class_.later_units and new in each.class_.later_units]
    return not both and not also


def _and(names: list[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 2 else names)
