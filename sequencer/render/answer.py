"""Answers and verdicts as JSON bodies: the same for the command line, the API and files."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from sequencer.instance.calendar import Slot
from sequencer.instance.facts import Instance, LessonFacts
from sequencer.plan.notes import cautions
from sequencer.plan.notices import Drift, drifts, homework_of, met_again, practised_in
from sequencer.plan.outcomes import practices, retrievals
from sequencer.plan.sequence import Laid
from sequencer.questions.alternatives import Alternative
from sequencer.questions.judge import RULES, Breach, Verdict
from sequencer.questions.solve import Answer
from sequencer.rules.wishes import Ungranted

FORMAT = 1


def answer_json(answer: Answer, explanation: dict[str, Any] | None = None) -> dict[str, Any]:
    """The JSON body of an answer, with that of an explanation where no sequence exists.

    Everything that may differ between two runs of the same scenario stands under ``run``.
    """
    body: dict[str, Any] = {
        "format": FORMAT,
        "status": answer.status,
        "title": answer.instance.scenario.title,
        "lessons": [],
        "aims": [asdict(aim) for aim in answer.aims],
        "spare": [],
        "carried_over": [],
        "late": [],
        "left_out": [],
        "skipped": [],
        "drift": [],
        "notes": list(answer.notes),
        "cautions": [],
        "verdict": None,
        "alternatives": [_alternative_json(answer.instance, alternative) for alternative in answer.alternatives],
        "further": None,
        "explanation": explanation,
    }
    if answer.sequence is not None and answer.verdict is not None:
        laid = Laid(answer.instance, answer.sequence)
        body |= _laid_json(laid)
        body["skipped"] = [_name_json(answer.instance, *skipped) for skipped in answer.instance.skipped]
        body["drift"] = [drift_json(laid, drift) for drift in drifts(laid)]
        body["cautions"] = cautions(laid)
        body["verdict"] = verdict_json(answer.instance, answer.verdict)
    if answer.further is not None:
        body["further"] = asdict(answer.further)
    body["run"] = asdict(answer.run)
    return body


def _alternative_json(instance: Instance, alternative: Alternative) -> dict[str, Any]:
    return {
        "difference": alternative.difference,
        "bound": alternative.bound,
        "proven": alternative.proven,
        "aims": {aim: alternative.verdict.aims[aim] for aim in instance.aims},
        "moved": [
            {
                **_ref_json(instance, instance.lessons[move.lesson]),
                "title": instance.lessons[move.lesson].title,
                "from": _slot_json(move.old) if move.old is not None else None,
                "to": _slot_json(move.new) if move.new is not None else None,
            }
            for move in alternative.moved
        ],
        **_laid_json(Laid(instance, alternative.sequence)),
    }


def _laid_json(laid: Laid) -> dict[str, Any]:
    """What a sequence holds, and what it leaves spare, for later, or out."""
    return {
        "lessons": lesson_rows(laid),
        "spare": [{"class": facts.id, **_slot_json(slot)} for facts in laid.classes for slot in laid.spare_slots(facts.index)],
        "carried_over": [
            {**_ref_json(laid.instance, laid.instance.lessons[outcome.lesson]), "what": outcome.what, "number": outcome.number}
            for outcome in practices(laid) + retrievals(laid)
            if outcome.state == "carried over"
        ],
        "late": [
            {**_ref_json(laid.instance, laid.instance.lessons[outcome.lesson]), "date": laid.date(outcome.by).isoformat()}
            for outcome in retrievals(laid)
            if outcome.state == "late" and outcome.by is not None
        ],
        "left_out": [
            {**_ref_json(laid.instance, lesson), "priority": lesson.priority}
            for lesson in laid.instance.lessons
            if lesson.optional and not laid.placed(lesson.index)
        ],
    }


def lesson_rows(laid: Laid) -> list[dict[str, Any]]:
    """One row per placed lesson: class by class, in order of time."""
    again = met_again(laid)
    practised = practised_in(laid)
    rows = []
    for facts in laid.classes:
        for lesson in laid.in_order(facts.index):
            homework = homework_of(laid, lesson)
            rows.append(
                {
                    **_ref_json(laid.instance, lesson),
                    "title": lesson.title,
                    "kind": lesson.kind,
                    "load": lesson.load,
                    "length": lesson.length,
                    **_slot_json(laid.first_slot(lesson.index)),
                    "taught": laid.taught(lesson.index),
                    "made": lesson.made is not None,
                    "delivered": lesson.delivered is not None,
                    "practises": [_name(laid.instance.lessons[index]) for index in practised.get(lesson.index, ())],
                    "revisits": [
                        {**_name(laid.instance.lessons[met.lesson]), "days": laid.days(met.lesson, lesson.index), "how": met.how}
                        for met in again.get(lesson.index, ())
                    ],
                    "homework": homework and {"title": homework.title, "due": homework.due and homework.due.isoformat()},
                }
            )
    return rows


def _name(lesson: LessonFacts) -> dict[str, str]:
    return {"unit": lesson.unit, "lesson": lesson.id}


def _name_json(instance: Instance, class_index: int, name: str) -> dict[str, str]:
    unit, _, lesson = name.partition("/")
    return {"class": instance.classes[class_index].id, "unit": unit, "lesson": lesson}


def drift_json(laid: Laid, drift: Drift) -> dict[str, Any]:
    """How far a class is behind or before the first of its parallel classes."""
    return {
        "class": laid.instance.classes[drift.class_index].id,
        "unit": drift.unit,
        "lesson": drift.lesson,
        "days": drift.days,
        "lessons": drift.lessons,
    }


def verdict_json(instance: Instance, verdict: Verdict) -> dict[str, Any]:
    """The JSON body of a verdict."""
    return {
        "sound": verdict.sound,
        "breaches": [breach_json(instance, breach) for breach in verdict.breaches],
        "wishes": [_wish_json(instance, wish) for wish in verdict.wishes],
        "aims": dict(verdict.aims),
    }


def slot_rows(instance: Instance) -> list[dict[str, Any]]:
    """Every slot of every class, in order: what ``slots`` lists."""
    return [
        {"class": facts.id, **_slot_json(slot), "taught": slot.taught, "offers": list(slot.offers), "teacher": slot.teacher}
        for facts in instance.classes
        for slot in facts.slots
    ]


def breach_json(instance: Instance, breach: Breach) -> dict[str, Any]:
    """The JSON body of a broken rule."""
    return {
        "rule": breach.rule,
        "name": breach.name,
        "classes": list(breach.class_ids),
        "lessons": [_ref_json(instance, instance.lessons[index]) for index in breach.lessons],
        "periods": [{"date": slot.date.isoformat(), "period": slot.period} for slot in breach.slots],
        "message": breach.message,
        "past": breach.past,
    }


def _wish_json(instance: Instance, wish: Ungranted) -> dict[str, Any]:
    return {
        "rule": wish.rule,
        "name": RULES[wish.rule],
        "classes": list(wish.class_ids),
        "lessons": [_ref_json(instance, instance.lessons[index]) for index in wish.lessons],
        "units": wish.units,
        "weight": wish.weight,
        "message": wish.message,
    }


def _ref_json(instance: Instance, lesson: LessonFacts) -> dict[str, str]:
    return {"class": instance.class_of(lesson).id, "unit": lesson.unit, "lesson": lesson.id}


def _slot_json(slot: Slot) -> dict[str, Any]:
    return {
        "date": slot.date.isoformat(),
        "weekday": f"{slot.date:%a}",
        "week": slot.week.number,
        "label": slot.week.label,
        "period": slot.period,
        "slot": slot.number,
    }
