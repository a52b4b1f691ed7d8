"""The rows of a term's plan: made of a sequence, and read against a scenario as the plan made before."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from sequencer.instance.build import build_instance
from sequencer.next_term.term import PlanRow, TermPlan, made_for
from sequencer.plan.notices import met_again
from sequencer.plan.sequence import Gone, Laid, Placement, Previous, Revisit, Sequence, Stray, taught_as_fixed
from sequencer.questions.solve import Answer
from sequencer.scenario.places import Path
from sequencer.scenario.schema import Scenario
from sequencer.words import DELIVERED, REMAINS

LONGEST_TITLE = 200

_REMAINS = re.compile(f"(-({'|'.join(REMAINS.values())}))+$")


def plan_of(answer: Answer, scenario: Scenario, before: TermPlan | None) -> TermPlan:
    """The plan that an answer with a sequence is, made for a scenario; what is pinned in the plan before stays so."""
    assert answer.sequence is not None
    laid = Laid(answer.instance, answer.sequence)
    pinned = {row.name for row in before.lessons if row.pin} if before is not None else set()
    became = {(entry.class_, entry.unit, entry.lesson): entry for entry in scenario.record}
    again = met_again(laid)
    rows = []
    for facts in laid.classes:
        for lesson in laid.in_order(facts.index):
            slot, name = laid.first_slot(lesson.index), (facts.id, lesson.unit, lesson.id)
            if lesson.delivered is not None and not slot.week.own:
                continue  # the record has it, and the plan of the term before
            entry = became.get(name, became.get((facts.id, None, lesson.id)))
            met = (laid.instance.lessons[each.lesson] for each in again.get(lesson.index, ()))
            row = {
                "class": facts.id,
                "unit": lesson.unit,
                "lesson": lesson.id,
                "title": lesson.title[:LONGEST_TITLE],
                "date": slot.date.isoformat(),
                "period": slot.period,
                "taught": laid.taught(lesson.index),
                "revisits": tuple(f"{each.unit}/{each.id}" for each in met),
                "what": (entry.what if entry is not None else DELIVERED) if lesson.delivered is not None else None,
                "parts_done": entry.parts_done if entry is not None else (),
                "pin": name in pinned,
            }
            rows.append(PlanRow.model_validate(row))
    return TermPlan(lessons=tuple(rows), made_for=made_for(scenario))


@dataclass(frozen=True)
class PlanBefore:
    """A plan read against the scenario as it is now: what is still there of it, and which of its lessons are gone.

    ``left`` are rows of classes that are not there any more; ``lying`` the numbers of rows whose lessons are still to be taught,
    and can be where the row has them.
    """

    previous: Previous
    left: tuple[PlanRow, ...]
    lying: frozenset[int]


def plan_before(scenario: Scenario, plan: TermPlan) -> PlanBefore:
    """Read a plan against the scenario as it is now."""
    instance = build_instance(scenario)
    lessons = {(instance.class_of(each).id, each.unit, each.id): each for each in instance.lessons}
    skipped = {(instance.classes[index].id, *name.split("/")) for index, name in instance.skipped}
    classes = {facts.id for facts in instance.classes}
    placements, strays, gone, left, lying = [], [], [], [], set()
    revisits: set[Revisit] = set()
    for number, row in enumerate(plan.lessons):
        lesson = lessons.get(row.name)
        if row.class_ not in classes:
            left.append(row)
        elif lesson is None:
            gone.append(Gone(*row.name, row.title, row.date, row.period, row.name in skipped))
        elif not lesson.earlier:
            slots = instance.slots_for(lesson)
            slot = next((each.number for each in slots if (each.date, each.period) == (row.date, row.period)), None)
            if slot is None:
                strays.append(Stray(lesson.index, row.date, row.period))
                continue
            placements.append(Placement(lesson.index, slot, row.taught or taught_as_fixed(instance, lesson, slot)))
            refs = (ref.partition("/") for ref in row.revisits)
            met = (lessons.get((row.class_, unit, met)) for unit, _, met in refs)
            chosen = (each.index for each in met if each is not None and lesson.index not in each.revisited_by)
            revisits |= {Revisit(each, lesson.index) for each in chosen}
            if lesson.delivered is None and (scenario.today is None or row.date >= scenario.today):
                lying.add(number)
    in_order = tuple(sorted(revisits, key=lambda each: (each.lesson, each.by)))
    previous = Previous(Sequence(tuple(placements), tuple(strays), in_order), tuple(gone))
    return PlanBefore(previous, tuple(left), frozenset(lying))


def put_pins(data: dict[str, Any], rows: Iterable[tuple[int, PlanRow]]) -> Iterator[tuple[Path, int]]:
    """Pin rows' lessons, each to its date and period, in the data of a scenario that has their classes.

    Each part that says so is yielded with the number of its row.
    """
    classes = {entry["id"]: place for place, entry in enumerate(data["classes"])}
    listed = {(unit["id"], lesson["id"]) for unit in data["units"] for lesson in unit.get("lessons", ())}
    for number, row in rows:
        place = classes[row.class_]
        own = data["classes"][place].setdefault("lessons", {})
        # What remains of a lesson heeds what the class says of the whole.
        lesson = row.lesson if (row.unit, row.lesson) in listed else _REMAINS.sub("", row.lesson)
        name = next((key for key in (f"{row.unit}/{lesson}", lesson) if key in own), f"{row.unit}/{lesson}")
        own[name] = {key: value for key, value in own.get(name, {}).items() if key not in ("not_before", "not_after")}
        own[name] |= {"on": row.date.isoformat(), "period": row.period}
        yield ("classes", place, "lessons", name), number
