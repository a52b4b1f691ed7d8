"""One class of the new plan: its units, what it was taught before, its lessons' rules, and its part of the record."""

from __future__ import annotations

from datetime import date
from typing import Any

from sequencer.instance.facts import LessonFacts
from sequencer.instance.naming import named
from sequencer.next_term.standing import GONE, OPEN, TAUGHT, ClassStanding, Key, is_made
from sequencer.next_term.still_needed import Kept, OpenWindow, can_choose, grouped, numbers_left, wide_starters
from sequencer.next_term.tail import NewDates, timetables
from sequencer.next_term.units_forward import dates_left, merged_rules
from sequencer.plan.outcomes import BROKEN
from sequencer.rules.verdict import day_text
from sequencer.scenario.record_schema import RecordEntry
from sequencer.scenario.schema import Scenario
from sequencer.words import BEFORE, LOST, SKIPPED

_AS_IT_WAS = ("id", "name", "teacher", "offers", "size", "leaves", "exam_date", "openings", "rules")
LONGEST_ID, LONGEST_TITLE = 60, 200

OWN_UNIT = "from-last-term"
"""How the id of a unit ends that holds what one class was left with, after the class's id."""


class ClassWriter:
    """Writes one class of the new plan, which meets again from the date ``resumes``."""

    def __init__(self, scenario: Scenario, kept: Kept, standing: ClassStanding, dates: NewDates, resumes: date) -> None:
        self.scenario = scenario
        self.kept = kept
        self.standing = standing
        self.dates = dates
        self.resumes = resumes
        self.id = standing.class_.id
        self.chooses = can_choose(scenario, standing.class_, {unit.id: unit for unit in scenario.units})
        self.starters = wide_starters(scenario, standing.class_)
        self.carried: list[str] = []
        self._rules: dict[Key, dict[str, Any]] = {}
        self._topics: list[dict[str, Any]] = []
        self._windows: list[OpenWindow] = []
        self._refs: dict[Key, str] = {}
        self._unpractised: list[Key] = []

    def data(self, units: list[dict[str, Any]], misfits: list[str]) -> dict[str, Any]:
        """The class as plain data; a unit of retrieval lessons of its own joins the units where it needs one."""
        self._say_what_is_left()
        class_ = self.standing.class_
        stated = class_.model_dump(mode="json", by_alias=True, exclude_defaults=True)
        data = {key: stated[key] for key in _AS_IT_WAS if key in stated}
        if class_.exam_date is not None and class_.exam_date <= self.dates.first:
            del data["exam_date"]
            misfits.append(f"{self.id}, to be known on {day_text(class_.exam_date)}: left out, since that is over")
        taken = [unit for unit in class_.units if unit in self.kept.takes[self.id]] + list(class_.later_units)
        data["timetable"] = timetables(self.standing.laid, self.standing.facts.index, self.dates)
        data["taught_before"] = self._topics
        data["lessons"] = self._lessons(stated.get("lessons", {}), misfits)
        own = self._own_unit({unit["id"] for unit in units} | {unit.id for unit in self.scenario.units})
        if own is not None:
            units.append(own)
            taken.append(own["id"])
        data["units"] = taken
        self._list_what_is_gone(misfits)
        return {key: value for key, value in data.items() if value not in ([], {}) or key == "units"}

    # -- what is left --------------------------------------------------------------------------------------------------

    def _say_what_is_left(self) -> None:
        """Rules and topics, so that what was carried over is asked for once more, and what is done with is not."""
        for key, each in self.standing.lessons.items():
            if each.state == GONE or not each.parts:
                continue
            stays = self.kept.of_class(self.id, key)
            left = self.standing.retrieval_is_left(each.facts.index)
            if each.state == TAUGHT and left:
                self._retrieval_goes_on(key, stays)
            elif key[0] == BEFORE and key[1] in self.kept.topics[self.id]:
                self._topic(key, {"off": True})
            elif each.state == TAUGHT and stays and each.facts.kind == "teach" and self._would_be_asked_for(key):
                self._state(key, "retrieval", {"off": True})
            elif each.state == OPEN and stays and each.facts.retrievals and not self._is_listed(key):
                self._goes_on_unlisted(key)
            if stays and each.state == TAUGHT:
                self._practice(key, each.facts)
            if each.state == OPEN:
                self.carried.append(f"{self.id}: {named((each.facts,))}, still to be taught")
            for index in each.facts.answers if each.state == OPEN else ():
                if self.standing.is_begun(index):
                    answered = self.standing.lessons[self.standing.key_of[index]].parts[0]
                    self.carried.append(f"{self.id}: feedback on {named((answered,))}")

    def _retrieval_goes_on(self, key: Key, stays: bool) -> None:
        each = self.standing.lessons[key]
        rule, windows = numbers_left(self.standing, each.facts.index, self.resumes)
        listed = stays and self._is_listed(key)
        if not listed and (self.chooses or self.starters):
            rule["chosen"] = True
        if not listed and not self.chooses:
            self._windows += [OpenWindow(key, *window) for window in windows]
        if stays:
            self._state(key, "retrieval", rule)
            self._refs[key] = f"{key[0]}/{key[1]}"
        else:
            self._refs[key] = f"{BEFORE}/{self._topic(key, rule)}"
        until = max(last for _, last in windows)
        self.carried.append(
            f"{self.id}: {named((each.facts,))}, taught {day_text(self.standing.laid.date(each.facts.index))}, "
            f"to be met again by {day_text(until)}"
        )

    def _goes_on_unlisted(self, key: Key) -> None:
        """A lesson that is still to be taught, and met again by choice, has its retrieval pattern no more."""
        if self.chooses or self.starters:
            self._state(key, "retrieval", {"chosen": True})
        if not self.chooses:
            self._windows.append(OpenWindow(key, self.resumes, self.dates.last))
            self._refs[key] = f"{key[0]}/{key[1]}"

    def _practice(self, key: Key, facts: LessonFacts) -> None:
        outcome = self.standing.practices.get(facts.index)
        if outcome is None or facts.practice is None:
            return
        if outcome.state == BROKEN:
            self._state(key, "practice_after_dense", {"off": True})
        elif self.standing.practice_is_left(facts.index):
            self.carried.append(f"{self.id}: practice of {named((facts,))}")
            if not any(self.standing.is_open(index) for index in facts.practised_by):
                self._unpractised.append(key)
            changes: dict[str, Any] = {}
            if facts.practice.days is not None:
                away = (self.resumes - self.standing.laid.date(facts.index)).days
                changes["days"] = facts.practice.days + away
            if facts.practice.no_new_content and self._new_content_followed(facts.index):
                changes["no_new_content"] = False  # it could not be kept any more
            if changes:
                self._state(key, "practice_after_dense", changes)

    def _new_content_followed(self, index: int) -> bool:
        laid = self.standing.laid
        held = laid.holders[self.standing.facts.index]
        after = (lesson for slot, lesson in held.items() if slot > laid.end(index))
        return any(laid.instance.lessons[lesson].kind == "teach" for lesson in after)

    def _would_be_asked_for(self, key: Key) -> bool:
        """Whether the new plan would ask for a lesson to be met again that has been."""
        each = self.standing.lessons[key]
        assert each.rules is not None
        whole = key[0] in self.kept.later
        return bool(each.rules.number("retrieval", "chosen")) or whole or self._is_listed(key, taught_too=True)

    def _is_listed(self, key: Key, taught_too: bool = False) -> bool:
        """Whether some lesson of the class that stays, or a later one, lists the lesson as met again."""
        units = {unit.id: unit for unit in self.scenario.units}
        for unit in self.standing.class_.later_units:
            for lesson in units[unit].lessons:
                if any(self.standing.find(ref, unit) == key for ref in (*lesson.revisits, *lesson.starter)):
                    return True
        for other, each in self.standing.lessons.items():
            if self.kept.of_class(self.id, other) and each.parts and (each.state == OPEN or taught_too):
                named = [*each.lesson.revisits, *each.lesson.starter]
                if any(self.standing.find(ref, other[0]) == key for ref in named):
                    return True
                begun = each.lesson.kind == "retrieval" and self.standing.is_begun(each.facts.index)
                if begun and key in self.kept.served(self.standing, other):
                    return True
        return False

    # -- how it is written ---------------------------------------------------------------------------------------------

    def _state(self, key: Key, rule: str, numbers: dict[str, Any]) -> None:
        self._rules.setdefault(key, {})[rule] = numbers

    def _topic(self, key: Key, rule: dict[str, Any]) -> str:
        """Put a lesson under what was taught before, and return its name there."""
        facts = self.standing.lessons[key].facts
        taken = {topic["id"] for topic in self._topics} | {
            other[1] for other in self.standing.lessons if other[0] == BEFORE and other != key
        }
        names = (facts.id, f"{facts.unit}-{facts.id}", *(f"{facts.id}-{number}" for number in range(2, 1000)))
        name = next(name for name in names if name not in taken and len(name) <= LONGEST_ID)
        topic: dict[str, Any] = {"id": name}
        if facts.title != name:
            topic["title"] = facts.title
        topic |= {"date": self.standing.laid.date(facts.index).isoformat(), "load": facts.load}
        if facts.tags:
            topic["tags"] = list(facts.tags)
        if facts.covers:
            topic["covers"] = list(facts.covers)
        self._topics.append(topic | {"rules": {"retrieval": rule}})
        return name

    def _lessons(self, stated: dict[str, Any], misfits: list[str]) -> dict[str, Any]:
        """What the class says of single lessons, with the rules that go on."""
        found: dict[str, Any] = {}
        for ref, own in stated.items():
            keys = [key for key in self.standing.lessons if ref in (key[1], f"{key[0]}/{key[1]}")]
            for key in keys[:1]:
                if not self.kept.of_class(self.id, key):
                    continue
                if self.standing.lessons[key].state == OPEN:
                    dates_left(own, f"{self.id}, {key[0]}/{key[1]}", self.dates.first, misfits)
                else:
                    own = {name: value for name, value in own.items() if name in ("live", "rules")}
                found[f"{key[0]}/{key[1]}"] = own
        for key, rules in self._rules.items():
            entry = found.setdefault(f"{key[0]}/{key[1]}", {})
            entry["rules"] = merged_rules(entry.get("rules", {}), rules)
        return {ref: own for ref, own in found.items() if own}

    def _own_unit(self, taken: set[str]) -> dict[str, Any] | None:
        """A unit of the class's own for practice that no lesson gives, and what is met again without room."""
        lessons = [*self._practice_lessons(), *self._retrieval_lessons()]
        if not lessons:
            return None
        base = f"{self.id.replace('/', '-')}-{OWN_UNIT}"
        name = next(name for name in (base, *(f"{number}-{base}" for number in range(2, 1000))) if name not in taken)
        return {"id": name[:LONGEST_ID], "title": "From last term", "lessons": lessons}

    def _practice_lessons(self) -> list[dict[str, Any]]:
        return [
            {
                "id": f"practice-{number}",
                "kind": "practice",
                "title": f"Practice: {self.standing.lessons[key].facts.title}"[:LONGEST_TITLE],
                "load": max(self.scenario.loads.least, self.scenario.loads.high - 2),
                "practises": [f"{key[0]}/{key[1]}"],
            }
            for number, key in enumerate(self._unpractised, 1)
        ]

    def _retrieval_lessons(self) -> list[dict[str, Any]]:
        return [
            {
                "id": f"again-{number}",
                "kind": "retrieval",
                "title": f"Met again from last term, {number}",
                "load": self.scenario.loads.least,
                "revisits": [self._refs[key] for key in keys],
            }
            for number, keys in enumerate(grouped(self._windows), 1)
        ]

    def _list_what_is_gone(self, misfits: list[str]) -> None:
        for each in self.standing.lessons.values():
            if each.state != GONE or not each.parts or each.last != each.facts.id:
                continue
            whose = f"{self.id}: {named((each.facts,))}"
            if each.facts.optional:
                misfits.append(f"{whose}: left out this term, and not carried over")
            elif is_made(each.lesson, "feedback") and self._goes_on(each.key[0]):
                misfits.append(f"{whose}: not carried over, since nothing that it is on was taught")
        for index, outcomes in self.standing.retrievals.items():
            if any(outcome.state == BROKEN for outcome in outcomes):
                lesson = self.standing.laid.instance.lessons[index]
                misfits.append(f"{self.id}: {named((lesson,))}: was not met again in time, and is not carried over")

    def _goes_on(self, unit: str) -> bool:
        """Whether something of a unit is still to be taught, or to be met again in lessons that its feedback is not on."""
        own = [each for each in self.standing.lessons.values() if each.key[0] == unit and each.parts]
        return any(each.state == OPEN or self.standing.retrieval_is_left(each.facts.index) for each in own)

    # -- the record ----------------------------------------------------------------------------------------------------

    def record(self) -> list[dict[str, Any]]:
        """What became of the lessons that stay."""
        found = []
        for key, each in self.standing.lessons.items():
            if key[0] == BEFORE or not self.kept.of_class(self.id, key):
                continue
            found += [self._entry(key, part) for part in each.parts if self.standing.laid.placed(part.index)]
            if each.state == GONE and not (key[0] in self.kept.later and is_made(each.lesson, "retrieval")):
                found.append({"class": self.id, "unit": key[0], "lesson": each.last, "what": SKIPPED})
        return sorted(found, key=lambda entry: (entry.get("date", "9"), entry.get("period", 0)))

    def _entry(self, key: Key, part: LessonFacts) -> dict[str, Any]:
        laid = self.standing.laid
        entry: dict[str, Any] = {"class": self.id, "unit": key[0], "lesson": part.id}
        old = self._recorded(part)
        if old is not None:
            entry |= old.model_dump(mode="json", exclude_defaults=True, include={"what", "load", "length", "title"})
        day = laid.date(part.index)
        entry["date"] = day.isoformat()
        if day >= self.dates.tail and not part.earlier:
            slot = laid.first_slot(part.index)
            entry["period"] = slot.period
            if slot.remote:
                entry["taught"] = laid.taught(part.index)
        return entry

    def _recorded(self, part: LessonFacts) -> RecordEntry | None:
        for entry in self.scenario.record:
            if entry.class_ == self.id and entry.lesson == part.id and entry.unit in (None, part.unit) and entry.what != LOST:
                return entry
        return None
